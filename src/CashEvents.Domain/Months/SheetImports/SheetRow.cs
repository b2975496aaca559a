namespace CashEvents.Domain.Months;

/// <summary>
/// A row of a tracker sheet as it is written on paper or in a file: words, not yet dates and amounts.
/// </summary>
/// <param name="Number">Its number on the sheet: the heading is row 1, and blank rows count.</param>
/// <param name="Date">The day.</param>
/// <param name="Description">What it was for.</param>
/// <param name="Amount">In is positive, out negative; empty where the row says only a balance.</param>
/// <param name="Balance">After the row; empty where it was skipped.</param>
/// <param name="Holding">Cash or bank, where the sheet has a column for it.</param>
/// <param name="Kind">The kind of movement, where the sheet has a column for it.</param>
public sealed record WrittenRow(int Number, string Date, string Description, string Amount, string Balance,
    string? Holding = null, string? Kind = null);

/// <summary>A row of a tracker sheet as it was read.</summary>
/// <param name="Number">Its number on the sheet: the heading is row 1, and blank rows count.</param>
/// <param name="Date">The day.</param>
/// <param name="Description">What it was for.</param>
/// <param name="Amount">In is positive, out negative; null where the row says only a balance.</param>
/// <param name="Balance">After the row; null where it was skipped.</param>
/// <param name="Holding">Cash or bank.</param>
/// <param name="IsRefund">Whether what came in came back from a seller.</param>
public sealed record SheetRow(int Number, DateOnly Date, string Description, Money? Amount, Money? Balance,
    Holding Holding, bool IsRefund = false);

/// <summary>A line of the book as it stands on a compartment's tracker.</summary>
/// <param name="Line">Its number.</param>
/// <param name="Date">The day.</param>
/// <param name="Description">What is written beside it.</param>
/// <param name="Amount">In is positive, out negative.</param>
/// <param name="Holding">Cash or bank.</param>
public sealed record TrackedLine(long Line, DateOnly Date, string Description, Money Amount, Holding Holding)
{
    /// <summary>The earlier line in whose stead it stands.</summary>
    public long? Amends { get; init; }

    /// <summary>The reversal that undoes it.</summary>
    public long? ReversedBy { get; init; }

    /// <summary>Whether it undoes an earlier line.</summary>
    public bool Reverses { get; init; }
}

/// <summary>What the book has on the days of a sheet.</summary>
/// <param name="Line">The line at which it stood.</param>
/// <param name="Opening">The balance before the first of these days.</param>
/// <param name="Lines">In date order; within a day as written.</param>
public sealed record Tracked(long Line, Money Opening, IReadOnlyList<TrackedLine> Lines);
