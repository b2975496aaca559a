using System.Collections.Immutable;

namespace CashEvents.Domain.Plans;

/// <summary>The amounts of a saving plan, in the order in which they are put aside.</summary>
/// <param name="First">The first amount; zero where the amounts are listed.</param>
/// <param name="Growth">How much each is more than the one before it; zero for a fixed amount.</param>
/// <param name="Count">How many there are, above zero.</param>
/// <param name="Listed">The amounts one by one; empty where they follow from the first.</param>
/// <param name="Seed">A number that shuffles them, the same way each time; null for the order as it is.</param>
public sealed record SavingSteps(Money First, Money Growth, int Count, ImmutableArray<Money> Listed, long? Seed)
{
    /// <summary>The most steps that a plan may have.</summary>
    public const int Most = 400;

    /// <summary>Whether the same was written.</summary>
    internal bool AreThoseOf(SavingSteps others) =>
        this with { Listed = [] } == others with { Listed = [] }
            && (Listed.IsDefaultOrEmpty ? others.Listed.IsDefaultOrEmpty : Listed.SequenceEqual(others.Listed));

    /// <summary>All the amounts, in order.</summary>
    /// <exception cref="OverflowException">One is more than 64 bits of minor units.</exception>
    public IReadOnlyList<Money> Amounts()
    {
        Money[] amounts = Listed.IsDefaultOrEmpty
            ? [.. Enumerable.Range(0, Count).Select(n => new Money(checked(First.Minor + (n * Growth.Minor))))]
            : [.. Listed];
        if (Seed is { } seed)
        {
            new SplitMix64(seed).Shuffle(amounts);
        }

        return amounts;
    }
}
