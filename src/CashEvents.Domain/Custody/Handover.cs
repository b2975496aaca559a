using System.Collections.Immutable;

namespace CashEvents.Domain.Custody;

/// <summary>
/// Cash of a compartment that somebody has taken out of its place and carries, until it comes back with a count.
/// </summary>
/// <param name="Id">The line that says so.</param>
/// <param name="Compartment">Whose cash it is.</param>
/// <param name="Carrier">Who carries it: the name of a key, or of somebody whom a keeper named.</param>
/// <param name="Carried">What they have by the lines that stand: what they took, less what they paid from it, and never
/// more than there was at any line since.</param>
/// <param name="Since">The day on which they took it.</param>
public sealed record Handover(long Id, string Compartment, string Carrier, Money Carried, DateOnly Since)
{
    /// <summary>
    /// The most movements that are kept, so that a handover that is forgotten does not grow for ever: corrections of
    /// older ones are taken to be of before it.
    /// </summary>
    public const int MostMoved = 200;

    /// <summary>What they took, less what they are said by now to have paid before <see cref="Moved"/>.</summary>
    public Money Taken { get; init; } = Carried;

    /// <summary>What the compartment held then, with what is known of it by now.</summary>
    public Money CashThen { get; init; } = Carried;

    /// <summary>Every movement whose place in the book is after this line is in <see cref="Moved"/>.</summary>
    public long KnownSince { get; init; } = Id;

    /// <summary>
    /// What moved in the compartment's cash since, in the order of the book. A line that was undone is not in it, and
    /// one in the stead of another has the place of that.
    /// </summary>
    public ImmutableList<MovedWhileCarried> Moved { get; init; } = [];

    /// <summary>Whether somebody of this name carries it.</summary>
    public bool IsCarriedBy(string? name) => string.Equals(name, Carrier, StringComparison.OrdinalIgnoreCase);

    /// <summary>The handover after one more movement of the compartment's cash.</summary>
    /// <param name="moved">What moved.</param>
    /// <param name="undoes">The line that it undoes, if it does.</param>
    internal Handover After(MovedWhileCarried moved, long? undoes) =>
        (Moved.FindIndex(m => m.Line == undoes) is var undone && undone >= 0
            ? this with { Moved = Moved.RemoveAt(undone) }
            : moved.At <= KnownSince ? this with { Taken = Taken + moved.Carried, CashThen = CashThen + moved.Cash }
            : this with { Moved = Moved.Insert(Moved.FindLastIndex(m => m.At <= moved.At) + 1, moved) })
        .WithoutOldest().Told();

    private Handover WithoutOldest() => Moved.Count <= MostMoved ? this : this with
    {
        Taken = (this with { Moved = [Moved[0]] }).Told().Carried,
        CashThen = CashThen + Moved[0].Cash,
        KnownSince = Moved[0].At,
        Moved = Moved.RemoveAt(0),
    };

    // The lines that stand, one after another: nobody carries more than is there, and a short that is settled says that
    // no more was.
    private Handover Told()
    {
        var (cash, carried) = (CashThen, HandoverRules.Within(Taken, CashThen));
        foreach (var moved in Moved)
        {
            cash += moved.Cash;
            carried = HandoverRules.Within(carried + moved.Carried, cash);
        }

        return this with { Carried = carried };
    }
}

/// <summary>A movement of a compartment's cash while somebody carries some of it.</summary>
/// <param name="Line">Its line.</param>
/// <param name="At">Its place in the book: its line, or for one in the stead of another the first of the lines that it
/// corrects.</param>
/// <param name="Cash">What it changes in the compartment's cash.</param>
/// <param name="Carried">What it changes in the carrier's hands.</param>
public sealed record MovedWhileCarried(long Line, long At, Money Cash, Money Carried);

