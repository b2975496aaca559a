using System.Globalization;

namespace CashEvents.Api.Paydays;

internal sealed class OutlookEndpoint : IEndpoints
{
    private static readonly Bounds _ahead = new(1, Outlook.MostMonths, 12);

    private static readonly string[] _heading =
        ["payday", "from", "until", "compartment", "opening", "interest", "filled", "balance", "balanceCash",
            "balanceBank", "saved", "spent", "bills", "closing", "closingCash", "closingBank", "lowest"];

    private const string Short =
        """{"on": "2027-04-01", "what": "bill", "missing": 22.50, "detail": "Hull insurance, 480.00 EUR due 2027-04-01: 22.50 EUR is missing in 'boat-insurance'.", "compartment": "boat-insurance", "goal": "hull-insurance", "due": "2027-04-01"}""";

    public static void Map(IEndpointRouteBuilder api) => api
        .MapGet("/outlook", async (HttpContext http, Caller caller, string? months, string? pay, FillRunReader books,
            TimeProvider clock) =>
        {
            Reads.OnlyTakes(http, "months", "pay");
            var ahead = (int)Reads.Number(months, "months", _ahead);
            var book = Supposing(pay,
                await books.ReadBookAsync(caller.Household, http.RequestAborted).ConfigureAwait(false));
            var today = book.Household!.DateAt(clock.GetUtcNow());
            BankDate.MustBeTold(today.AddMonths(ahead), "months");
            var outlook = Outlook.Of(book, today, today.AddMonths(ahead), HouseholdCalendar.Of(book.Household.Country));
            var answer = OutlookAnswer.Of(outlook, book);
            Answers.StampLine(http, book.Line);
            return Forms.Of(http, Form.Csv, Form.Html) switch
            {
                Form.Csv => await Csv.OfAsync(_heading, answer.Stretches.SelectMany(Rows)).ConfigureAwait(false),
                Form.Html => await PrintedPages.OfAsync<OutlookPage>(http, book, book.Line, new()
                {
                    [nameof(OutlookPage.Household)] = book.Household.Name,
                    [nameof(OutlookPage.Outlook)] = answer,
                    [nameof(OutlookPage.Ahead)] = outlook,
                    [nameof(OutlookPage.Book)] = book,
                }).ConfigureAwait(false),
                _ => TypedResults.Ok(answer),
            };
        })
        .IsHeavy()
        .Produces<OutlookAnswer>(StatusCodes.Status200OK, "application/json", "text/csv", "text/html")
        .RefusesReads(StatusCodes.Status409Conflict, StatusCodes.Status422UnprocessableEntity)
        .WithSummary("Look ahead, payday by payday: every compartment's balance, what stays in the bank, and the "
            + "first day on which something is short")
        .WithDescription("From today's balances each payday to come is filled by the fill rules. Spending compartments "
            + "are "
            + "spent down by their weekly plan from tomorrow on, sinking funds pay their bills on the due dates, "
            + "cash first, and get their interest on paydays. A bill that can't be met stays open, with those after "
            + "it in the same fund. Fixed bills and automatic savings come off the pay before them; steps of saving "
            + "plans are put aside on their days. Counts are left out. `bankNeeded` is what the bank's statement has "
            + "to show: the compartments' bank parts and all that leaves the bank before the next payday. The book "
            + "does not know what else the bank holds. Sources that pay as they come are counted as nothing unless "
            + "`pay` supposes an amount. It is what the rules come to, and no promise.")
        .WithParameter("months", "How many months ahead, 1 to 60; 12 if left out.", "12",
            ParameterForm.Number(_ahead))
        .WithParameter("pay",
            "What sources are supposed to pay each time, instead of their own amounts: each by its id, with commas "
                + "between; a source that pays as it comes is counted as nothing if left out.", "net-mending:120.00")
        .WithExample(null, $$"""
            {"from": "2026-11-15", "to": "2027-11-15", "currency": "EUR",
             "shortages": [{{Short}}],
             "stretches": [
               {"from": "2026-11-15", "until": "2026-11-29", "bankNeeded": {"compartments": 0.00, "fixedBills": 0.00, "automaticSavings": 0.00, "steps": 0.00, "total": 0.00}, "compartments": [
                 {"compartment": "ferry-fares", "label": "Ferry fares", "opening": 60.00, "interest": 0.00, "filled": 0.00, "balance": 60.00, "balanceCash": 60.00, "balanceBank": 0.00, "saved": 0.00, "spent": 50.00, "bills": 0.00, "closing": 10.00, "closingCash": 10.00, "closingBank": 0.00, "lowest": 10.00}]},
               {"from": "2026-11-30", "until": "2026-12-30", "bankNeeded": {"compartments": 0.00, "fixedBills": 640.00, "automaticSavings": 150.00, "steps": 0.00, "total": 790.00}, "compartments": [
                 {"compartment": "ferry-fares", "label": "Ferry fares", "opening": 10.00, "interest": 0.00, "filled": 110.71, "balance": 120.71, "balanceCash": 120.71, "balanceBank": 0.00, "saved": 0.00, "spent": 110.71, "bills": 0.00, "closing": 10.00, "closingCash": 10.00, "closingBank": 0.00, "lowest": 10.00}],
                "payday": {"payday": "2026-11-30", "pay": 1000.00, "fixedBills": 640.00, "automaticSavings": 150.00, "cash": 110.71, "bank": 0.00, "fills": 110.71, "cut": 0.00, "staysInBank": 99.29, "stayedInBank": 99.29} }],
             "bookLine": 75, "firstShort": {{Short}}, "notCounted": ["net-mending"],
             "note": "net-mending pays as it comes and is counted as nothing: send `pay` to suppose an amount, such as pay=net-mending:100.00."}
            """);

    private static Book Supposing(string? pay, Book book)
    {
        var supposed = new HashSet<string>(StringComparer.Ordinal);
        foreach (var part in pay?.Split(',') ?? [])
        {
            if (part.Split(':') is not [{ Length: > 0 } id, var written]
                || !decimal.TryParse(written, NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture,
                    out var amount) || !supposed.Add(id))
            {
                throw new MalformedException("pay",
                    "`pay` says what sources are supposed to pay each time, each source once, written like "
                        + "net-mending:120.00,harbour-office:1500.00.");
            }

            book = book.Supposing(id, amount, "pay");
        }

        return book;
    }

    private static IEnumerable<IReadOnlyList<object?>> Rows(OutlookStretchAnswer stretch) =>
        stretch.Compartments.Select(row => (IReadOnlyList<object?>)
    [
        stretch.Payday?.Payday, stretch.From, stretch.Until, row.Compartment, row.Opening, row.Interest, row.Filled,
        row.Balance, row.BalanceCash, row.BalanceBank, row.Saved, row.Spent, row.Bills, row.Closing, row.ClosingCash,
        row.ClosingBank, row.Lowest,
    ]);
}
