using System.Collections.Immutable;
using CashEvents.Domain.Books;

namespace CashEvents.Domain.Corrections;

/// <summary>Line: an earlier line is undone. Both stay in the book; reports count neither.</summary>
/// <param name="Corrects">The line that is undone.</param>
/// <param name="Kind">That line's kind of movement.</param>
/// <param name="Changes">That line's changes, each the other way.</param>
/// <param name="OccurredOn">That line's day, or a day of the open month when its own is closed.</param>
/// <param name="Description">The reason.</param>
public sealed record Reversed(Correction Corrects, MovementKind Kind, ImmutableArray<Posting> Changes, DateOnly OccurredOn, string Description) : IMovement
{
    /// <summary>The count whose settlement is undone; it is open again then.</summary>
    public long? Count { get; init; }

    /// <inheritdoc />
    public IEnumerable<Posting> Postings => Changes;

    Correction? IMovement.Corrects => Corrects;
}
