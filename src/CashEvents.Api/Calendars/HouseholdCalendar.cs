using CashEvents.Domain.Calendars;

namespace CashEvents.Api.Calendars;

/// <summary>A household's calendar for one reading: recurrences by RFC 5545, bank holidays by its country.</summary>
/// <param name="country">ISO 3166-1 alpha-2 code; null when only Saturdays and Sundays are no bank days.</param>
internal sealed class HouseholdCalendar(string? country) : ICalendar
{
    private readonly Dictionary<int, IReadOnlyDictionary<DateOnly, string>> _holidays = [];

    /// <summary>The calendar of a household, by its country.</summary>
    public static ICalendar Of(string? country) => new HouseholdCalendar(country);

    public IEnumerable<DateOnly> DaysOf(Recurrence recurrence, DateOnly first, DateOnly last) => RecurrenceRules.DaysOf(recurrence, first, last);

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
}
