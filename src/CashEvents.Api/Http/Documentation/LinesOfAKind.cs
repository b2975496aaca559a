using System.Text.Json;
using System.Text.Json.Nodes;
using Microsoft.OpenApi;
using Swashbuckle.AspNetCore.SwaggerGen;

namespace CashEvents.Api.Http;

/// <summary>
/// A line has the fields of its kind, those of its sort and those that every line has: the document tells the kinds
/// apart by <c>kind</c>. It is <c>anyOf</c>, which says the same where each has a kind of its own: of <c>oneOf</c> with
/// a discriminator NSwag makes code that does not compile.
/// </summary>
internal sealed class LinesOfAKind : IDocumentFilter
{
    private const string EveryLine = "EveryLine";
    private const string EveryMovementLine = "EveryMovementLine";

    public void Apply(OpenApiDocument swaggerDoc, DocumentFilterContext context)
    {
        var schemas = swaggerDoc.Components!.Schemas!;
        var every = (OpenApiSchema)schemas[nameof(LineAnswer)];
        every.Properties!.Remove(Kinds.Field);
        every.Required?.Remove(Kinds.Field);
        every.Discriminator = null;
        every.Description = "What every line has.";
        schemas[EveryLine] = every;
        schemas[EveryMovementLine] = EveryMovement(swaggerDoc);
        var mapping = new Dictionary<string, OpenApiSchemaReference>();
        foreach (var (kind, type) in LineAnswer.Types.OrderBy(t => t.Key, StringComparer.Ordinal))
        {
            var line = (OpenApiSchema)schemas[type.Name];
            line.Properties![Kinds.Field] = new OpenApiSchema
            {
                Type = JsonSchemaType.String,
                Enum = [JsonValue.Create(kind)],
            };
            // The kind says it.
            line.Description = null;
            (line.Required ??= new HashSet<string>()).Add(Kinds.Field);
            line.AllOf = [new OpenApiSchemaReference(IsMovement(type) ? EveryMovementLine : EveryLine, swaggerDoc)];
            mapping[kind] = new OpenApiSchemaReference(type.Name, swaggerDoc);
        }

        schemas[nameof(LineAnswer)] = new OpenApiSchema
        {
            Description = "A line of the book; its `kind` says which fields it has.",
            AnyOf = [.. mapping.Values],
            Discriminator = new OpenApiDiscriminator { PropertyName = Kinds.Field, Mapping = mapping },
        };
        ReferTo(swaggerDoc, mapping.Count);
    }

    private static bool IsMovement(Type line) => line.IsAssignableTo(typeof(MovementLineAnswer));

    // What they share stands once, and not with each kind.
    private static OpenApiSchema EveryMovement(OpenApiDocument document)
    {
        var shared = new Dictionary<string, IOpenApiSchema>();
        foreach (var name in typeof(MovementLineAnswer).GetProperties()
            .Where(property => property.DeclaringType == typeof(MovementLineAnswer))
            .Select(property => JsonNamingPolicy.CamelCase.ConvertName(property.Name)))
        {
            foreach (var line in LineAnswer.Types.Values.Where(IsMovement))
            {
                if (((OpenApiSchema)document.Components!.Schemas![line.Name]).Properties!.Remove(name, out var field))
                {
                    shared[name] = field;
                }
            }
        }

        return new OpenApiSchema
        {
            Type = JsonSchemaType.Object,
            Description = "What every line has that moves money, or stands in the stead of one that did.",
            AllOf = [new OpenApiSchemaReference(EveryLine, document)],
            Properties = shared,
        };
    }

    // Swashbuckle writes the choice out wherever a line stands.
    private static void ReferTo(OpenApiDocument document, int kinds)
    {
        var line = new OpenApiSchemaReference(nameof(LineAnswer), document);
        foreach (var properties in document.Components!.Schemas!.Values.OfType<OpenApiSchema>()
            .Select(schema => schema.Properties).OfType<IDictionary<string, IOpenApiSchema>>())
        {
            foreach (var (name, field) in properties.ToList())
            {
                if (field.OneOf?.Count == kinds)
                {
                    properties[name] = line;
                }
                else if (field.Items?.OneOf?.Count == kinds && field is OpenApiSchema list)
                {
                    list.Items = line;
                }
            }
        }

        foreach (var form in document.Paths.Values.SelectMany(path => path.Operations!.Values)
            .SelectMany(operation => operation.Responses!.Values)
            .SelectMany(answer => answer.Content?.Values ?? Enumerable.Empty<IOpenApiMediaType>())
            .OfType<OpenApiMediaType>().Where(form => form.Schema?.OneOf?.Count == kinds))
        {
            form.Schema = line;
        }
    }
}
