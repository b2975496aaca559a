namespace CashEvents.Api.Months;

/// <summary>A row of a tracker.</summary>
/// <param name="Line">The line it comes from.</param>
/// <param name="Date">The household's date on which it happened.</param>
/// <param name="Kind">The line's kind.</param>
/// <param name="Holding">Cash or bank.</param>
/// <param name="Description">What was written beside it.</param>
/// <param name="Amount">In is positive, out negative.</param>
/// <param name="Balance">After this row.</param>
public sealed record TrackerRowAnswer(long Line, DateOnly Date, string Kind, Holding Holding, string Description,
    decimal Amount, decimal Balance)
{
    /// <summary>The earlier line that its line undoes.</summary>
    public long? Reverses { get; init; }

    /// <summary>The earlier line in whose stead its line stands.</summary>
    public long? Amends { get; init; }

    /// <summary>The reversal that undoes its line.</summary>
    public long? ReversedBy { get; init; }

    /// <summary>The line that stands in its line's stead.</summary>
    public long? AmendedBy { get; init; }

    /// <summary>A row in this API's words.</summary>
    internal static TrackerRowAnswer Of(TrackerRow row, Func<Domain.Amounts.Money, decimal> say)
    {
        var undoes = row.Kind == LineKinds.Names[typeof(Reversed)];
        return new TrackerRowAnswer(row.Line, row.OccurredOn, row.Kind, row.Holding, row.Description, say(row.Amount),
            say(row.Balance))
        {
            Reverses = undoes ? row.Corrects : null,
            Amends = undoes ? null : row.Corrects,
            ReversedBy = row.ReversedBy,
            AmendedBy = row.AmendedBy,
        };
    }
}

/// <summary>A compartment's sheet for a month.</summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Month">The month, as <c>2026-11</c>.</param>
/// <param name="Holding">The one holding it is for; absent when both are on it.</param>
/// <param name="OpeningBalance">Before the month's first day.</param>
/// <param name="Rows">In date order; within a day as written.</param>
/// <param name="ClosingBalance">After the month's last row.</param>
/// <param name="BookLine">The line at which the book stood.</param>
public sealed record TrackerAnswer(
    string Compartment, string Label, string Month, Holding? Holding, decimal OpeningBalance,
    IReadOnlyList<TrackerRowAnswer> Rows, decimal ClosingBalance, long BookLine);

/// <summary>The sheets of several compartments for a month.</summary>
/// <param name="Month">The month, as <c>2026-11</c>.</param>
/// <param name="Trackers">Wallet by wallet, in the order in which they were taken into use.</param>
/// <param name="BookLine">The line at which the book stood.</param>
public sealed record TrackersAnswer(string Month, IReadOnlyList<TrackerAnswer> Trackers, long BookLine);

internal sealed class TrackerEndpoint : IEndpoints
{
    public static void Map(IEndpointRouteBuilder api)
    {
        MapOne(api);
        MapAll(api);
    }

    private static void MapOne(IEndpointRouteBuilder api) => api
        .MapGet("/compartments/{id}/tracker", async (
            HttpContext http, Caller caller, string id, string? month, string? holding, string? size, string? blank,
            string? on, string? atLine, string? at, BookReader books, TrackerReader trackers, TimeProvider clock) =>
        {
            Reads.OnlyTakes(http, "month", "holding", "size", "blank", "on", "atLine", "at");
            var only = Reads.Word<Holding>(holding, "holding");
            var asked = Reads.Month(month);
            var asOf = Reads.AsOf(on, atLine, at);
            var upTo = await books.LineAsync(caller.Household, asOf, http.RequestAborted).ConfigureAwait(false);
            Month of = default;
            var (book, sheet) = await trackers.ReadAsync(caller.Household, id, only, seen =>
            {
                seen.CompartmentNamed(id, upTo);
                of = Month.Of(asked ?? asOf.On ?? seen.Household!.DateAt(clock.GetUtcNow()));
                return asOf.On >= of.First || asOf.On is null ? (of.First, asOf.On < of.Last ? asOf.On.Value : of.Last)
                    : throw new MalformedException("on",
                        $"{asOf.On:O} lies before {of}: leave `month` out, or ask for a day in it or after it.");
            }, upTo, http.RequestAborted).ConfigureAwait(false);
            Answers.StampLine(http, sheet.BookLine);
            var answer = Answer(book, id, of, only, sheet);
            var strips = new StripsAsked(size, blank, book);
            return Forms.Of(http, Form.Csv, Form.Html) switch
            {
                Form.Csv => await Csv.OfAsync(
                    ["date", "description", "amount", "balance", "holding", "kind", "line"],
                    answer.Rows.Select(r => (IReadOnlyList<object?>)[r.Date, r.Description, r.Amount, r.Balance,
                        r.Holding, r.Kind, r.Line])).ConfigureAwait(false),
                Form.Html => await strips.PageAsync(http, [answer], sheet.BookLine,
                    Through(of, asOf.On, book, clock)).ConfigureAwait(false),
                _ => TypedResults.Ok(answer),
            };
        })
        .Produces<TrackerAnswer>(StatusCodes.Status200OK, "application/json", "text/csv", "text/html")
        .RefusesReads(StatusCodes.Status404NotFound)
        .WithSummary("A compartment's sheet for a month: date, description, amount, balance")
        .WithDescription("`holding` narrows the sheet to cash or bank. `on` ends the sheet at a day. `atLine` or `at` "
            + "shows it "
            + "as the book stood then, before later lines. The page has strips to cut out and keep behind the notes.")
        .WithParameter("id", "The compartment's id.", "ferry-fares")
        .WithParameter("month", "The month; that of `on`, or the household's present one, if left out.", "2026-11",
            ParameterForm.Month)
        .WithStrips()
        .WithAsOf()
        .WithExample(null, $$"""{ {{Example}}, "bookLine": 61}""");

