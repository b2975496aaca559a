using System.Globalization;
using Microsoft.AspNetCore.WebUtilities;

namespace CashEvents.Api.Books;

/// <summary>A page of the book.</summary>
/// <param name="Lines">In the order they were written.</param>
/// <param name="BookLine">The book's last line.</param>
/// <param name="Next">Address of the next page; absent on the last.</param>
public sealed record LinesAnswer(IReadOnlyList<LineAnswer> Lines, long BookLine, string? Next);

internal sealed class LineEndpoints : IEndpoints
{
    private static readonly Bounds _limits = new(1, 1000, 100);

    public static void Map(IEndpointRouteBuilder api)
    {
        MapPages(api);
        MapOne(api);
    }

    private static void MapPages(IEndpointRouteBuilder api) => api
        .MapGet("/lines", async (
            HttpContext http, Caller caller, string? after, string? limit, string? kind, string? compartment,
            string? by, string? from, string? to,
            BookReader books, LineReader lines) =>
        {
            Reads.OnlyTakes(http, "after", "limit", "kind", "compartment", "by", "from", "to");
            var asked = new LineFilter(
                Reads.Number(after, "after", Reads.AfterLine),
                (int)Reads.Number(limit, "limit", _limits),
                Reads.OneOf(kind, "kind", LineKinds.Types.Keys),
                Reads.Name(compartment, "compartment"),
                Reads.Name(by, "by"),
                Reads.Day(from, "from"),
                Reads.Day(to, "to"));
            var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
            if (asked.Compartment is not null)
            {
                book.CompartmentNamed(asked.Compartment);
            }

            // One more than asked for tells whether there is a next page.
            var found = await lines.ReadAsync(caller.Household, asked with { Limit = asked.Limit + 1 },
                http.RequestAborted).ConfigureAwait(false);
            var page = found.Take(asked.Limit).Select(l => LineAnswer.Of(l, book)).ToList();
            var next = found.Count > asked.Limit ? Next(http, page[^1].Line) : null;
            if (next is not null)
            {
                Answers.LinkNext(http, next);
            }

            Answers.StampLine(http, book.Line);
            return Forms.Of(http, Form.Csv) is Form.Csv
                ? await Csv.OfAsync(Heading, page.Select(Cells)).ConfigureAwait(false)
                : TypedResults.Ok(new LinesAnswer(page, book.Line, next));
        })
        .Produces<LinesAnswer>(StatusCodes.Status200OK, "application/json", "text/csv")
        .RefusesReads(StatusCodes.Status404NotFound)
        .WithSummary("The book itself: its lines in the order they were written")
        .WithDescription(
            "Pages by line number: `after` and `limit`, with the next page in `next` and in a Link header.")
        .WithParameter("after", "Only lines after this number; 0 if left out.", "52",
            ParameterForm.Number(Reads.AfterLine))
        .WithParameter("limit",
            $"At most so many lines, {_limits.Least} to {_limits.Most}; "
                + $"{_limits.Otherwise} if left out.", "50", ParameterForm.Number(_limits))
        .WithParameter("kind", "Only lines of this kind.", "spend", ParameterForm.OneOf(LineKinds.Types.Keys))
        .WithParameter("compartment", "Only lines about this compartment.", "ferry-fares")
        .WithParameter("by", "Only lines written by the key of this name.", "partner")
        .WithParameter("from", "Only what occurred on this day or later.", "2026-11-01", ParameterForm.Day)
        .WithParameter("to", "Only what occurred on this day or earlier.", "2026-11-30", ParameterForm.Day)
        .WithExample(null, """
            {"lines": [{"line": 52, "entryId": 52, "kind": "spend", "recordedAt": "2026-11-03T17:20:41.103212+00:00", "by": "partner",
              "hash": "a0aad21c90638f2fb7a4072c067f3d9603afcc11752d53c3844895b783e36b43",
              "occurredOn": "2026-11-03", "compartment": "ferry-fares", "holding": "cash", "amount": 8.40, "description": "Return to the mainland"}],
             "bookLine": 61, "next": "/api/lines?after=52&limit=1"}
            """);

    private static void MapOne(IEndpointRouteBuilder api) => api
        .MapGet("/lines/{n:long}",
            async (HttpContext http, Caller caller, long n, BookReader books, LineReader lines) =>
            {
                Reads.OnlyTakes(http);
                var line = await lines.FindAsync(caller.Household, n, http.RequestAborted).ConfigureAwait(false);
                var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
                if (line is null)
                {
                    throw Unknown(n, book);
                }

                Answers.StampLine(http, book.Line);
                return TypedResults.Ok(LineAnswer.Of(line, book));
            })
        .Produces<LineAnswer>()
        .RefusesReads(StatusCodes.Status404NotFound)
        .WithSummary("One line of the book")
        .WithParameter("n", "Number of the line.", "52")
        .WithExample(null, """
            {"line": 52, "entryId": 52, "kind": "spend", "recordedAt": "2026-11-03T17:20:41.103212+00:00", "by": "partner",
             "hash": "a0aad21c90638f2fb7a4072c067f3d9603afcc11752d53c3844895b783e36b43",
             "occurredOn": "2026-11-03", "compartment": "ferry-fares", "holding": "cash", "amount": 8.40, "description": "Return to the mainland"}
            """);

    /// <summary>Refuses a number that no line has.</summary>
    public static RefusalException Unknown(long n, Book book) =>
        Refusal.NotFound("line-unknown", $"There is no line {n}: the book's last is {book.Line}.");

    private static readonly string[] Heading =
        ["line", "entryId", "kind", "recordedAt", "by", "occurredOn", "compartment", "holding", "toCompartment",
            "toHolding", "amount", "expected", "counted", "difference", "description", "reverses", "amends",
            "reversedBy", "amendedBy", "clockAhead"];

    // Where money or notes came from stands under compartment and holding, as on every other line. What a reversal
    // changes in one place, or takes back from
    // several, stands under difference, since its kind does not say in which direction; what a fill run gives several
    // places stands under amount.
    private static IReadOnlyList<object?> Cells(LineAnswer line)
    {
        var l = new FlatLine(line);
        var oneWay = l.OneWay;
        var parts = (oneWay is not null && l.Changes!.Count > 1) || l.Parts is not null ? [] : l.AboutPlaces;
        var (from, to) = (parts.ElementAtOrDefault(0), parts.ElementAtOrDefault(1));
        return
        [
            line.Line, line.EntryId, line.Kind, line.RecordedAt, line.By, line.OccurredOn,
            from?.Compartment ?? l.Compartment, from?.Holding ?? l.Holding, to?.Compartment, to?.Holding,
            oneWay is null && l.Changes is { } changes ? changes.Max(c => c.Change) : l.Amount,
            l.Expected, l.Counted, l.Reverses is null ? l.Difference : oneWay,
            line.Description ?? l.Label ?? l.Name, l.Reverses, l.Amends, line.ReversedBy, line.AmendedBy,
            line.ClockAhead,
        ];
    }

    private static string Next(HttpContext http, long after)
    {
        var query = http.Request.Query.Where(q => q.Key != "after")
            .Select(q => KeyValuePair.Create(q.Key, (string?)q.Value.ToString()))
            .Prepend(KeyValuePair.Create("after", (string?)after.ToString(CultureInfo.InvariantCulture)));
        return QueryHelpers.AddQueryString(FormAddresses.Of(http, "/api/lines"), query);
    }
}
