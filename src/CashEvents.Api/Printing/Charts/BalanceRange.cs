namespace CashEvents.Api.Printing;

/// <summary>Between what a balance lies over some days.</summary>
/// <param name="From">The first of the days.</param>
/// <param name="Until">The last of them.</param>
/// <param name="Opening">The balance at their beginning.</param>
/// <param name="Closing">The balance at their end; in between it only rises or only falls.</param>
/// <param name="Short">Whether something is short in these days.</param>
public sealed record BalanceRange(DateOnly From, DateOnly Until, decimal Opening, decimal Closing, bool Short)
{
    /// <summary>The lowest balance.</summary>
    public decimal Low => Math.Min(Opening, Closing);

    /// <summary>The highest.</summary>
    public decimal High => Math.Max(Opening, Closing);
}
