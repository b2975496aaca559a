using CashEvents.Domain.Amounts;
using CashEvents.Domain.Months;

namespace CashEvents.Domain.Weeks;

/// <summary>A week, or the part of one that lies in a month.</summary>
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

    /// <summary>A month's weeks, the first and the last cut at its borders.</summary>
    /// <param name="month">The month.</param>
    /// <param name="startsOn">The day on which the household's weeks start.</param>
    /// <exception cref="Books.RefusalException">A month at the ends of the calendar, whose weeks are not told.</exception>
    public static IReadOnlyList<WeekSlice> Of(Month month, DayOfWeek startsOn) => !Week.IsTold(month.First)
        ? throw Week.NotTold("month")
        : [.. Whole(Week.Of(month.First, startsOn), Week.Of(month.Last, startsOn)).SelectMany(whole => CutAtMonths(whole.Week)).Where(slice => Month.Of(slice.First) == month)];

    /// <summary>The slices of the year of the first slice that lie before it: whole weeks, and what a month cuts off.</summary>
    /// <param name="slices">At least one.</param>
    public static IReadOnlyList<WeekSlice> EarlierInItsYear(IReadOnlyList<WeekSlice> slices)
    {
        ArgumentNullException.ThrowIfNull(slices);
        var (week, first, _) = slices[0];
        return [.. Whole(week.FirstOfItsYear, week.Previous), .. CutAtMonths(week).Where(slice => slice.Last < first)];
    }

    /// <summary>
    /// What of a weekly amount falls to this slice. A week that is cut shares it by days, to the minor unit by the largest remainder,
    /// so that its slices add up to the week whichever month is asked for.
    /// </summary>
    public Money Share(Money weekly)
    {
        var cut = CutAtMonths(Week);
        var first = First;
        return this == Whole(Week) ? weekly : LargestRemainder.Share(weekly, [.. cut.Select(slice => slice.Days)])[cut.FindIndex(slice => slice.First == first)];
    }

    private static List<WeekSlice> CutAtMonths(Week week)
    {
        var border = Month.Of(week.Last).First;
        return border <= week.First ? [Whole(week)] : [new WeekSlice(week, week.First, border.AddDays(-1)), new WeekSlice(week, border, week.Last)];
    }
}
