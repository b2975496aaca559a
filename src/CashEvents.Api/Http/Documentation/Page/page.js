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

// The page reads the whole document anew for each address that is opened. Problems are the same at all of them: said once, it takes six tenths of the time.
const sayProblemsOnce = (document) => {
  document.components.responses = {};
  for (const operation of Object.values(document.paths).flatMap(Object.values)) {
    for (const [status, response] of Object.entries(operation.responses).filter(([status]) => status >= "400")) {
      const said = (document.components.responses[status] ??= response);
      if (JSON.stringify(said) === JSON.stringify(response)) operation.responses[status] = { $ref: `#/components/responses/${status}` };
    }
  }
  return document;
};

fetch("/openapi.json").then((answer) => answer.json()).then((document) => {
  window.ui = SwaggerUIBundle({
    spec: sayProblemsOnce(document),
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
