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

internal sealed class TrackerEndpoint : IEndpoints
{
    public static void Map(IEndpointRouteBuilder api) => api
        .MapGet("/compartments/{id}/tracker", async (
            HttpContext http, Caller caller, string id, string? month, string? holding, string? on, string? atLine,
            string? at, BookReader books, TrackerReader trackers, TimeProvider clock) =>
        {
            Reads.OnlyTakes(http, "month", "holding", "on", "atLine", "at");
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
            var compartment = book.Compartments[id];
            var currency = book.Household!.Currency;
            decimal Say(Domain.Amounts.Money money) => currency?.ToDecimal(money) ?? 0m;
            var rows = sheet.Rows.Select(r => TrackerRowAnswer.Of(r, Say)).ToList();
            var answer = new TrackerAnswer(id, compartment.Label, of.ToString(), only, Say(sheet.Opening), rows,
                Say(sheet.Closing), sheet.BookLine);
            return Forms.Of(http, Form.Csv, Form.Html) switch
            {
                Form.Csv => await Csv.OfAsync(
                    ["date", "description", "amount", "balance", "holding", "kind", "line"],
                    rows.Select(r => (IReadOnlyList<object?>)[r.Date, r.Description, r.Amount, r.Balance, r.Holding,
                        r.Kind, r.Line])).ConfigureAwait(false),
                Form.Html => await PrintedPages.OfAsync<TrackerPage>(http, new()
                {
                    [nameof(TrackerPage.Sheet)] = answer,
                    [nameof(TrackerPage.Household)] = book.Household.Name,
                    [nameof(TrackerPage.Currency)] = currency?.Code,
                }).ConfigureAwait(false),
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
        .WithParameter("holding", "Only this holding: cash or bank.", "cash", ParameterForm.Word<Holding>())
        .WithAsOf()
        .WithExample(null, """
            {"compartment": "ferry-fares", "label": "Ferry fares", "month": "2026-11", "openingBalance": 12.40,
             "rows": [
               {"line": 41, "date": "2026-11-02", "kind": "fill", "holding": "cash", "description": "November pay", "amount": 60.00, "balance": 72.40},
               {"line": 52, "date": "2026-11-03", "kind": "spend", "holding": "cash", "description": "Return to the mainland", "amount": -8.40, "balance": 64.00}],
             "closingBalance": 64.00, "bookLine": 61}
            """);
}
