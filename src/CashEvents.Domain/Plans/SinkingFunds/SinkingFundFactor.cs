namespace CashEvents.Domain.Plans;

/// <summary>The sinking fund factor of compound interest tables: (A/F, i, n) = i / ((1+i)^n − 1).</summary>
public static class SinkingFundFactor
{
    /// <summary>
    /// What has to be paid in at the end of each of n periods for each unit that is to be there with the last payment.
    /// </summary>
    /// <param name="interest">Per period, as a part of one, zero or more.</param>
    /// <param name="periods">One or more.</param>
    /// <returns>To about 20 digits; 1/n without interest.</returns>
    public static decimal Of(decimal interest, int periods)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(periods, 1);
        ArgumentOutOfRangeException.ThrowIfNegative(interest);

        return Of(Enumerable.Repeat(interest, periods));
    }

    /// <summary>
    /// What has to be paid in on each of some days for each unit that is to be there on the last: the same sum where
    /// the days lie unevenly apart.
    /// </summary>
    /// <param name="yearly">The nominal rate of a year, as a part of one, counted by days.</param>
    /// <param name="days">In order, at least one.</param>
    public static decimal Of(decimal yearly, IReadOnlyList<DateOnly> days)
    {
        ArgumentNullException.ThrowIfNull(days);
        ArgumentOutOfRangeException.ThrowIfLessThan(days.Count, 1);
        return Of(days.Select((day, i) =>
            i == 0 ? 0m : DailyInterest.Part(yearly, day.DayNumber - days[i - 1].DayNumber)));
    }

    private static decimal Of(IEnumerable<decimal> interest)
    {
        // The value of one unit a period, added up period by period, keeps the digits that (1+i)^n − 1 loses where i is
        // small.
        var worth = 0m;
        foreach (var perPeriod in interest)
        {
            worth = (worth * (1m + perPeriod)) + 1m;
        }

        return 1m / worth;
    }
}
