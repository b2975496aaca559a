namespace CashEvents.Domain.Paydays;

/// <summary>
/// What a compartment gets on a payday, and why not what its rule wants: wanted − over the ceiling + rounding − cut
/// + changed = amount.
/// </summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Kind">Its rule.</param>
/// <param name="Rank">Its rank.</param>
/// <param name="Wanted">What its rule comes to, zero or more.</param>
/// <param name="OverCeiling">What of it would be above its ceiling.</param>
/// <param name="Cut">What it lacks since there was not enough; rounding up that was not granted is no lack.</param>
/// <param name="Cash">What it gets in cash.</param>
/// <param name="Bank">What it gets in the bank.</param>
public sealed record CompartmentFill(string Compartment, FillRuleKind Kind, int Rank, Money Wanted, Money OverCeiling,
    Money Cut, Money Cash, Money Bank)
{
    /// <summary>What it gets.</summary>
    public Money Amount => Cash + Bank;

    /// <summary>
    /// What whoever filled gave it more than was worked out, or, below zero, less; null where nobody changed it.
    /// </summary>
    public Money? Changed { get; init; }

    /// <summary>What rounding to its step gives it more, or takes.</summary>
    public Money Rounding => Amount - (Wanted - OverCeiling - Cut) - (Changed ?? Money.Zero);

    /// <summary>The same with parts that somebody chose.</summary>
    internal CompartmentFill With(Money cash, Money bank) => cash == Cash && bank == Bank ? this
        : this with { Cash = cash, Bank = bank, Changed = cash + bank - Amount };
}
