namespace CashEvents.Domain.Plans;

/// <summary>A week, or the part of one that lies in a month or between two paydays.</summary>
/// <param name="Week">The week.</param>
/// <param name="First">Its first day in the slice.</param>
/// <param name="Last">Its last day in the slice.</param>
public readonly record struct WeekSlice(Week Week, DateOnly First, DateOnly Last)
{
    /// <summary>Days in it, 1 to 7.</summary>
    public int Days => Last.DayNumber - First.DayNumber + 1;

    /// <summary>A week uncut.</summary>
    public static WeekSlice Whole(Week week) => new(week, week.First, week.Last);

    /// <summary>Weeks uncut, from one to another.</summary>
    public static IReadOnlyList<WeekSlice> Whole(Week first, Week last)
    {
        var slices = new List<WeekSlice>();
        for (var week = first; week <= last; week = week.Next)
        {
            slices.Add(Whole(week));
        }

        return slices;
    }

    /// <summary>The weeks of a stretch of days, the first and the last cut at its ends.</summary>
    /// <param name="first">Its first day, of the years told by <see cref="Week.IsTold"/>.</param>
    /// <param name="last">Its last day, likewise; not before the first.</param>
    /// <param name="startsOn">The day on which the household's weeks start.</param>
    public static IReadOnlyList<WeekSlice> Of(DateOnly first, DateOnly last, DayOfWeek startsOn) =>
    [
        .. Whole(Week.Of(first, startsOn), Week.Of(last, startsOn))
            .Select(whole => new WeekSlice(whole.Week, whole.First < first ? first : whole.First,
                whole.Last > last ? last : whole.Last)),
    ];

    /// <summary>A month's weeks, the first and the last cut at its borders.</summary>
    /// <param name="month">The month.</param>
    /// <param name="startsOn">The day on which the household's weeks start.</param>
    /// <exception cref="RefusalException">A month at the ends of the calendar, whose weeks are not told.</exception>
    public static IReadOnlyList<WeekSlice> Of(Month month, DayOfWeek startsOn) =>
        Week.IsTold(month.First) ? Of(month.First, month.Last, startsOn) : throw Week.NotTold("month");

    /// <summary>
    /// The slices of the year of the first slice that lie before it: whole weeks, and what is cut off from its own.
    /// </summary>
    /// <param name="slices">At least one.</param>
    public static IReadOnlyList<WeekSlice> EarlierInItsYear(IReadOnlyList<WeekSlice> slices)
    {
        ArgumentNullException.ThrowIfNull(slices);
        var (week, first, _) = slices[0];
        var earlier = Whole(week.FirstOfItsYear, week.Previous);
        return first == week.First ? earlier : [.. earlier, new WeekSlice(week, week.First, first.AddDays(-1))];
    }

    /// <summary>
    /// What of a weekly amount falls to this slice, by days: what falls to the days up to its last, less what falls to
    /// those before its first,
    /// each to the nearest minor unit. However a week is cut, its slices add up to it.
    /// </summary>
    /// <param name="weekly">Zero or more.</param>
    public Money Share(Money weekly) => UpTo(Last, weekly) - UpTo(First.AddDays(-1), weekly);

    // A week has an odd number of days, so that no share lies half-way between two minor units.
    private Money UpTo(DateOnly day, Money weekly) =>
        new(((2 * weekly.Minor * (day.DayNumber - Week.First.DayNumber + 1)) + Week.Days) / (2 * Week.Days));
}
