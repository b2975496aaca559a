namespace CashEvents.Api.Paydays;

/// <summary>A household's calendar for one reading: recurrences by RFC 5545, bank holidays by its country.</summary>
/// <param name="country">ISO 3166-1 alpha-2 code; null when only Saturdays and Sundays are no bank days.</param>
internal sealed class HouseholdCalendar(string? country) : ICalendar
{
    private readonly Dictionary<int, IReadOnlyDictionary<DateOnly, string>> _holidays = [];

    // By year, since looking years ahead asks for the same days again and again.
    private readonly Dictionary<(Recurrence Recurrence, int Year), IReadOnlyList<DateOnly>> _days = [];

    /// <summary>The calendar of a household, by its country.</summary>
    public static ICalendar Of(string? country) => new HouseholdCalendar(country);

    public IEnumerable<DateOnly> DaysOf(Recurrence recurrence, DateOnly first, DateOnly last) =>
        Enumerable.Range(first.Year, last.Year - first.Year + 1).SelectMany(year => InYear(recurrence, year))
            .Where(day => day >= first && day <= last);

    public string? BankHolidayOn(DateOnly day)
    {
        if (country is null)
        {
            return null;
        }

        if (!_holidays.TryGetValue(day.Year, out var year))
        {
            _holidays[day.Year] = year = BankHolidays.Of(country, day.Year);
        }

        return year.GetValueOrDefault(day);
    }

    private IReadOnlyList<DateOnly> InYear(Recurrence recurrence, int year)
    {
        if (!_days.TryGetValue((recurrence, year), out var days))
        {
            _days[(recurrence, year)] =
                days = RecurrenceRules.DaysOf(recurrence, new DateOnly(year, 1, 1), new DateOnly(year, 12, 31));
        }

        return days;
    }
}