/// <summary>Line: cash of a compartment is taken out of its place. Moves none.</summary>
/// <param name="Compartment">Whose cash it is.</param>
/// <param name="Carrier">Who carries it from now on.</param>
/// <param name="Amount">How much, above zero.</param>
/// <param name="OccurredOn">The day.</param>
/// <param name="Description">What was written beside it.</param>
[LineKind("handover")]
public sealed record HandedOver(string Compartment, string Carrier, Money Amount, DateOnly OccurredOn,
    string Description) : IDatedEvent
{
    /// <inheritdoc />
    public MovementKind? Listed => MovementKind.Handover;

    /// <inheritdoc />
    public IEnumerable<string> About => [Compartment];

    internal Handover At(long line, Money cash) =>
        new(line, Compartment, Carrier, Amount, OccurredOn) { CashThen = cash };

    /// <inheritdoc />
    public bool CarriesAmount => true;

    /// <inheritdoc />
    public Book WrittenIn(Book book) => CustodyInBook.Handovers.Change(
        book, handovers => handovers.Add(Compartment, At(book.Line + 1, book.Compartments[Compartment].Cash)));

    /// <inheritdoc />
    public string Mend(long line) => $"bring it back with {Act.ReturnHandover.Way(line)}";
}

/// <summary>Line: what was carried is back in its place. The count that found it stands in the same entry.</summary>
/// <param name="Handover">The line of the handover.</param>
/// <param name="Compartment">Whose cash it is.</param>
/// <param name="OccurredOn">The day.</param>
/// <param name="Description">What was written beside it.</param>
[LineKind("handoverReturned")]
public sealed record HandoverReturned(long Handover, string Compartment, DateOnly OccurredOn, string Description)
    : IDatedEvent
{
    /// <inheritdoc />
    public MovementKind? Listed => MovementKind.Handover;

    /// <inheritdoc />
    public IEnumerable<string> About => [Compartment];

    /// <inheritdoc />
    public Book WrittenIn(Book book) =>
        CustodyInBook.Handovers.Change(book, handovers => handovers.Remove(Compartment));

    /// <inheritdoc />
    public string Mend(long line) => $"hand it over again with {Act.OpenHandover.Way()}";
}

/// <summary>Where the cash of a compartment is.</summary>
public static class HandoverRules
{
    /// <summary>What somebody carries of a compartment's cash: never more than there is.</summary>
    public static Money Carried(this Book book, string compartment)
    {
        ArgumentNullException.ThrowIfNull(book);
        return book.Handovers.TryGetValue(compartment, out var handover)
            ? Within(handover.Carried, book.Compartments[compartment].Cash)
            : Money.Zero;
    }

    /// <summary>What of a compartment's cash lies in its place.</summary>
    public static Money LiesInPlace(this Book book, string compartment)
    {
        ArgumentNullException.ThrowIfNull(book);
        return book.Compartments[compartment].Cash - book.Carried(compartment);
    }

    /// <summary>The handovers after a movement.</summary>
    /// <param name="handovers">Those before it.</param>
    /// <param name="movement">The movement.</param>
    /// <param name="line">Its line.</param>
    /// <param name="origin">The first of the lines that it corrects; its own when it corrects none.</param>
    internal static ImmutableDictionary<string, Handover> After(this ImmutableDictionary<string, Handover> handovers,
        IMovement movement, long line, long origin)
    {
        var undoes = movement.Undoes ? movement.Corrects?.Line : null;
        foreach (var (part, change) in movement.Postings.Where(p => p.Place.Holding == Holding.Cash))
        {
            if (handovers.TryGetValue(part.Compartment, out var handover))
            {
                var carried = movement.Carried is { } c && c.Handover == handover.Id ? c.Change : Money.Zero;
                handovers = handovers.SetItem(part.Compartment,
                    handover.After(new MovedWhileCarried(line, origin, change, carried), undoes));
            }
        }

        return handovers;
    }

    // Between the lines of an amendment a balance may be below zero.
    internal static Money Within(Money carried, Money cash) =>
        carried < Money.Zero || cash < Money.Zero ? Money.Zero : carried <= cash ? carried : cash;
}
