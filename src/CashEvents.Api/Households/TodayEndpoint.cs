namespace CashEvents.Api.Households;

/// <summary>
/// The household's present day, for scripts that would otherwise have to know its time zone and weeks.
/// </summary>
/// <param name="Date">The date in its time zone.</param>
/// <param name="Week">The week, by its ISO 8601 number, or by its first day where weeks do not start on Monday.</param>
/// <param name="WeekFirstDay">The week's first day.</param>
/// <param name="WeekLastDay">The week's last day.</param>
/// <param name="Month">The month.</param>
/// <param name="TimeZone">The IANA name of its time zone.</param>
/// <param name="BookLine">The book's last line.</param>
public sealed record TodayAnswer(DateOnly Date, string Week, DateOnly WeekFirstDay, DateOnly WeekLastDay, string Month,
    string TimeZone, long BookLine)
{
    /// <summary>The payday that is to be filled next; absent while none is known to come.</summary>
    public DateOnly? NextPayday { get; init; }
}

internal sealed class TodayEndpoint : IEndpoints
{
    public static void Map(IEndpointRouteBuilder api) => api
        .MapGet("/today", async (HttpContext http, Caller caller, FillRunReader books, TimeProvider clock) =>
        {
            Reads.OnlyTakes(http);
            var book = await books.ReadBookAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
            var household = book.Household!;
            var today = household.DateAt(clock.GetUtcNow());
            var week = Week.Of(today, household.FirstDayOfWeek);
            Answers.StampLine(http, book.Line);
            return TypedResults.Ok(new TodayAnswer(today, $"{week}", week.First, week.Last, $"{Month.Of(today)}",
                household.TimeZone, book.Line)
            {
                NextPayday = Payday.Next(today, book, HouseholdCalendar.Of(household.Country)),
            });
        })
        .Produces<TodayAnswer>()
        .RefusesReads()
        .WithSummary("The household's date, week and month, and the payday that is to be filled next")
        .WithDescription("By the household's time zone and its first day of the week. Where an address that is read "
            + "has a month or a week in it, the word `current` stands for these.")
        .WithExample(null, """
            {"date": "2026-11-15", "week": "2026-W46", "weekFirstDay": "2026-11-09", "weekLastDay": "2026-11-15", "month": "2026-11", "timeZone": "Europe/Dublin",
             "bookLine": 61, "nextPayday": "2026-12-01"}
            """);
}
