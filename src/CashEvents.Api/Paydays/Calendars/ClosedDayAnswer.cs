namespace CashEvents.Api.Paydays;

/// <summary>A day on which banks are closed.</summary>
/// <param name="Day">The day.</param>
/// <param name="Because">Saturday, Sunday, or the name of the bank holiday.</param>
public sealed record ClosedDayAnswer(DateOnly Day, string Because)
{
    /// <summary>Why money moves on another day than the nominal one; null when it does not.</summary>
    internal static IReadOnlyList<ClosedDayAnswer>? Of(BankDate date) =>
        date.Closed.Count == 0 ? null : [.. date.Closed.Select(c => new ClosedDayAnswer(c.Day, c.Because))];
}
