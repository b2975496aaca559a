namespace CashEvents.Sheets.Printing;

/// <summary>Planned against spent.</summary>
/// <param name="Label">Of what, such as a week.</param>
/// <param name="When">Its days, in a second line; empty where there is none.</param>
/// <param name="Planned">What was planned; null when nothing was.</param>
/// <param name="Spent">What was spent, less what came back.</param>
public sealed record BarPair(string Label, string When, decimal? Planned, decimal Spent);
