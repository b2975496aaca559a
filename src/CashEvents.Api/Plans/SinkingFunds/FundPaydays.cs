namespace CashEvents.Api.Plans;

/// <summary>
/// The paydays that contributions are counted by: the household's own; while none is known to come, the first of each
/// month.
/// </summary>
/// <param name="Next">The payday that is to be filled next.</param>
/// <param name="Between">The paydays from one day to another, both counted in.</param>
/// <param name="Note">Said when none is known to come.</param>
internal sealed record FundPaydays(DateOnly Next, Func<DateOnly, DateOnly, IReadOnlyList<DateOnly>> Between,
    string? Note)
{
    /// <summary>Those of a book, with what became of its paydays.</summary>
    public static FundPaydays Of(Book book, DateOnly today)
    {
        var calendar = HouseholdCalendar.Of(book.Household!.Country);
        return Payday.Next(today, book, calendar) is { } next
            ? new FundPaydays(next, (first, last) => Payday.DaysBetween(first, last, book, calendar), null)
            : new FundPaydays(
                new DateOnly(today.Year, today.Month, 1).AddMonths(1), FirstsOfMonths,
                "No payday is known to come, so contributions are counted by the first of each month: set who pays "
                    + "with PUT /api/income-sources/{id}.");
    }

    private static List<DateOnly> FirstsOfMonths(DateOnly from, DateOnly to) =>
        [.. Enumerable.Range(0, (12 * (to.Year - from.Year)) + to.Month - from.Month + 1)
            .Select(new DateOnly(from.Year, from.Month, 1).AddMonths).Where(day => day >= from && day <= to)];
}