    private static void MapAll(IEndpointRouteBuilder api) => api
        .MapGet("/months/{month}/trackers", async (HttpContext http, Caller caller, string month, string? wallet,
            string? holding, string? size, string? blank, TrackerReader trackers, TimeProvider clock) =>
        {
            Reads.OnlyTakes(http, "wallet", "holding", "size", "blank");
            var only = Reads.Word<Holding>(holding, "holding");
            var of = Month.Of(Reads.Month(month)!.Value);
            IReadOnlyList<string> wanted = [];
            var (book, sheets) = await trackers.ReadAllAsync(caller.Household, only, seen =>
            {
                wanted = Wanted(seen, wallet);
                return (wanted, of.First, of.Last);
            }, http.RequestAborted).ConfigureAwait(false);
            var answers = wanted.Zip(sheets, (id, sheet) => Answer(book, id, of, only, sheet)).ToList();
            var strips = new StripsAsked(size, blank, book);
            Answers.StampLine(http, book.Line);
            return Forms.Of(http, Form.Html) == Form.Html
                ? await strips.PageAsync(http, answers, book.Line, Through(of, null, book, clock)).ConfigureAwait(false)
                : TypedResults.Ok(new TrackersAnswer(of.ToString(), answers, book.Line));
        })
        .Produces<TrackersAnswer>(StatusCodes.Status200OK, "application/json", "text/html")
        .RefusesReads(StatusCodes.Status404NotFound)
        .WithSummary("The sheets of all compartments in use for a month, or of a wallet's")
        .WithDescription("The page has all their strips on as few pages as possible.")
        .WithParameter("month", "The month.", "2026-11", ParameterForm.Month)
        .WithParameter("wallet", "Only the compartments in this wallet.", "oilskin-wallet")
        .WithStrips()
        .WithExample(null, $$"""{"month": "2026-11", "trackers": [{ {{Example}}, "bookLine": 61}], "bookLine": 61}""");

    private const string Example = """
        "compartment": "ferry-fares", "label": "Ferry fares", "month": "2026-11", "openingBalance": 12.40,
             "rows": [
               {"line": 41, "date": "2026-11-02", "kind": "fill", "holding": "cash", "description": "November pay", "amount": 60.00, "balance": 72.40},
               {"line": 52, "date": "2026-11-03", "kind": "spend", "holding": "cash", "description": "Return to the mainland", "amount": -8.40, "balance": 64.00}],
             "closingBalance": 64.00
        """;

    private static TrackerAnswer Answer(Book book, string compartment, Month month, Holding? only, Tracker sheet)
    {
        var currency = book.Household!.Currency;
        decimal Say(Domain.Amounts.Money money) => currency?.ToDecimal(money) ?? 0m;
        return new TrackerAnswer(compartment, book.Compartments[compartment].Label, month.ToString(), only,
            Say(sheet.Opening), [.. sheet.Rows.Select(r => TrackerRowAnswer.Of(r, Say))], Say(sheet.Closing),
            sheet.BookLine);
    }

    private static List<string> Wanted(Book book, string? wallet)
    {
        if (wallet is not null)
        {
            book.WalletNamed(wallet);
        }

        return
        [
            .. book.Compartments.Values.Where(c => !c.Closed && (wallet is null || c.Wallet == wallet))
                .OrderBy(c => book.Wallets[c.Wallet].Line).ThenBy(c => c.Line).Select(c => c.Id),
        ];
    }

    // What is dated later than today is not over yet either.
    private static DateOnly Through(Month month, DateOnly? on, Book book, TimeProvider clock)
    {
        var today = book.Household!.DateAt(clock.GetUtcNow());
        var last = on < month.Last ? on.Value : month.Last;
        return today < last ? today : last;
    }
}
