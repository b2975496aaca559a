namespace CashEvents.Domain.Custody;

/// <summary>
/// Who held what at the end of a day: the lines of a book in their order, without those that are dated later, whenever
/// they were written.
/// </summary>
public static class HeldOn
{
    /// <summary>What was held, with one more line of the book. Begins with the empty book.</summary>
    /// <param name="held">What the lines before it say.</param>
    /// <param name="line">The line.</param>
    /// <param name="day">The day; lines dated later are passed over.</param>
    public static Book Take(this Book held, IBookEvent line, DateOnly day)
    {
        ArgumentNullException.ThrowIfNull(held);
        var after = line switch
        {
            ITakesIntoUse => held.Apply(line),
            IMovement e when e.OccurredOn <= day => held.Move(e),
            IMovement e => held.Correcting(e, held.Line + 1),
            // Somebody may have taken it over, though it was written later that the one before had brought it back: one
            // person at a time carries.
            HandedOver e when e.OccurredOn <= day =>
                CustodyInBook.Handovers.Change(held,
                    open => open.SetItem(e.Compartment, e.At(held.Line + 1, held.Compartments[e.Compartment].Cash))),
            HandoverReturned e when e.OccurredOn <= day
                && held.Handovers.GetValueOrDefault(e.Compartment)?.Id == e.Handover =>
                CustodyInBook.Handovers.Change(held, open => open.Remove(e.Compartment)),
            PlaceSet e when e.Since <= day => e.WrittenIn(held),
            _ => held,
        };
        return after with { Line = held.Line + 1 };
    }

    /// <summary>
    /// A book with what was held on a day in the stead of what is held at its last line. Names, limits and in which
    /// wallet a compartment is have no day, and are those of the book.
    /// </summary>
    /// <param name="book">The book.</param>
    /// <param name="held">What its lines say of that day.</param>
    public static Book Holding(this Book book, Book held)
    {
        ArgumentNullException.ThrowIfNull(book);
        ArgumentNullException.ThrowIfNull(held);
        var then = book with
        {
            Compartments = book.Compartments.SetItems(book.Compartments.Values
                .Select(c => KeyValuePair.Create(c.Id,
                    c with { Cash = held.Compartments[c.Id].Cash, Bank = held.Compartments[c.Id].Bank }))),
            Wallets = book.Wallets.SetItems(
                book.Wallets.Values.Select(
                    w => KeyValuePair.Create(w.Id, w with { LiesIn = held.Wallets[w.Id].LiesIn }))),
        };
        return then.With(CustodyInBook.Handovers, held.Handovers).With(CustodyInBook.Places, held.Places);
    }
}
