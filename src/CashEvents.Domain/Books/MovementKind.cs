namespace CashEvents.Domain.Books;

/// <summary>The kinds of movement that a household writes day by day.</summary>
public enum MovementKind
{
    /// <summary>Money enters a compartment from outside the book.</summary>
    Fill,

    /// <summary>Money leaves to a seller.</summary>
    Spend,

    /// <summary>Money comes back from a seller.</summary>
    Refund,

    /// <summary>Money moves between two parts of the book.</summary>
    Transfer,

    /// <summary>Leftovers of several compartments move into one.</summary>
    Sweep,

    /// <summary>Notes and coins are counted, or the bank's statement is read; no money moves.</summary>
    Count,

    /// <summary>The over or short of a count or a bank statement is posted.</summary>
    Settlement,

    /// <summary>Two compartments exchange notes of equal worth; no money moves.</summary>
    Exchange,

    /// <summary>An earlier line is undone.</summary>
    Reversal,

    /// <summary>An earlier line is undone and the right movement written in its stead.</summary>
    Amendment,

    /// <summary>Cash is taken out of its place, or brought back to it; no money moves.</summary>
    Handover,
}
