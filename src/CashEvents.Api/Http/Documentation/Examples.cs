using System.Globalization;
using System.Text.Json.Nodes;
using Microsoft.OpenApi;
using Swashbuckle.AspNetCore.SwaggerGen;

namespace CashEvents.Api.Http;

/// <summary>
/// Puts into the document what an address says of itself (<see cref="Documented"/>): its parameters, its examples, its
/// problems; and the headers of writes.
/// </summary>
internal sealed class Examples : IOperationFilter
{
    // Read by Page/page.js.
    private const string Untried = "x-not-to-try";

    private const string TakesAway = "it takes away what other examples are about.";

    public void Apply(OpenApiOperation operation, OperationFilterContext context)
    {
        var said = context.ApiDescription.ActionDescriptor.EndpointMetadata;
        var refusals = said.OfType<RefusesWith>().SingleOrDefault()?.Statuses ?? [];
        Describe(operation.Parameters ?? [], said.OfType<ParameterMeaning>().ToDictionary(p => p.Name));
        if (refusals.Contains(StatusCodes.Status412PreconditionFailed))
        {
            AddWriteHeaders(operation, isKeyed: !said.OfType<KeyOfEachMovement>().Any());
        }

        if (HttpMethods.IsGet(context.ApiDescription.HttpMethod ?? "")
            && HeaderComponents.IsTagged(context.ApiDescription))
        {
            (operation.Parameters ??= []).Add(Header("If-None-Match",
                "Answer 304 if the answer is still the one with this ETag.", "\"61-3vX8hQ0mT2c5Zy9a\""));
        }

        if (said.OfType<Example>().SingleOrDefault() is { } example)
        {
            ShowAnswers(operation, example);
        }

        var isDelete = HttpMethods.IsDelete(context.ApiDescription.HttpMethod ?? "");
        if ((isDelete ? TakesAway : said.OfType<NotOffered>().SingleOrDefault()?.Why) is { } why)
        {
            operation.Description = $"{operation.Description}\n\nNot to try here: {why}".TrimStart();
            operation.AddExtension(Untried, new JsonNodeExtension(JsonValue.Create(true)));
        }

        if (said.OfType<NeedsNoKey>().Any())
        {
            operation.Security = [];
        }
    }

    private static void Describe(IEnumerable<IOpenApiParameter> parameters,
        Dictionary<string, ParameterMeaning> meanings)
    {
        foreach (var parameter in parameters.OfType<OpenApiParameter>())
        {
            if (meanings.TryGetValue(parameter.Name ?? "", out var said))
            {
                parameter.Schema = said.Form?.Schema() ?? parameter.Schema;
                Show(parameter, said.Meaning, parameter.Schema?.Type switch
                {
                    JsonSchemaType.Integer => JsonValue.Create(long.Parse(said.Example, CultureInfo.InvariantCulture)),
                    JsonSchemaType.Number =>
                        JsonValue.Create(decimal.Parse(said.Example, CultureInfo.InvariantCulture)),
                    JsonSchemaType.Boolean => JsonValue.Create(bool.Parse(said.Example)),
                    _ => JsonValue.Create(said.Example),
                });
            }
        }
    }

    private static void AddWriteHeaders(OpenApiOperation operation, bool isKeyed)
    {
        operation.Parameters ??= [];
        if (isKeyed)
        {
            operation.Parameters.Add(Header("Idempotency-Key",
                "The sender's own name for this request: sent again under the same name, it is written once and gets "
                    + "the same answer.", "\"8e03978e-40d5-43dd-bc93-6894a57f9324\""));
        }

        operation.Parameters.Add(Header("If-Match",
            "Write only while the book stands at the line that an ETag begins with: the whole tag as it came, or the "
                + "line alone.", "\"61\""));
    }

    private static OpenApiParameter Header(string name, string meaning, string example)
    {
        var header = new OpenApiParameter
        {
            Name = name,
            In = ParameterLocation.Header,
            Schema = new OpenApiSchema { Type = JsonSchemaType.String },
        };
        Show(header, meaning, JsonValue.Create(example));
        return header;
    }

    // Pages and tools send the example of every parameter along. What may be left out stands in words instead: sent
    // together, or twice, it means something else.
    private static void Show(OpenApiParameter parameter, string meaning, JsonValue example)
    {
        parameter.Description = parameter.Required ? meaning : $"{meaning} Such as `{example}`.";
        parameter.Example = parameter.Required ? example : null;
    }

    private static void ShowAnswers(OpenApiOperation operation, Example example)
    {
        SetExample(operation.RequestBody?.Content, example.Request);
        foreach (var (status, response) in operation.Responses ?? [])
        {
            if (status[0] == '2')
            {
                response.Description = status switch { "201" => "Written.", "204" => "Done.", _ => "As asked." };
                SetExample(response.Content, example.Answer);
            }
        }
    }

    private static void SetExample(IDictionary<string, IOpenApiMediaType>? content, string? example)
    {
        foreach (var (type, media) in content ?? new Dictionary<string, IOpenApiMediaType>())
        {
            if (type.StartsWith("text/", StringComparison.Ordinal) && media is OpenApiMediaType sheet)
            {
                sheet.Schema = new OpenApiSchema { Type = JsonSchemaType.String };
            }

            if (example is not null && media is OpenApiMediaType written
                && type.Contains("json", StringComparison.Ordinal))
            {
                written.Example = JsonNode.Parse(example);
            }
        }
    }
}
