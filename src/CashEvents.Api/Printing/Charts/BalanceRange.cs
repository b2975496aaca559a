namespace CashEvents.Api.Printing.Charts;

/// <summary>Between what a balance lies over some days.</summary>
/// <param name="From">The first of the days.</param>
/// <param name="Until">The last of them.</param>
/// <param name="Low">The lowest balance.</param>
/// <param name="High">The highest.</param>
/// <param name="Short">Whether something is short in these days.</param>
public sealed record BalanceRange(DateOnly From, DateOnly Until, decimal Low, decimal High, bool Short);
