namespace CashEvents.Domain.Books;

/// <summary>Where a compartment's money lies.</summary>
public enum Holding
{
    /// <summary>As notes and coins in the wallet.</summary>
    Cash,

    /// <summary>Left in the bank for this purpose.</summary>
    Bank,
}

/// <summary>One holding of one compartment.</summary>
/// <param name="Compartment">The compartment's id.</param>
/// <param name="Holding">Cash or bank.</param>
public readonly record struct Part(string Compartment, Holding Holding)
{
    /// <summary>For a sentence: <c>cash of 'ferry-fares'</c>.</summary>
    public override string ToString() => $"{(Holding == Holding.Cash ? "cash" : "bank part")} of '{Compartment}'";
}
