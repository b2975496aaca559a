namespace CashEvents.Domain.Calendars;

/// <summary>
/// What the domain asks of a household's calendar; it works out neither recurrence rules nor holidays itself.
/// </summary>
public interface ICalendar
{
    /// <summary>The days of a recurrence from one day to another, both counted in, in their order.</summary>
    IEnumerable<DateOnly> DaysOf(Recurrence recurrence, DateOnly first, DateOnly last);

    /// <summary>The bank holiday that a day is; null when it is none.</summary>
    string? BankHolidayOn(DateOnly day);
}
