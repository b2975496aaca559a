namespace CashEvents.Api.Paydays;

internal sealed class PaydayEndpoints : IEndpoints
{
    private const int MonthsInQuarter = 3;

    private static readonly string[] _heading = ["day", "nominal", "source", "label", "amount", "closedDays"];

    public static void Map(IEndpointRouteBuilder api)
    {
        MapList(api);
        MapStatement(api);
    }

    private static void MapList(IEndpointRouteBuilder api) => api
        .MapGet("/paydays", async (HttpContext http, Caller caller, string? from, string? to, BookReader books,
            TimeProvider clock) =>
        {
            Reads.OnlyTakes(http, "from", "to");
            var (askedFrom, askedTo) = (Reads.Day(from, "from"), Reads.Day(to, "to"));
            var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
            var household = book.Household!;
            var first = askedFrom ?? Quarter(household.DateAt(clock.GetUtcNow()));
            BankDate.MustBeTold(first, "from");
            var last = askedTo ?? Quarter(first).AddMonths(2 * MonthsInQuarter).AddDays(-1);
            Payday.MustBeStretch(first, last);
            Answers.StampLine(http, book.Line);
            var paydays = Payday.Between(first, last, book, new HouseholdCalendar(household.Country))
                .Select(p => PaydayAnswer.Of(p, household.Currency)).ToList();
            return Forms.Of(http, Form.Csv) == Form.Csv
                ? await Csv.OfAsync(_heading, paydays.Select(Cells)).ConfigureAwait(false)
                : TypedResults.Ok(new PaydaysAnswer(first, last, household.Country, paydays, book.Line));
        })
        .Produces<PaydaysAnswer>(StatusCodes.Status200OK, "application/json", "text/csv")
        .RefusesReads(StatusCodes.Status422UnprocessableEntity)
        .WithSummary("Paydays: the nominal day, the bank day, who pays, how much, and why it moved")
        .WithDescription("`from` and `to` are bank days and at most ten years apart. Days are those of the "
                + "household's calendar. A bank day is no Saturday, no Sunday and no bank holiday of the "
                + "household's country. Local bank practice may differ: ask the bank where it matters.")
        .WithParameter("from",
            "The first bank day; the first day of the household's present quarter if left out.", "2026-10-01",
            ParameterForm.Day)
        .WithParameter("to",
            "The last bank day; the last day of the quarter after that of `from` if left out.", "2027-03-31",
            ParameterForm.Day)
        .WithExample(null, """
            {"from": "2026-10-01", "to": "2027-03-31", "country": "IE",
             "paydays": [
               {"day": "2026-10-30", "nominal": "2026-10-31", "source": "harbour-office", "label": "Harbour office", "amount": 2400.00, "closedDays": [{"day": "2026-10-31", "because": "Saturday"}]},
               {"day": "2026-11-30", "nominal": "2026-11-30", "source": "harbour-office", "label": "Harbour office", "amount": 2400.00}],
             "bookLine": 72}
            """);

    private static void MapStatement(IEndpointRouteBuilder api) => api
        .MapGet("/paydays/{day}/statement",
            async (HttpContext http, Caller caller, string day, string? pay, PlanReader plans) =>
            {
                Reads.OnlyTakes(http, "pay");
                var (asked, paid) = (Reads.Day(day, "day")!.Value, Reads.Amount(pay, "pay"));
                BankDate.MustBeTold(asked, "day");
                var book = await plans.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
                Answers.StampLine(http, book.Line);
                var statement = PaydayStatement.Of(asked, paid, book, new HouseholdCalendar(book.Household!.Country));
                return TypedResults.Ok(PaydayStatementAnswer.Of(statement, paid is not null, book.Currency,
                    book.Line) with
                { CountryNote = BankHolidays.NoteOn(book.Household.Country) });
            })
        .Produces<PaydayStatementAnswer>()
        .RefusesReads(StatusCodes.Status404NotFound, StatusCodes.Status409Conflict,
            StatusCodes.Status422UnprocessableEntity)
        .WithSummary("Where a payday's pay goes until the next: fixed bills, automatic savings, planned fills, and "
            + "what stays in the bank")
        .WithDescription("`day` is the bank day of a payday. Bills and savings are those from that bank day "
                + "until before the next payday of any source. Fills are the weekly plan's amounts for those "
                + "days, shared by days where a week is cut. When the pay does not reach, `short` says by how "
                + "much. Money that the bank held before is not looked at. Nothing is written.")
        .WithParameter("day", "A bank day on which pay comes.", "2026-12-01", ParameterForm.Day)
        .WithParameter("pay",
            "What was paid on that day in all; what its sources are known to pay if left out.", "2400.00",
            ParameterForm.Amount)
        .WithExample(null, """
            {"day": "2026-10-30", "until": "2026-11-29", "nextPayday": "2026-11-30",
             "paydays": [{"day": "2026-10-30", "nominal": "2026-10-31", "source": "harbour-office", "label": "Harbour office", "amount": 2400.00, "closedDays": [{"day": "2026-10-31", "because": "Saturday"}]}],
             "fixedBills": [{"day": "2026-11-03", "nominal": "2026-11-03", "payment": "quay-rent", "label": "Quay rent", "amount": 640.00}],
             "automaticSavings": [{"day": "2026-11-02", "nominal": "2026-11-01", "payment": "nest-egg", "label": "Nest egg", "amount": 150.00, "closedDays": [{"day": "2026-11-01", "because": "Sunday"}]}],
             "fills": [{"compartment": "ferry-fares", "label": "Ferry fares", "amount": 110.71}],
             "sums": {"pay": 2400.00, "fixedBills": 640.00, "automaticSavings": 150.00, "fills": 110.71, "staysInBank": 1499.29},
             "bookLine": 72}
            """);

    private static IReadOnlyList<object?> Cells(PaydayAnswer payday) =>
        [payday.Day, payday.Nominal, payday.Source, payday.Label, payday.Amount,
            string.Join("; ", payday.ClosedDays?.Select(c => $"{c.Day:yyyy-MM-dd} {c.Because}") ?? [])];

    private static DateOnly Quarter(DateOnly day) =>
        new(day.Year, ((day.Month - 1) / MonthsInQuarter * MonthsInQuarter) + 1, 1);
}
