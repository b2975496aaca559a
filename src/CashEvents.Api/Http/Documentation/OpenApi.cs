using System.Diagnostics.CodeAnalysis;
using System.Net.Mime;
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
                    + "Amounts are JSON numbers with at most the currency's decimals; zeros at their end are no "
                    + "decimals. "
                    + "The same as text, such as `\"12.50\"`, is taken too. Problems follow RFC 9457: their `type` is "
                    + "an address on this server that says what is meant, and their `code` is stable. "
                    + "HEAD is answered wherever GET is, and OPTIONS with Allow. docs/contract.md says how this "
                    + "document may change.",
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
            swagger.TagActionsBy(address => [Rooms.Of(address)]);
            swagger.OrderActionsBy(Rooms.Place);
            swagger.AddServer(new OpenApiServer { Url = "/", Description = "The server that wrote this document." });

            swagger.MapType<decimal>(ExactDecimal.Schema);
            swagger.MapType<decimal?>(ExactDecimal.Schema);
            swagger.SchemaFilter<RequiredFields>();
            swagger.SchemaFilter<ShortForms>();
            swagger.DocumentFilter<MovementsOfABatch>();
            swagger.DocumentFilter<LinesOfAKind>();
            swagger.OperationFilter<Examples>();
            swagger.OperationFilter<HeaderComponents>();
            swagger.OperationFilter<ProblemAnswers>();
            swagger.DocumentFilter<HeaderComponents>();
            swagger.DocumentFilter<ProblemAnswers>();
            swagger.DocumentFilter<SheetAddresses>();
            swagger.DocumentFilter<Rooms>();
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
