namespace CashEvents.Sheets.Printing;

/// <summary>A value of an individuals control chart.</summary>
/// <param name="Line">The line of the book that it comes from.</param>
/// <param name="Day">Its day.</param>
/// <param name="Value">The value.</param>
/// <param name="Outside">Whether it lies outside the limits.</param>
public sealed record IndividualValue(long Line, DateOnly Day, decimal Value, bool Outside);
