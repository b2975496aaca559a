// The OpenAPI document's page. An address is offered to try where its example works on the demo household; one that is not says why.
// A printed page that comes as an answer is shown as one, in a frame that runs nothing.
const cashEvents = (system) => ({
  statePlugins: {
    spec: {
      wrapSelectors: {
        allowTryItOutFor: () => (state, path, method) => !system.specSelectors.specJson().hasIn(["paths", path, method, "x-not-to-try"]),
      },
    },
  },
  wrapComponents: {
    responseBody: (Original, { React }) => (props) => (props.contentType ?? "").startsWith("text/html")
      ? React.createElement("iframe", { className: "printed", title: "The page", sandbox: "", srcDoc: props.content, style: { width: "100%", height: "70vh", background: "white" } })
      : React.createElement(Original, props),
  },
});

// The document shows an answer as JSON; its other forms are asked for at the same address by the media type that is chosen.
const withAllForms = (document) => {
  for (const operation of Object.values(document.paths).flatMap(Object.values)) {
    for (const form of operation["x-forms"] ?? []) operation.responses["200"].content[form] = { schema: { type: "string" } };
  }
  return document;
};

fetch("/openapi.json").then((answer) => answer.json()).then((document) => {
  window.ui = SwaggerUIBundle({
    spec: withAllForms(document),
    dom_id: "#swagger-ui",
    deepLinking: true,
    persistAuthorization: false,
    validatorUrl: null,
    docExpansion: "list",
    // Each address shows its own; all of them below take longer to draw than the rest of the page.
    defaultModelsExpandDepth: -1,
    presets: [SwaggerUIBundle.presets.apis],
    plugins: [cashEvents],
  });
});
