namespace CashEvents.Domain.SinkingFunds;

/// <summary>The sinking fund factor of compound interest tables: (A/F, i, n) = i / ((1+i)^n − 1).</summary>
public static class SinkingFundFactor
{
    /// <summary>What has to be paid in at the end of each of n periods for each unit that is to be there with the last payment.</summary>
    /// <param name="interest">Per period, as a part of one, zero or more.</param>
    /// <param name="periods">One or more.</param>
    /// <returns>To about 20 digits; 1/n without interest.</returns>
    public static decimal Of(decimal interest, int periods)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(periods, 1);
        ArgumentOutOfRangeException.ThrowIfNegative(interest);

        // The value of one unit a period, added up period by period, keeps the digits that (1+i)^n − 1 loses where i is small.
        var worth = 0m;
        for (var period = 0; period < periods; period++)
        {
            worth = (worth * (1m + interest)) + 1m;
        }

        return 1m / worth;
    }
}
