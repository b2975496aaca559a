using PublicHoliday;

namespace CashEvents.Api.Paydays;

/// <summary>
/// What Irish banks keep beside the public holidays (Organisation of Working Time Act 1997, second schedule): Good
/// Friday, a third day at Christmas, and a day in lieu
/// where one falls on a weekend. Sources: the lists of Banking and Payments Federation Ireland for 2017 to 2020, as two
/// data sets give them
/// (date-holidays, <c>IE.yaml</c>; Open Source Risk Engine, <c>ireland.cpp</c>).
/// </summary>
internal static class IrishBanks
{
    /// <summary>The days of a year besides the public holidays, with their names.</summary>
    public static IEnumerable<KeyValuePair<DateOnly, string>> Besides(int year)
    {
        yield return new(DateOnly.FromDateTime(IrelandPublicHoliday.EasterMonday(year)).AddDays(-3), "Good Friday");
        foreach (var (day, name) in new[] { (new DateOnly(year, 1, 1), "New Year"),
            (new DateOnly(year, 3, 17), "St Patrick's Day") })
        {
            if (IsWeekend(day))
            {
                yield return new(WeekdayAfter(day), $"{name}, in lieu");
            }
        }

        var third = new DateOnly(year, 12, 27);
        yield return new(third, "Christmas bank holiday");
        var last = third;
        foreach (var (day, name) in new[] { (third.AddDays(-2), "Christmas"), (third.AddDays(-1), "St Stephen's Day"),
            (third, "Christmas bank holiday") })
        {
            if (IsWeekend(day))
            {
                last = WeekdayAfter(last);
                yield return new(last, $"{name}, in lieu");
            }
        }
    }

    private static bool IsWeekend(DateOnly day) => day.DayOfWeek is DayOfWeek.Saturday or DayOfWeek.Sunday;

    private static DateOnly WeekdayAfter(DateOnly day)
    {
        do
        {
            day = day.AddDays(1);
        }
        while (IsWeekend(day));
        return day;
    }
}
