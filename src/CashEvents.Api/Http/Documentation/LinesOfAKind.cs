using System.Text.Json.Nodes;
using Microsoft.OpenApi;
using Swashbuckle.AspNetCore.SwaggerGen;

namespace CashEvents.Api.Http;

/// <summary>A line has the fields of its kind: the document has each kind whole, told apart by <c>kind</c>.</summary>
internal sealed class LinesOfAKind : IDocumentFilter
{
    public void Apply(OpenApiDocument swaggerDoc, DocumentFilterContext context)
    {
        var schemas = swaggerDoc.Components!.Schemas!;
        var mapping = new Dictionary<string, OpenApiSchemaReference>();
        foreach (var (kind, type) in LineAnswer.Types.OrderBy(t => t.Key, StringComparer.Ordinal))
        {
            var line = (OpenApiSchema)schemas[type.Name];
            line.Properties![Kinds.Field] = new OpenApiSchema
            {
                Type = JsonSchemaType.String,
                Enum = [JsonValue.Create(kind)],
            };
            mapping[kind] = new OpenApiSchemaReference(type.Name, swaggerDoc);
        }

        schemas[nameof(LineAnswer)] = new OpenApiSchema
        {
            Description = "A line of the book; its `kind` says which fields it has.",
            OneOf = [.. mapping.Values],
            Discriminator = new OpenApiDiscriminator { PropertyName = Kinds.Field, Mapping = mapping },
        };
    }
}
