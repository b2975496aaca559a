using System.Globalization;
using System.Text.Json;
using System.Text.Json.Nodes;
using Microsoft.OpenApi;
using Swashbuckle.AspNetCore.SwaggerGen;

namespace CashEvents.Api.Http;

/// <summary>Examples of requests, answers and problems; the headers of writes; what parameters mean.</summary>
internal sealed class Examples : IOperationFilter
{
    // Stands for a number that is the reader's own, where no example names one.
    private const int SomeLine = 52;

    // Read by Page/page.js.
    private const string Untried = "x-not-to-try";

    private static readonly Dictionary<string, (string Meaning, string Example)> Parameters = new()
    {
        ["id"] = ("Its id.", "ferry-fares"),
        ["n"] = ("Number of the line.", "52"),
        ["api/lines/{n}/reversal?n"] = ("Number of the line.", "53"),
        ["api/lines/{n}/amendment?n"] = ("Number of the line.", "58"),
        ["api/counts/{id}/explanations?id"] = ("The count's id, the number of its line.", "98"),
        ["api/counts/{id}/settlement?id"] = ("The count's id, the number of its line.", "116"),
        ["api/counts/{id}/set-aside?id"] = ("The count's id, the number of its line.", "116"),
        ["api/months/{month}/close?month"] = ("The month to close, with all before it.", "2026-09"),
        ["api/rebuilds/{id}?id"] = ("The rebuild's id.", "1"),
        ["name"] = ("Name of the key.", "payday script"),
        ["month"] = ("A month; the household's present one where it may be left out and is.", "2026-11"),
        ["week"] = ("A week, by its ISO 8601 number or its first day; the household's present one where it may be left "
            + "out and is.", "2026-W47"),
        ["holding"] = ("Only this holding: cash or bank.", "cash"),
        ["on"] = ("As it was at the end of this day.", "2026-11-03"),
        ["atLine"] = ("As the book stood at this line.", "52"),
        ["at"] = ("As the book stood at this instant.", "2026-11-03T17:20:41Z"),
        ["coverage"] = ("The share of past weeks to cover, 0 to 1; 0.8 if left out.", "0.8"),
        ["after"] = ("Only lines after this number; 0 if left out.", "52"),
        ["limit"] = ("At most so many lines, 1 to 1000; 100 if left out.", "50"),
        ["kind"] = ("Only lines of this kind.", "spend"),
        ["compartment"] = ("Only lines about this compartment.", "ferry-fares"),
        ["by"] = ("Only lines written by the key of this name.", "partner"),
        ["from"] = ("Only what occurred on this day or later.", "2026-11-01"),
        ["to"] = ("Only what occurred on this day or earlier.", "2026-11-30"),
        ["api/income-sources/{id}?id"] = ("Its id: small letters and digits with hyphens between.", "boat-hire"),
        ["api/standing-payments/{id}?id"] = ("Its id: small letters and digits with hyphens between.", "quay-rent"),
        ["api/count-rounds?after"] = ("Only rounds closed after this line; 0 if left out.", "52"),
        ["api/count-rounds?limit"] = ("At most so many closed rounds, 1 to 1000; 100 if left out.", "50"),
        ["api/count-rounds/{id}?id"] = ("The round's id.", "70"),
        ["api/count-rounds/{id}/sheet?id"] = ("The round's id.", "70"),
        ["api/count-rounds/{id}/counts?id"] = ("The round's id.", "70"),
        ["api/count-rounds/{id}/confirmations?id"] = ("The round's id.", "70"),
        ["api/count-rounds/{id}/close?id"] = ("The round's id.", "70"),
        ["api/places/{id}?id"] = ("Its id: small letters and digits with hyphens between.", "kitchen-safe"),
        ["api/handovers/{id}/return?id"] = ("The handover's id.", "41"),
        ["api/over-and-short?from"] =
            ("Only what was accepted on this day or later; a year before the last day if left out.", "2025-11-16"),
        ["api/over-and-short?to"] = ("Only what was accepted on this day or earlier; today if left out.", "2026-11-15"),
        ["day"] = ("A bank day on which pay comes.", "2026-12-01"),
        ["pay"] = ("What was paid on that day in all; what its sources are known to pay if left out.", "2400.00"),
        ["api/paydays?from"] = ("The first bank day; the first day of the household's present quarter if left out.",
            "2026-10-01"),
        ["api/paydays?to"] = ("The last bank day; the last day of the quarter after that of `from` if left out.",
            "2027-03-31"),
        ["months"] = ("How many months ahead, 1 to 60; 12 if left out.", "12"),
        ["api/outlook?pay"] = ("What sources are supposed to pay each time, instead of their own amounts: each by its "
            + "id, with commas between; a source that pays as it comes is counted as nothing if left out.",
            "net-mending:120.00"),
        ["api/goals/{id}?id"] = ("The goal's id.", "hull-insurance"),
        ["api/sinking-funds/{id}?id"] = ("The compartment's id.", "boat-insurance"),
        ["api/sinking-funds/{id}?to"] =
            ("The last day of the schedule, five years ahead at most; a year ahead if left out.", "2027-12-31"),
        ["api/saving-plans/{id}?id"] = ("The compartment's id.", "rainy-day"),
        ["api/saving-plans/{id}/steps?id"] = ("The compartment's id.", "rainy-day"),
        ["payday"] = ("The bank day of a payday.", "2026-12-01"),
        ["inHand"] = ("Notes and coins that are there already and are used first, each value with how many; none if "
            + "left out.", "20:3,5:4"),
        ["denominations"] = ("The values that the bank gives; the household's from the smallest to the largest note to "
            + "draw if left out.", "50,20,10,5"),
        ["api/fill-runs?from"] = ("Only paydays on this bank day or later.", "2026-10-01"),
        ["api/fill-runs?to"] = ("Only paydays on this bank day or earlier.", "2026-12-31"),
        ["api/fill-runs/{payday}/draw-slip?pay"] =
            ("What was paid on that day in all, while it is not filled; what its sources are known to pay if left out.",
                "2400.00"),
        ["occurredOn"] = ("The day on which it is to be filled, from the payday on, while it is not; the payday if "
            + "left out.", "2026-11-02"),
        ["api/counts/{id}/explanations?limit"] = ("At most so many explanations, 1 to 20; 5 if left out.", "3"),
        ["api/imports?compartment"] =
            ("Whose sheet it is. This and the parameters below go with a text/csv body.", "ferry-fares"),
        ["api/imports?holding"] =
            ("Cash or bank, where the sheet does not say it row by row; cash if left out.", "cash"),
        ["dateOrder"] =
            ("The order of the sheet's dates, where they do not show it: dayFirst, monthFirst or yearFirst.",
                "dayFirst"),
        ["decimalMark"] = ("The sheet's decimal mark, where its amounts do not show it: point or comma.", "comma"),
        ["opening"] = ("broughtForward fills what the sheet begins with and the book does not know; the two have to "
            + "agree if left out.", "broughtForward"),
        ["accept"] = ("What is right in rows in which something does not fit: amount, balance, date, there or new, for "
            + "one row like 12:balance, with commas between.", "12:balance,15:date"),
        ["carried"] = ("true if the spends were paid from notes that somebody carries; if left out, yes when the key "
            + "is the carrier's own.", "true"),
        ["dryRun"] = ("true to write nothing and show what would be written.", "true"),
        ["api/months?from"] = ("The first month; eleven months before the last, but no earlier than the book's first, "
            + "if left out.", "2026-01"),
        ["api/months?to"] = ("The last month; the household's present one if left out.", "2026-11"),
        ["api/weeks?from"] = ("The first week, or a day in it; seven weeks before the last if left out.", "2026-W40"),
        ["api/weeks?to"] = ("The last week, or a day in it; the household's present one if left out.", "2026-W47"),
    };

