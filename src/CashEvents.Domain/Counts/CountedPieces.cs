using System.Collections.Immutable;

namespace CashEvents.Domain.Counts;

/// <summary>The notes or coins of a count that a transfer sets aside.</summary>
/// <param name="Count">The line of the count.</param>
/// <param name="Value">Their face value.</param>
public sealed record CountedPieces(long Count, Money Value) : IConsequence
{
    /// <inheritdoc />
    public Book Done(Book book, IMovement movement) => With(book, movement, values => values.Add(Value));

    /// <inheritdoc />
    public Book Undone(Book book, IMovement reversal) => With(book, reversal, values => values.Remove(Value));

    // They were taken from the place that was counted, which a transfer names first.
    private Book With(Book book, IMovement movement,
        Func<ImmutableSortedSet<Money>, ImmutableSortedSet<Money>> change) =>
        book.WithCount(movement.Postings.First().Place, Count,
            count => count with { SetAside = change(count.SetAside) });
}
