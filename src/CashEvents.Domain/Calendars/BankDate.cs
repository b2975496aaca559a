namespace CashEvents.Domain.Calendars;

/// <summary>When money moves whose day is no bank day.</summary>
public enum NotBankDay
{
    /// <summary>On the last bank day before it.</summary>
    Previous,

    /// <summary>On the first bank day after it.</summary>
    Next,
}

/// <summary>A day on which banks are closed.</summary>
/// <param name="Day">The day.</param>
/// <param name="Because">Saturday, Sunday, or the name of the bank holiday.</param>
public sealed record ClosedDay(DateOnly Day, string Because);

/// <summary>A day on which money is due, and the bank day on which it moves.</summary>
/// <param name="Nominal">The day that the recurrence names.</param>
/// <param name="Day">The bank day.</param>
/// <param name="Closed">The days between on which banks are closed, from the nominal one on; none if that is a bank
/// day.</param>
public sealed record BankDate(DateOnly Nominal, DateOnly Day, IReadOnlyList<ClosedDay> Closed)
{
    // No country's banks stay closed for so long; who looks for bank days looks so far around them for nominal ones.
    private const int LongestClosure = 31;

    /// <summary>The first day for which bank days are told: before, holidays are not known well enough.</summary>
    public static DateOnly FirstTold { get; } = new(2010, 1, 1);

    /// <summary>The last day for which bank days are told.</summary>
    public static DateOnly LastTold { get; } = new(2070, 12, 31);

    /// <summary>The bank day for a nominal one.</summary>
    public static BankDate Of(DateOnly nominal, NotBankDay notBankDay, ICalendar calendar)
    {
        ArgumentNullException.ThrowIfNull(calendar);
        var closed = new List<ClosedDay>();
        var day = nominal;
        while (WhyClosed(day, calendar) is { } because)
        {
            closed.Add(new ClosedDay(day, because));
            day = day.AddDays(notBankDay == NotBankDay.Previous ? -1 : 1);
        }

        return new BankDate(nominal, day, closed);
    }

    /// <summary>The bank days of a recurrence from one day to another, both counted in, in their order.</summary>
    public static IEnumerable<BankDate> Between(DateOnly first, DateOnly last, Recurrence recurrence,
        NotBankDay notBankDay, ICalendar calendar)
    {
        ArgumentNullException.ThrowIfNull(calendar);
        return calendar.DaysOf(recurrence, first.AddDays(-LongestClosure), last.AddDays(LongestClosure))
            .Select(nominal => Of(nominal, notBankDay, calendar))
            .Where(due => due.Day >= first && due.Day <= last);
    }

    /// <summary>Refuses a day for which bank days are not told.</summary>
    /// <exception cref="RefusalException">Before <see cref="FirstTold"/> or after <see cref="LastTold"/>.</exception>
    public static void MustBeTold(DateOnly day, string field)
    {
        if (day < FirstTold || day > LastTold)
        {
            throw Refusal.Unfit(field, "bank-days-unknown",
                $"Bank days are told from {FirstTold:O} to {LastTold:O}, and {day:O} is not among them.");
        }
    }

    // Weekends first: that a holiday falls on one moves nothing.
    private static string? WhyClosed(DateOnly day, ICalendar calendar) =>
        day.DayOfWeek is DayOfWeek.Saturday or DayOfWeek.Sunday
            ? day.DayOfWeek.ToString()
            : calendar.BankHolidayOn(day);
}
