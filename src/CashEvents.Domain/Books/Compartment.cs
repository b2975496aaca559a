namespace CashEvents.Domain.Books;

/// <summary>What a compartment's money is for.</summary>
public enum Purpose
{
    /// <summary>Spent down week by week.</summary>
    Spending,

    /// <summary>Put aside with no bill in view.</summary>
    Saving,

    /// <summary>Put aside for bills that come irregularly.</summary>
    SinkingFund,
}

/// <summary>A labelled place for one purpose's money.</summary>
/// <param name="Id">Slug of its first label; stays when it is relabelled.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Wallet">Id of the wallet it is in.</param>
/// <param name="Purpose">What its money is for.</param>
/// <param name="Line">The line that opened it, which is also its place in lists.</param>
public sealed record Compartment(string Id, string Label, string Wallet, Purpose Purpose, long Line)
{
    /// <summary>Out of use; it is empty then.</summary>
    public bool Closed { get; init; }

    /// <summary>Balance of its notes and coins.</summary>
    public Money Cash { get; init; }

    /// <summary>Balance of its part in the bank.</summary>
    public Money Bank { get; init; }

    /// <summary>Balance of one holding.</summary>
    public Money Balance(Holding holding) => holding == Holding.Cash ? Cash : Bank;

    /// <summary>The compartment after a change in one holding.</summary>
    public Compartment Post(Holding holding, Money change) =>
        holding == Holding.Cash ? this with { Cash = Cash + change } : this with { Bank = Bank + change };
}
