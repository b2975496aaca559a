using System.Diagnostics.CodeAnalysis;
using System.Net.Mime;
using System.Reflection;
using System.Text.Json.Serialization;
using Microsoft.AspNetCore.Mvc.ApiExplorer;
using Microsoft.OpenApi;

namespace CashEvents.Api.Http;

/// <summary>The OpenAPI 3.1 document at <c>/openapi.json</c> and its page at <c>/swagger</c>.</summary>
internal static class OpenApi
{
    /// <summary>The one document's name.</summary>
    public const string DocumentName = "openapi";

    public static void AddOpenApiDocument(this IServiceCollection services)
    {
        services.AddSingleton<WrittenDocument>();
        services.AddEndpointsApiExplorer();
        services.AddSwaggerGen(swagger =>
        {
            swagger.SwaggerDoc(DocumentName, new OpenApiInfo
            {
                Title = "CashEvents",
                Version = ProgramVersion.Text,
                Description = "A household's cash book. Every fill, spend, transfer, count and sweep is a line that is "
                    + "never changed or removed; balances and sheets are rebuilt from the lines. "
                    + "Amounts are JSON numbers with at most the currency's decimals. Problems follow RFC 9457 and "
                    + "carry a stable `code`.",
                License = new OpenApiLicense { Name = "MIT", Identifier = "MIT" },
            });
            swagger.AddSecurityDefinition("key", new OpenApiSecurityScheme
            {
                Type = SecuritySchemeType.Http,
                Scheme = "bearer",
                Description = "A key of the household. The keeper's is printed at the first start; others are issued "
                    + "at /api/keys.",
            });
            swagger.AddSecurityRequirement(document => new OpenApiSecurityRequirement
            {
                [new OpenApiSecuritySchemeReference("key", document)] = [],
            });
            swagger.IncludeXmlComments(typeof(OpenApi).Assembly);
            swagger.IncludeXmlComments(typeof(Book).Assembly);
            swagger.SupportNonNullableReferenceTypes();
            swagger.UseOneOfForPolymorphism();
            swagger.SelectSubTypesUsing(type => type == typeof(LineAnswer)
                ? LineAnswer.Types.Values
                : Kinds.Of(type).Select(kind => kind.Type));
            swagger.CustomOperationIds(OperationId);

            // Money is an exact decimal: the usual format for a decimal would say that it is binary.
            swagger.MapType<decimal>(ExactAmount);
            swagger.MapType<decimal?>(ExactAmount);
            swagger.SchemaFilter<RequiredFields>();
            swagger.SchemaFilter<ShortForms>();
            swagger.DocumentFilter<MovementsOfABatch>();
            swagger.DocumentFilter<LinesOfAKind>();
            swagger.OperationFilter<Examples>();
        });
    }

    public static void MapOpenApiDocument(this WebApplication app)
    {
        app.MapGet($"/{DocumentName}.json", (HttpContext http, WrittenDocument document) => document.AnswerAsync(http))
            .ExcludeFromDescription();
        app.MapGet("/swagger/page.js", () => TypedResults.Stream(PageFile("page.js"), MediaTypeNames.Text.JavaScript))
            .ExcludeFromDescription();
        app.UseSwaggerUI(page => page.IndexStream = () => PageFile("index.html"));
    }

    private static OpenApiSchema ExactAmount() =>
        new() { Type = JsonSchemaType.Number, Description = "An exact amount in major units." };

    private static Stream PageFile(string name) => typeof(OpenApi).Assembly.GetManifestResourceStream($"page/{name}")!;

    [SuppressMessage("Globalization", "CA1308:Normalize strings to uppercase",
        Justification = "Operation ids begin small.")]
    // Such as getCompartmentsTracker for GET /api/compartments/{id}/tracker.
    private static string OperationId(ApiDescription address) =>
    (address.HttpMethod ?? "").ToLowerInvariant() + string.Concat((address.RelativePath ?? "")
        .Split('/')
        .Where(step => step != "api" && !step.StartsWith('{'))
        .Select(step => char.ToUpperInvariant(step[0]) + step[1..]))
        + (address.RelativePath?.EndsWith('}') is true ? "One" : "");
}
