using System.Text.Json.Nodes;
using Microsoft.OpenApi;
using Swashbuckle.AspNetCore.SwaggerGen;

namespace CashEvents.Api.Http;

/// <summary>
/// An answer that comes in several forms is shown as JSON alone, so that no generated client has to tell a text from an
/// object. Where the others are stands in words: at addresses of their own (<see cref="FormAddresses"/>).
/// </summary>
internal sealed class SheetAddresses : IDocumentFilter
{
    // Read by Page/page.js, which shows them all.
    private const string Forms = "x-forms";

    private const string Events = "text/event-stream";

    public void Apply(OpenApiDocument swaggerDoc, DocumentFilterContext context)
    {
        foreach (var (path, operation) in swaggerDoc.Paths
            .SelectMany(path => path.Value.Operations!.Values.Select(operation => (path.Key, operation))))
        {
            if (operation.Responses!.GetValueOrDefault("200") is not OpenApiResponse { Content: { } content })
            {
                continue;
            }

            if (content.Count > 1)
            {
                content.Remove(Events);
            }

            var forms = FormAddresses.All.Where(form => content.Remove(form.MediaType)).ToList();
            if (forms.Count > 0)
            {
                var addresses = string.Join(" and ", forms.Select(
                    form => $"{form.Means} at `{form.Under}{path[FormAddresses.Root.Length..]}`"));
                operation.Description = $"{operation.Description} Also as {addresses}, or by `Accept`.".TrimStart();
                operation.AddExtension(Forms, new JsonNodeExtension(
                    new JsonArray([.. forms.Select(form => JsonValue.Create(form.MediaType))])));
            }
        }
    }
}
