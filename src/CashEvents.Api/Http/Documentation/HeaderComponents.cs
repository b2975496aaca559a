using Microsoft.AspNetCore.Mvc.ApiExplorer;
using Microsoft.Net.Http.Headers;
using Microsoft.OpenApi;
using Swashbuckle.AspNetCore.SwaggerGen;

namespace CashEvents.Api.Http;

/// <summary>An address whose answers have no ETag, since they do not stand at a line of the book.</summary>
internal sealed record Untagged;

/// <summary>The headers of answers, each described once in the document's components.</summary>
internal sealed class HeaderComponents : IOperationFilter, IDocumentFilter
{
    private static readonly Dictionary<string, (string Meaning, JsonSchemaType Type, string? Format)> _all = new()
    {
        [HeaderNames.ETag] = ("Begins with the line at which the book stands; If-Match and If-None-Match take it.",
            JsonSchemaType.String, null),
        [HeaderNames.Location] = ("Where to read what was written.", JsonSchemaType.String, "uri-reference"),
        [HeaderNames.Link] = ("The next page, with the relation `next` (RFC 8288); absent on the last.",
            JsonSchemaType.String, null),
        [HeaderNames.RetryAfter] = ("Seconds to wait before it is sent again.", JsonSchemaType.Integer, "int32"),
        [HeaderNames.WWWAuthenticate] = ("How to bring a key.", JsonSchemaType.String, null),
    };

    /// <summary>References to some of them.</summary>
    public static Dictionary<string, IOpenApiHeader> Of(OpenApiDocument document, params IEnumerable<string> names) =>
        names.ToDictionary(name => name, name => (IOpenApiHeader)new OpenApiHeaderReference(name, document));

    /// <summary>Whether the answers of an address have an ETag.</summary>
    public static bool IsTagged(ApiDescription address) =>
        address.RelativePath?.StartsWith("api/", StringComparison.Ordinal) is true
        && !address.ActionDescriptor.EndpointMetadata.OfType<Untagged>().Any();

    public void Apply(OpenApiOperation operation, OperationFilterContext context)
    {
        var isTagged = IsTagged(context.ApiDescription);
        var isPaged = context.ApiDescription.SupportedResponseTypes
            .Any(answer => answer.Type?.GetProperty("Next")?.PropertyType == typeof(string));
        foreach (var (status, answer) in operation.Responses ?? [])
        {
            List<string> names = [];
            if (isTagged)
            {
                names.Add(HeaderNames.ETag);
            }

            if (status is "201" or "202")
            {
                names.Add(HeaderNames.Location);
            }

            if (isPaged)
            {
                names.Add(HeaderNames.Link);
            }

            if (status[0] == '2' && names.Count > 0 && answer is OpenApiResponse whole)
            {
                whole.Headers = Of(context.Document, names);
            }
        }
    }

    public void Apply(OpenApiDocument swaggerDoc, DocumentFilterContext context) =>
        swaggerDoc.Components!.Headers = _all.ToDictionary(one => one.Key, one => (IOpenApiHeader)new OpenApiHeader
        {
            Description = one.Value.Meaning,
            Schema = new OpenApiSchema { Type = one.Value.Type, Format = one.Value.Format },
        });
}
