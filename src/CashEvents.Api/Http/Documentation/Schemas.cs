using System.Reflection;
using System.Text.Json;
using System.Text.Json.Nodes;
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

        var isSent = IsSent(context.Type);
        foreach (var name in isSent ? AskedFor(context.Type) : AlwaysThere(context.Type))
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

        if (isSent)
        {
            Bound(properties.Values.OfType<OpenApiSchema>());
        }
        else
        {
            // An answer may get more fields: who reads it passes over those that they do not know. What is not there
            // is left out.
            written.AdditionalPropertiesAllowed = true;
            foreach (var field in properties.Values.OfType<OpenApiSchema>())
            {
                field.Type &= ~JsonSchemaType.Null;
            }
        }
    }

    /// <summary>Whether it is sent, and not answered.</summary>
    private static bool IsSent(Type type) => type.Name.EndsWith("Request", StringComparison.Ordinal)
        || type == typeof(PartRef) || type == typeof(SweptFrom);

    // What one line carries at most, in a currency without decimals; in others it is less.
    private static void Bound(IEnumerable<OpenApiSchema> fields)
    {
        foreach (var amount in fields.Where(field => field.Format == ExactDecimal.Format))
        {
            amount.Maximum = ExactDecimal.Largest;
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

/// <summary>
/// Places and sweep sources may be written in a short form too. The document says so in words and has the whole form
/// alone: of a choice between a text and an object most generators make nothing that can be filled in.
/// </summary>
internal sealed class ShortForms : ISchemaFilter
{
    public void Apply(IOpenApiSchema schema, SchemaFilterContext context)
    {
        if (schema is not OpenApiSchema written
            || (context.Type != typeof(PartRef) && context.Type != typeof(SweptFrom)))
        {
            return;
        }

        if (context.Type == typeof(PartRef))
        {
            written.Description += " Who writes by hand may send the compartment's id alone, as text.";
            written.Required = new HashSet<string> { "compartment" };
            ((OpenApiSchema)written.Properties!["compartment"]).Type = JsonSchemaType.String;
        }
        else
        {
            written.Description += " Who writes by hand may send a list of ids alone.";
        }
    }
}

/// <summary>
/// In a batch, and where it replaces another or is supposed, each movement says its kind. What it says besides stands
/// once, in a schema that both forms add to; each of the two refuses what is not listed, and so that one can't.
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
            own.AdditionalPropertiesAllowed = true;
            foreach (var (name, property) in shared.Where(p => p.Key != Kinds.Field))
            {
                own.Properties!.TryAdd(name, property);
            }

            var word = movement.Name.Replace("InBatch", "", StringComparison.Ordinal)
                .Replace("Request", "", StringComparison.Ordinal);
            var fields = new OpenApiSchemaReference($"{word}Fields", swaggerDoc);
            schemas[$"{word}Fields"] = own;
            schemas[movement.Name] = Only(fields, own.Description);
            own.Description = null;
            var inBatch = Only(fields, null);
            inBatch.Properties = new Dictionary<string, IOpenApiSchema>
            {
                [Kinds.Field] = new OpenApiSchema { Type = JsonSchemaType.String, Enum = [JsonValue.Create(kind)] },
            };
            inBatch.Required = new HashSet<string> { Kinds.Field };
            schemas[$"{word}InBatch"] = inBatch;
            mapping[kind] = new OpenApiSchemaReference($"{word}InBatch", swaggerDoc);
        }

        schemas[nameof(MovementRequest)] = new OpenApiSchema
        {
            Description = "A movement; its `kind` says which.",
            AnyOf = [.. mapping.Values],
            Discriminator = new OpenApiDiscriminator { PropertyName = Kinds.Field, Mapping = mapping },
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

    private static OpenApiSchema Only(OpenApiSchemaReference fields, string? description) => new()
    {
        Type = JsonSchemaType.Object,
        Description = description,
        AllOf = [fields],
        UnevaluatedProperties = false,
    };
}
