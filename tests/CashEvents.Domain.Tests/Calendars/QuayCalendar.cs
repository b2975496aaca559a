namespace CashEvents.Domain.Tests.Calendars;

/// <summary>
/// A calendar that can be read off a page: a rule is a number of days or, as <c>month</c>, the same day of each month;
/// holidays are listed.
/// </summary>
internal sealed class QuayCalendar(params (DateOnly Day, string Name)[] holidays) : ICalendar
{
    public IEnumerable<DateOnly> DaysOf(Recurrence recurrence, DateOnly first, DateOnly last)
    {
        for (var (day, n) = (recurrence.First, 1); day <= last; day = After(recurrence, n++))
        {
            if (day >= first)
            {
                yield return day;
            }
        }
    }

    public string? BankHolidayOn(DateOnly day) =>
        holidays.Where(h => h.Day == day).Select(h => h.Name).FirstOrDefault();

    private static DateOnly After(Recurrence recurrence, int times) =>
        recurrence.Rule == "once" ? DateOnly.MaxValue : recurrence.Rule == "month"
            ? recurrence.First.AddMonths(times)
            : recurrence.First.AddDays(times * int.Parse(recurrence.Rule));
}
