namespace CashEvents.Domain.Books;

/// <summary>Which earlier line a line corrects.</summary>
/// <param name="Line">The earlier line.</param>
/// <param name="ClosedDay">
/// The day that the correction belongs to, when the month of that day was closed: the line is then posted in the open
/// month,
/// and reports show it there as a correction and not as something that happened there. Null when it stands on its own
/// day.
/// </param>
public readonly record struct Correction(long Line, DateOnly? ClosedDay = null)
{
    /// <summary>
    /// Why, when no reversal beside it says so: a line that stands in the stead of what a reversal has undone.
    /// </summary>
    public string? Reason { get; init; }
}
