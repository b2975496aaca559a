using System.Reflection;
using System.Text.Json;
using System.Text.Json.Nodes;
using System.Text.Json.Serialization;
using FluentValidation;
using FluentValidation.Validators;
using Microsoft.OpenApi;
using Swashbuckle.AspNetCore.SwaggerGen;

namespace CashEvents.Api.Http;

/// <summary>
/// What must be there: the fields that a request's validator asks for, and those an answer always has.
/// </summary>
internal sealed class RequiredFields(IServiceProvider services) : ISchemaFilter
{
    public void Apply(IOpenApiSchema schema, SchemaFilterContext context)
    {
        if (schema is not OpenApiSchema { Properties: { } properties } written)
        {
            return;
        }

        foreach (var name in context.Type.Name.EndsWith("Request", StringComparison.Ordinal)
            ? AskedFor(context.Type)
            : AlwaysThere(context.Type))
        {
            var field = JsonNamingPolicy.CamelCase.ConvertName(name);
            if (properties.TryGetValue(field, out var property))
            {
                (written.Required ??= new HashSet<string>()).Add(field);
                if (property is OpenApiSchema { Type: { } type } single)
                {
                    single.Type = type & ~JsonSchemaType.Null;
                }
            }
        }
    }

    private IEnumerable<string> AskedFor(Type request) =>
        services.GetService(typeof(IValidator<>).MakeGenericType(request)) is IValidator validator
            ? validator.CreateDescriptor().GetMembersWithValidators()
                .Where(member => member.Any(rule => rule.Validator is INotNullValidator or INotEmptyValidator))
                .Select(member => member.Key)
            : [];

    private static IEnumerable<string> AlwaysThere(Type answer)
    {
        var nullability = new NullabilityInfoContext();
        return answer.Assembly == typeof(RequiredFields).Assembly
            ? answer.GetProperties().Where(
                p => nullability.Create(p).ReadState == NullabilityState.NotNull
                    && Nullable.GetUnderlyingType(p.PropertyType) is null).Select(p => p.Name)
            : [];
    }
}

/// <summary>Places and sweep sources may be written in a short form too.</summary>
internal sealed class ShortForms : ISchemaFilter
{
    public void Apply(IOpenApiSchema schema, SchemaFilterContext context)
    {
        if (schema is not OpenApiSchema written
            || (context.Type != typeof(PlaceRef) && context.Type != typeof(SweptFrom)))
        {
            return;
        }

        var whole = new OpenApiSchema
        {
            Type = JsonSchemaType.Object,
            Properties = written.Properties,
            AdditionalPropertiesAllowed = false
        };
        var brief = context.Type == typeof(PlaceRef)
            ? new OpenApiSchema { Type = JsonSchemaType.String, Description = "The compartment's id alone." }
            : new OpenApiSchema
            {
                Type = JsonSchemaType.Array,
                Items = new OpenApiSchema { Type = JsonSchemaType.String },
                Description = "Ids of compartments."
            };
        written.Type = null;
        written.Properties = null;
        written.AdditionalPropertiesAllowed = true;
        written.OneOf = [whole, brief];
    }
}

/// <summary>
/// In a batch, and where it replaces another or is supposed, each movement says its kind. The document has each
/// movement whole, once without and once with its kind,
/// since fields that are not listed are refused and a schema that adds to another could not say so.
/// </summary>
internal sealed class MovementsOfABatch : IDocumentFilter
{
    public void Apply(OpenApiDocument swaggerDoc, DocumentFilterContext context)
    {
        var schemas = swaggerDoc.Components!.Schemas!;
        var shared = ((OpenApiSchema)schemas[nameof(MovementRequest)]).Properties!;
        var mapping = new Dictionary<string, OpenApiSchemaReference>();
        foreach (var (kind, movement) in Kinds.Of(typeof(MovementRequest)))
        {
            var own = (OpenApiSchema)schemas[movement.Name];
            own.AllOf = null;
            foreach (var (name, property) in shared.Where(p => p.Key != "kind"))
            {
                own.Properties!.TryAdd(name, property);
            }

            var inBatch = new OpenApiSchema
            {
                Type = JsonSchemaType.Object,
                Description = own.Description,
                AdditionalPropertiesAllowed = false,
                Properties = new Dictionary<string, IOpenApiSchema>(
                    own.Properties!)
                {
                    ["kind"] = new OpenApiSchema
                    {
                        Type = JsonSchemaType.String,
                        Enum = [JsonValue.Create(kind)]
                    }
                },
                Required = new HashSet<string>(own.Required ?? new HashSet<string>()) { "kind" },
            };
            var inBatchName = movement.Name.Replace("InBatch", "", StringComparison.Ordinal)
                .Replace("Request", "InBatch", StringComparison.Ordinal);
            schemas[inBatchName] = inBatch;
            mapping[kind] = new OpenApiSchemaReference(inBatchName, swaggerDoc);
        }

        schemas[nameof(MovementRequest)] = new OpenApiSchema
        {
            Description = "A movement; its `kind` says which.",
            OneOf = [.. mapping.Values],
            Discriminator = new OpenApiDiscriminator { PropertyName = "kind", Mapping = mapping },
        };
        var batch = (OpenApiSchema)schemas["BatchRequest"];
        ((OpenApiSchema)batch.Properties!["movements"]).Items = new OpenApiSchemaReference(nameof(MovementRequest),
            swaggerDoc);
        foreach (var (request, field) in new[] { (nameof(AmendmentRequest), "replacement"),
            (nameof(SuppositionRequest), "replacement"), (nameof(SuppositionRequest), "record") })
        {
            ((OpenApiSchema)schemas[request]).Properties![field] = new OpenApiSchemaReference(nameof(MovementRequest),
                swaggerDoc);
        }

        schemas.Remove("SettlementInBatchRequest");
    }
}