    // What an example can't be tried with on the demo household, though it shows the form: why.
    private static readonly Dictionary<string, string> NotToTry = new()
    {
        ["GET api/rebuilds/{id}"] = OfOnesOwn,
        ["GET api/count-rounds/{id}"] = OfOnesOwn,
        ["GET api/count-rounds/{id}/sheet"] = OfOnesOwn,
        ["POST api/count-rounds/{id}/counts"] = OfOnesOwn,
        ["POST api/count-rounds/{id}/confirmations"] = OfOnesOwn,
        ["POST api/count-rounds/{id}/close"] = OfOnesOwn,
        ["POST api/handovers/{id}/return"] = OfOnesOwn,
        ["GET api/fill-runs/{payday}"] = OfOnesOwn,
        ["POST api/months/{month}/reopen"] = OfOnesOwn,
        ["POST api/clock-corrections"] = "it puts right what a wrong clock has stamped.",
    };

    private const string OfOnesOwn = "it needs the id of something that was written before.";
    private const string TakesAway = "it takes away what other examples are about.";

    private static readonly Dictionary<int, (string When, string Code, string Detail,
        string? Field)> ProblemsByStatus = new()
        {
            [400] = ("The request can't be read, or its fields do not have the form asked for.", "malformed", "There is no "
            + "field `ammount` here. Did you mean `amount`?", "ammount"),
            [401] = ("No key, or one that is not known here.", "key-missing", "Send the header `Authorization: Bearer "
            + "KEY`. The keeper's key was printed at the first start and is kept in the data folder.", null),
            [403] = ("The key is good, but not for this.", "not-allowed", "The key 'wall display' has the role viewer, "
            + "which may read only.", null),
            [404] = ("There is nothing of that name or number.", "compartment-unknown", "There is no compartment "
            + "'ferry-fare'.", null),
            [409] = ("The book as it stands forbids it.", "not-enough", "The cash of 'ferry-fares' holds 6.40 EUR: 2.00 "
            + "EUR is missing. 'market-days' could cover it.", "amount"),
            [412] = ("The book has moved on from the line named in If-Match.", "book-moved-on", "The book stands at line "
            + "61, not 58: read it again, then decide.", null),
            [422] = ("The words do not fit this book, or the idempotency key was used for another request.",
            "compartment-unknown", "There is no compartment 'ferry-fare'. Did you mean 'ferry-fares'?", "compartment"),
            [429] = ("Too many wrong keys came from this address: send it again after the time in Retry-After.",
            "too-many-wrong-keys",
            "Too many wrong keys came from this address: wait a second, then send the right one.", null),
            [503] = ("Too much is waiting, or PostgreSQL does not answer: send it again after the time in Retry-After.",
            "book-busy", "1024 requests are waiting for this book: send the request again in a second.", null),
        };

