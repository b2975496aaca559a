namespace CashEvents.Domain.Books;

/// <summary>The analysis columns of the cash book: every change of a balance stands in exactly one of them.</summary>
public enum Column
{
    /// <summary>Came in from outside the book.</summary>
    Filled,

    /// <summary>Left to sellers.</summary>
    Spent,

    /// <summary>Came back from sellers.</summary>
    Refunded,

    /// <summary>Transferred in from another compartment.</summary>
    MovedIn,

    /// <summary>Transferred out to another compartment.</summary>
    MovedOut,

    /// <summary>Swept in from another compartment.</summary>
    SweptIn,

    /// <summary>Swept out to another compartment.</summary>
    SweptOut,

    /// <summary>Came from the other holding of the same compartment.</summary>
    HoldingIn,

    /// <summary>Went to the other holding of the same compartment.</summary>
    HoldingOut,

    /// <summary>Settled over.</summary>
    Over,

    /// <summary>Settled short.</summary>
    Short,

    /// <summary>Corrections of lines that belong to a closed month.</summary>
    Corrected,
}

/// <summary>A change of a balance and its column.</summary>
/// <param name="Place">Compartment and holding.</param>
/// <param name="Column">The column it stands in.</param>
/// <param name="Change">In is positive, out negative, whatever the column.</param>
public readonly record struct ColumnPosting(Part Place, Column Column, Money Change);

/// <summary>Sorts movements into the analysis columns of the cash book.</summary>
public static class Analysis
{
    /// <summary>
    /// A movement's changes by column. A reversal stands in the column of what it undoes, so that the two make nothing
    /// there.
    /// </summary>
    public static IEnumerable<ColumnPosting> Of(IMovement movement)
    {
        ArgumentNullException.ThrowIfNull(movement);
        var postings = movement.Postings as IReadOnlyList<Posting> ?? [.. movement.Postings];
        var withinOne = postings.Count > 1 && postings.All(p => p.Place.Compartment == postings[0].Place.Compartment);
        return postings.Select(p => new ColumnPosting(p.Place, movement.Corrects?.ClosedDay is null
            ? Of(movement.Kind, came: (movement.Undoes ? -p.Amount : p.Amount) > Money.Zero, withinOne)
            : Column.Corrected, p.Amount));
    }

    private static Column Of(MovementKind kind, bool came, bool withinOne) => kind switch
    {
        MovementKind.Fill => Column.Filled,
        MovementKind.Spend => Column.Spent,
        MovementKind.Refund => Column.Refunded,
        MovementKind.Transfer or MovementKind.Sweep when withinOne => came ? Column.HoldingIn : Column.HoldingOut,
        MovementKind.Transfer => came ? Column.MovedIn : Column.MovedOut,
        MovementKind.Sweep => came ? Column.SweptIn : Column.SweptOut,
        MovementKind.Settlement => came ? Column.Over : Column.Short,
        _ => throw new ArgumentException($"A {kind} moves no money.", nameof(kind)),
    };
}
