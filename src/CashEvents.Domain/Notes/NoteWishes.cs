using System.Collections.Immutable;
using CashEvents.Domain.Amounts;

namespace CashEvents.Domain.Notes;

/// <summary>In which notes and coins a compartment would have its money. A value is not both avoided and wished for.</summary>
/// <param name="Prefer">As much as can be in these, largest first; empty for no preference.</param>
/// <param name="Avoid">None of these where it can be helped, largest first.</param>
/// <param name="AtLeast">At least so many of these, largest first.</param>
public sealed record NoteWishes(ImmutableArray<Money> Prefer, ImmutableArray<Money> Avoid, ImmutableArray<Pieces> AtLeast)
{
    /// <summary>Any notes will do.</summary>
    public static NoteWishes None { get; } = new([], [], []);

    /// <summary>The wishes that a compartment's contents do not meet.</summary>
    /// <param name="contents">The pieces in it.</param>
    public IEnumerable<UnmetWish> UnmetBy(ImmutableArray<Pieces> contents)
    {
        foreach (var wished in AtLeast)
        {
            var packed = contents.Where(p => p.Value == wished.Value).Sum(p => p.Count);
            if (packed < wished.Count)
            {
                yield return new UnmetWish(NoteWish.AtLeast, wished.Value, wished.Count - packed);
            }
        }

        foreach (var pieces in contents)
        {
            if (Avoid.Contains(pieces.Value))
            {
                yield return new UnmetWish(NoteWish.Avoid, pieces.Value, pieces.Count);
            }
            // What is smaller than every preferred value may be what only small pieces can make up.
            else if (Prefer.Length > 0 && !Prefer.Contains(pieces.Value) && pieces.Value > Prefer.Min())
            {
                yield return new UnmetWish(NoteWish.Prefer, pieces.Value, pieces.Count);
            }
        }
    }
}

/// <summary>The sorts of wishes.</summary>
public enum NoteWish
{
    /// <summary>Rather these than others.</summary>
    Prefer,

    /// <summary>Rather none of these.</summary>
    Avoid,

    /// <summary>At least so many of one.</summary>
    AtLeast,
}

/// <summary>A wish that could not be met.</summary>
/// <param name="Wish">Which sort.</param>
/// <param name="Value">The value that is there too often or too seldom; for a preference, one that is there though others are preferred.</param>
/// <param name="Count">How many pieces are missing, or are there all the same.</param>
public sealed record UnmetWish(NoteWish Wish, Money Value, int Count);