    public void Apply(OpenApiOperation operation, OperationFilterContext context)
    {
        var metadata = context.ApiDescription.ActionDescriptor.EndpointMetadata;
        var refusals = metadata.OfType<RefusesWith>().SingleOrDefault();
        // Constraints stand in the path, such as {id:long}.
        var (method, path) = (context.ApiDescription.HttpMethod
            ?? "", (context.ApiDescription.RelativePath ?? "").Replace(":long", "", StringComparison.Ordinal));
        Describe(operation.Parameters, path);
        if (refusals?.Statuses.Contains(StatusCodes.Status412PreconditionFailed) is true)
        {
            AddWriteHeaders(operation, isBatch: path == "api/batches");
        }

        if (metadata.OfType<Example>().SingleOrDefault() is { } example)
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

        var ofOnesOwn = operation.Parameters?.Any(
            p => IsNumber(p) && !int.TryParse(WordsOf(p, path).Example, CultureInfo.InvariantCulture, out _)) is true
                ? OfOnesOwn
                : null;
        if ((HttpMethods.IsDelete(method)
            ? TakesAway
            : NotToTry.GetValueOrDefault($"{method} {path}") ?? ofOnesOwn) is { } why)
        {
            operation.Description = $"{operation.Description}\n\nNot offered to try on this page: {why}".TrimStart();
            operation.AddExtension(Untried, new JsonNodeExtension(JsonValue.Create(true)));
        }

        foreach (var status in refusals?.Statuses ?? [])
        {
            if (operation.Responses?[status.ToString(CultureInfo.InvariantCulture)] is { } response)
            {
                response.Description = ProblemsByStatus[status].When;
                SetExample(response.Content, Example(status));
                if (status is StatusCodes.Status429TooManyRequests or StatusCodes.Status503ServiceUnavailable
                    && response is OpenApiResponse told)
                {
                    told.Headers = new Dictionary<string, IOpenApiHeader>
                    {
                        ["Retry-After"] = new OpenApiHeader
                        {
                            Description = "Seconds to wait before it is sent again.",
                            Schema = new OpenApiSchema { Type = JsonSchemaType.Integer }
                        },
                    };
                }
            }
        }
    }

