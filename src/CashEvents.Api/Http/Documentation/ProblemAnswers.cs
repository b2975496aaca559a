using System.Globalization;
using System.Text.Json.Nodes;
using Microsoft.AspNetCore.Mvc.ApiExplorer;
using Microsoft.Net.Http.Headers;
using Microsoft.OpenApi;
using Swashbuckle.AspNetCore.SwaggerGen;

namespace CashEvents.Api.Http;

/// <summary>
/// Every status that an address can answer with. Each problem is described once, in the document's components, and
/// referred to.
/// </summary>
internal sealed class ProblemAnswers : IOperationFilter, IDocumentFilter
{
    private const string Other = "default";

    public void Apply(OpenApiOperation operation, OperationFilterContext context)
    {
        var answers = operation.Responses ??= [];
        foreach (var status in Statuses(context.ApiDescription, operation).Order())
        {
            var name = status.ToString(CultureInfo.InvariantCulture);
            answers[name] = new OpenApiResponseReference(name, context.Document);
        }

        answers[Other] = new OpenApiResponseReference(Other, context.Document);
    }

    public void Apply(OpenApiDocument swaggerDoc, DocumentFilterContext context)
    {
        var problem = context.SchemaGenerator.GenerateSchema(typeof(Problem), context.SchemaRepository);
        // New codes may come: a list, and no closed choice.
        ((OpenApiSchema)context.SchemaRepository.Schemas[nameof(Problem)].Properties!["code"]).AddExtension(
            "x-extensible-enum",
            new JsonNodeExtension(new JsonArray([.. ProblemKind.All.Keys.Order(StringComparer.Ordinal)
                .Select(code => JsonValue.Create(code))])));
        swaggerDoc.Components!.Responses = ProblemExample.ByStatus.ToDictionary(
            one => one.Key.ToString(CultureInfo.InvariantCulture),
            one => (IOpenApiResponse)Answer(one.Value.When, problem, one.Value.Answer(one.Key),
                AnswerHeadersOf(one.Key, swaggerDoc)));
        swaggerDoc.Components.Responses[NotModified] = new OpenApiResponse
        {
            Description = "The answer is the one whose ETag was sent.",
            Headers = HeaderComponents.Of(swaggerDoc, HeaderNames.ETag),
        };
        swaggerDoc.Components.Responses[Other] = Answer("Any other problem: 405 for a method that the address does "
            + "not take, 421 for a host that is not this server, 500 for a fault of the program.", problem, null, null);
    }

    private const string NotModified = "304";

    private static OpenApiResponse Answer(string when, IOpenApiSchema problem, string? example,
        IDictionary<string, IOpenApiHeader>? headers) => new()
        {
            Description = when,
            Headers = headers,
            Content = new Dictionary<string, IOpenApiMediaType>
            {
                [Problems.ContentType] = new OpenApiMediaType
                {
                    Schema = problem,
                    Example = example is null ? null : JsonNode.Parse(example),
                },
            },
        };

    private static Dictionary<string, IOpenApiHeader>? AnswerHeadersOf(int status, OpenApiDocument document) =>
        status switch
        {
            StatusCodes.Status401Unauthorized => HeaderComponents.Of(document, HeaderNames.WWWAuthenticate),
            StatusCodes.Status429TooManyRequests or StatusCodes.Status503ServiceUnavailable =>
                HeaderComponents.Of(document, HeaderNames.RetryAfter),
            _ => null,
        };

    private static HashSet<int> Statuses(ApiDescription address, OpenApiOperation operation)
    {
        var said = address.ActionDescriptor.EndpointMetadata;
        HashSet<int> statuses = [.. said.OfType<RefusesWith>().SelectMany(r => r.Statuses)];
        if (HeaderComponents.IsTagged(address) && HttpMethods.IsGet(address.HttpMethod ?? ""))
        {
            statuses.Add(StatusCodes.Status304NotModified);
        }

        if (address.ParameterDescriptions.Any(p => p.Source.Id == "Path"))
        {
            statuses.Add(StatusCodes.Status404NotFound);
        }

        if (operation.Responses?.Any(answer => answer.Value.Content is { Count: > 0 }) is true)
        {
            statuses.Add(StatusCodes.Status406NotAcceptable);
        }

        if (operation.RequestBody is not null)
        {
            statuses.UnionWith([StatusCodes.Status413PayloadTooLarge, StatusCodes.Status415UnsupportedMediaType]);
        }

        return statuses;
    }
}
