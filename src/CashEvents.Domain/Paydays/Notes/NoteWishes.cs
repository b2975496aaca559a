using System.Collections.Immutable;

namespace CashEvents.Domain.Paydays;

/// <summary>
/// In which notes and coins a compartment would have its money. A value is not both avoided and wished for.
/// </summary>
/// <param name="Prefer">As much as can be in these, largest first; empty for no preference.</param>
/// <param name="Avoid">None of these where it can be helped, largest first.</param>
/// <param name="AtLeast">At least so many of these, largest first.</param>
public sealed record NoteWishes(ImmutableArray<Money> Prefer, ImmutableArray<Money> Avoid,
    ImmutableArray<Pieces> AtLeast)
{
    /// <summary>Any notes will do.</summary>
    public static NoteWishes None { get; } = new([], [], []);

    /// <summary>The wishes that a compartment's contents do not meet.</summary>
    /// <param name="contents">The pieces in it.</param>
    public IReadOnlyList<UnmetWish> UnmetBy(ImmutableArray<Pieces> contents) =>
    [
        .. AtLeast.Select(p => new UnmetWish(NoteWish.AtLeast, p.Value,
            p.Count - contents.Where(c => c.Value == p.Value).Sum(c => c.Count))).Where(unmet => unmet.Count > 0),
        .. contents.Where(p => Avoid.Contains(p.Value)).Select(p => new UnmetWish(NoteWish.Avoid, p.Value, p.Count)),
        .. contents.Where(p => IsSecondChoice(p.Value)).Select(p => new UnmetWish(NoteWish.Prefer, p.Value, p.Count)),
    ];

    // What is smaller than every preferred value may be what only small pieces can make up.
    private bool IsSecondChoice(Money value) =>
        Prefer.Length > 0 && !Prefer.Contains(value) && !Avoid.Contains(value) && value > Prefer.Min();
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
/// <param name="Value">The value that is there too often or too seldom; for a preference, one that is there though
/// others are preferred.</param>
/// <param name="Count">How many pieces are missing, or are there all the same.</param>
public sealed record UnmetWish(NoteWish Wish, Money Value, int Count);
