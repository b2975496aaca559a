using System.Collections.Immutable;

namespace CashEvents.Domain.Paydays;

/// <summary>Line: in which notes a compartment would have its money, in the stead of what it wished before.</summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Prefer">Values preferred, largest first.</param>
/// <param name="Avoid">Values avoided, largest first.</param>
/// <param name="AtLeast">At least so many of these, largest first.</param>
[LineKind("noteWishes")]
public sealed record NotesWished(string Compartment, ImmutableArray<Money> Prefer, ImmutableArray<Money> Avoid,
    ImmutableArray<Pieces> AtLeast) : IBookEvent
{
    /// <inheritdoc />
    public IEnumerable<string> About => [Compartment];

    /// <inheritdoc />
    public Book WrittenIn(Book book) =>
        PaydaysInBook.NoteWishes.Change(book,
            wishes => wishes.SetItem(Compartment, new NoteWishes(Prefer, Avoid, AtLeast)));

    /// <inheritdoc />
    public string Mend(long line) => $"wish anew with {Act.WishNotes.Way(Compartment)}";
}

/// <summary>Sets in which notes a compartment would have its money; what is left out is wished no more.</summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Prefer">Values in major units.</param>
/// <param name="Avoid">Values in major units.</param>
/// <param name="AtLeast">At least so many of each, as <c>{"5": 4}</c>.</param>
public sealed record WishNotes(string Compartment, IReadOnlyList<decimal>? Prefer, IReadOnlyList<decimal>? Avoid,
    IReadOnlyDictionary<string, long>? AtLeast) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        _ = book.CompartmentNamed(Compartment);
        var compartment = book.OpenCompartment(Compartment, "compartment");
        var wished = new NotesWished(
            compartment.Id,
            Denominations.ReadValues(book.Currency, Prefer ?? [], "prefer"),
            Denominations.ReadValues(book.Currency, Avoid ?? [], "avoid"),
            Denominations.Read(book.Currency, AtLeast ?? ImmutableDictionary<string, long>.Empty, "atLeast"));
        if (wished.Avoid.Intersect(wished.Prefer.Concat(wished.AtLeast.Select(p => p.Value))).ToList() is [var both,
            ..])
        {
            throw Refusal.Unfit("avoid", "wishes-contradict",
                $"{book.Say(both)} is to be avoided and is wished for: leave it out of one of the two.");
        }

        var before = book.NoteWishesOf(compartment.Id);
        return before.Prefer.SequenceEqual(wished.Prefer) && before.Avoid.SequenceEqual(wished.Avoid)
            && before.AtLeast.SequenceEqual(wished.AtLeast) ? [] : [wished];
    }
}
