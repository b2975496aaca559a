namespace CashEvents.Domain.Custody;

/// <summary>Takes cash of a compartment out of its place. One person carries from a compartment at a time.</summary>
/// <param name="Compartment">The compartment.</param>
/// <param name="Amount">How much, in major units as written; all that is there if left out.</param>
/// <param name="Carrier">Who carries it: whoever holds a key of this name, or, if a keeper says so, somebody who holds
/// none, such as a child; whoever writes it if left out.</param>
/// <param name="OccurredOn">The day; today if left out.</param>
/// <param name="Description">What to write beside it.</param>
public sealed record OpenHandover(string Compartment, decimal? Amount, string? Carrier, DateOnly? OccurredOn,
    string? Description) : ISignedCommand
{
    /// <summary>Name of the key that writes it; null when nobody has signed.</summary>
    public string? By { get; init; }

    /// <inheritdoc />
    public ICommand SignedBy(string key) => this with { Carrier = Carrier ?? key, By = key };

    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        var part = new Part(book.OpenCompartment(Compartment, "compartment").Id, Holding.Cash);
        var carrier = Words.Name(Carrier, "carrier");
        MustBeKnown(book, carrier);
        if (book.Handovers.TryGetValue(part.Compartment, out var open))
        {
            throw Refusal.Conflict("handover-open",
                $"'{open.Carrier}' carries {book.Say(book.Carried(open.Compartment))} of '{open.Compartment}' since "
                    + $"{open.Since:O}, and one person at a time does: bring it back first with "
                    + $"{Act.ReturnHandover.Way(open.Id)}.", "compartment");
        }

        var day = book.Day(OccurredOn, today);
        var amount = Amount is { } written ? book.Amount(written) : book.Available(part, day).Closing;
        if (amount == Money.Zero)
        {
            throw Refusal.Conflict("nothing-to-hand-over",
                $"The {part} holds nothing that could be taken out on {day:O}.", "compartment");
        }

        book.MustHave(part, amount, day, "amount");
        return [new HandedOver(part.Compartment, carrier, amount, day, Words.Description(Description))];
    }

    // Cash with a name that nobody has can't be spent or brought back by its own key, and a slip of the pen would make
    // such a name.
    private void MustBeKnown(Book book, string carrier)
    {
        var names = book.Keys.Values.Where(k => !k.Revoked).Select(k => k.Name).ToList();
        if (By is not null && book.Keys.TryGetValue(By, out var by) && by.Role != Role.Keeper
            && !names.Contains(carrier, StringComparer.OrdinalIgnoreCase))
        {
            var near = NearNames.Of(carrier, names);
            throw Refusal.Unfit("carrier", "carrier-unknown",
                $"No key in use is named '{carrier}', and only a keeper may hand cash to somebody who holds no key: "
                    + $"{(near.Count > 0 ? $"did you mean '{near[0]}'?" : "name a key, or ask a keeper.")}", near);
        }
    }
}
