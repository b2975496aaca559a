using System.Collections.Immutable;

namespace CashEvents.Domain.Counts;

/// <summary>
/// The notes and coins of a compartment. They are known from a count by denomination on, through exchanges, until other
/// cash comes or goes: no line says in which notes it did.
/// </summary>
/// <param name="Count">The line of the count.</param>
/// <param name="CountedOn">Its day.</param>
/// <param name="Pieces">What is there, largest first.</param>
public sealed record KnownNotes(long Count, DateOnly CountedOn, ImmutableArray<Pieces> Pieces)
{
    /// <summary>What a count makes known; null if it was told as a total only.</summary>
    /// <param name="count">What was found.</param>
    /// <param name="line">Its line.</param>
    internal static KnownNotes? From(CountTaken count, long line) =>
        count.Pieces.IsDefaultOrEmpty && count.Counted != Money.Zero ? null
        : new KnownNotes(line, count.OccurredOn, count.Pieces.IsDefault ? [] : count.Pieces);

    /// <summary>The pieces of some that are not there, each with how many are missing.</summary>
    public IEnumerable<Pieces> Lacking(IEnumerable<Pieces> pieces) =>
        pieces.Select(p => p with { Count = p.Count - Held(p.Value) }).Where(p => p.Count > 0);

    /// <summary>What is there after some pieces went and others came.</summary>
    internal KnownNotes After(ImmutableArray<Pieces> gone, ImmutableArray<Pieces> come) => this with
    {
        Pieces =
        [
            .. Pieces.Concat(come).Concat(gone.Select(p => p with { Count = -p.Count }))
                .GroupBy(p => p.Value).Select(g => new Pieces(g.Key, g.Sum(p => p.Count))).Where(p => p.Count > 0)
                .OrderByDescending(p => p.Value),
        ],
    };

    private int Held(Money value) => Pieces.Where(p => p.Value == value).Sum(p => p.Count);
}
