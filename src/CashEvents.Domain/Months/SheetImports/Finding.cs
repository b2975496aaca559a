using System.Collections.Immutable;

namespace CashEvents.Domain.Months;

/// <summary>What does not fit in a row of a sheet.</summary>
public enum FindingKind
{
    /// <summary>The balances go on from one that does not follow from this amount.</summary>
    Amount,

    /// <summary>This balance alone does not follow: the next ones go on without it.</summary>
    Balance,

    /// <summary>The sheet begins with another balance than the book has there.</summary>
    Opening,

    /// <summary>It stands below a row of a later day.</summary>
    Date,

    /// <summary>The book has a line of the same day and amount that may be this row.</summary>
    PerhapsThere,
}

/// <summary>What the keeper says of a row in which something does not fit.</summary>
public enum Reading
{
    /// <summary>Its amount is right as it stands.</summary>
    Amount,

    /// <summary>Its balance is right: the amount is what leads to it.</summary>
    Balance,

    /// <summary>Its date is right as it stands.</summary>
    Date,

    /// <summary>It is the line that the book has: nothing is written for it.</summary>
    There,

    /// <summary>It is another one than the book has: it is written.</summary>
    New,
}

/// <summary>Something in a row that does not fit.</summary>
/// <param name="Row">The row's number on the sheet.</param>
/// <param name="Kind">What does not fit.</param>
/// <param name="Says">What stands there, what would follow, and the likely slip: in words.</param>
/// <param name="Readings">What may be said of it.</param>
public sealed record Finding(int Row, FindingKind Kind, string Says, ImmutableArray<Reading> Readings)
{
    /// <summary>What stands there: an amount, or a balance.</summary>
    public Money? Stands { get; init; }

    /// <summary>What would follow in its place.</summary>
    public Money? Follows { get; init; }

    /// <summary>
    /// The amount of the row by which its balance would follow; null where the balance can't be right.
    /// </summary>
    public Money? Leads { get; init; }

    /// <summary>The slip that makes what stands there of what follows.</summary>
    public SlipKind? Slip { get; init; }

    /// <summary>The line of the book that it may be.</summary>
    public long? Line { get; init; }

    /// <summary>The reading that the slip points to.</summary>
    public Reading? Likely { get; init; }

    /// <summary>The reading that was said.</summary>
    public Reading? Said { get; init; }

    /// <summary>Whether nothing has to be said of it any more: it was, or its row is in the book.</summary>
    public bool IsSettled { get; init; }
}

/// <summary>What the keeper says of rows in which something does not fit.</summary>
/// <param name="Everywhere">Said of every row.</param>
/// <param name="ByRow">Said of one row.</param>
public sealed record Accepted(ImmutableHashSet<Reading> Everywhere, ImmutableHashSet<(int Row, Reading Reading)> ByRow)
{
    /// <summary>Nothing is said.</summary>
    public static Accepted Nothing { get; } = new([], []);

    /// <summary>What is said of a finding: of its row first, then of every row.</summary>
    public Reading? Of(Finding finding)
    {
        ArgumentNullException.ThrowIfNull(finding);
        return finding.Readings.Where(r => ByRow.Contains((finding.Row, r)))
            .Concat(finding.Readings.Where(Everywhere.Contains)).Select(r => (Reading?)r).FirstOrDefault();
    }
}