    private static void Describe(IList<IOpenApiParameter>? parameters, string path)
    {
        foreach (var parameter in parameters?.OfType<OpenApiParameter>() ?? [])
        {
            if (WordsOf(parameter, path) is { Meaning.Length: > 0 } words)
            {
                var example = IsNumber(parameter)
                    ? JsonValue.Create(int.TryParse(words.Example, CultureInfo.InvariantCulture, out var number)
                        ? number
                        : SomeLine)
                    : JsonValue.Create(path.StartsWith("api/wallets", StringComparison.Ordinal)
                        ? "oilskin-wallet"
                        : words.Example);
                Show(parameter, words.Meaning, example);
            }
        }
    }

    private static (string Meaning, string Example) WordsOf(IOpenApiParameter parameter, string path) =>
        Parameters.TryGetValue($"{path}?{parameter.Name}", out var words)
            ? words
            : Parameters.GetValueOrDefault(parameter.Name ?? "");

    private static bool IsNumber(IOpenApiParameter parameter) =>
        (parameter.Schema?.Type & JsonSchemaType.Integer) == JsonSchemaType.Integer;

    private static void AddWriteHeaders(OpenApiOperation operation, bool isBatch)
    {
        operation.Parameters ??= [];
        if (!isBatch)
        {
            operation.Parameters.Add(
                Header("Idempotency-Key",
                    "The sender's own name for this request: sent again under the same name, it is written once and "
                        + "gets the same answer.", "\"8e03978e-40d5-43dd-bc93-6894a57f9324\""));
        }

        operation.Parameters.Add(
            Header("If-Match", "Write only while the book stands at the line that an ETag begins with: the whole tag "
                + "as it came, or the line alone.", "\"61\""));
    }

    private static OpenApiParameter Header(string name, string meaning, string example)
    {
        var header = new OpenApiParameter
        {
            Name = name,
            In = ParameterLocation.Header,
            Schema = new OpenApiSchema { Type = JsonSchemaType.String }
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

    private static string Example(int status)
    {
        var (_, code, detail, field) = ProblemsByStatus[status];
        var problem = new Problem(status, code,
            detail)
        { Errors = field is null ? null : new Dictionary<string, string[]> { [field] = [detail] } };
        return JsonSerializer.Serialize(problem, ApiJson.Options);
    }

    private static void SetExample(IDictionary<string, IOpenApiMediaType>? content, string? example)
    {
        foreach (var (type, media) in content ?? new Dictionary<string, IOpenApiMediaType>())
        {
            if (type is "text/csv" or "text/html" && media is OpenApiMediaType sheet)
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
