namespace CashEvents.Domain.Custody;

/// <summary>
/// Whose hands notes go through. Two people can't spend the same notes: what somebody carries is touched only by them,
/// or by who says that it is meant.
/// </summary>
/// <param name="By">Name of the key that writes it; null when nobody has signed.</param>
/// <param name="Carried">Whether the notes that somebody carries are meant, and not those in the compartment's place;
/// null for yes when the key is the carrier's own.</param>
public sealed record Hands(string? By = null, bool? Carried = null)
{
    /// <summary>Nothing was said.</summary>
    public static Hands Unsaid { get; } = new();

    /// <summary>
    /// Takes notes from a place. Who carries some of them pays from those first and then from what lies in the place;
    /// anybody else only from what lies there.
    /// </summary>
    /// <param name="book">The book as it stands.</param>
    /// <param name="part">Where they are taken.</param>
    /// <param name="amount">How much.</param>
    /// <returns>What is taken of the carried notes; null for nothing.</returns>
    /// <exception cref="RefusalException">More than lies there, and somebody carries the rest.</exception>
    internal CarriedChange? Take(Book book, Part part, Money amount)
    {
        if (!Mean(book, part))
        {
            book.MustLieInPlace(part, amount, "carried",
                mend: handover => $"Send `\"carried\": true` if it came from what '{handover.Carrier}' carries");
            return null;
        }

        var carried = book.Carried(part.Compartment);
        var taken = amount <= carried ? amount : carried;
        return taken > Money.Zero ? new CarriedChange(book.Handovers[part.Compartment].Id, -taken) : null;
    }

    /// <summary>
    /// How much of an amount in a place these hands may take: all of it, or what lies there where somebody else carries
    /// the rest.
    /// </summary>
    internal Money Within(Book book, Part part, Money available) =>
        part.Holding == Holding.Cash && !Mean(book, part) && book.LiesInPlace(part.Compartment) is var lies
            && lies < available ? lies : available;

    /// <summary>Puts notes into a place; those that come back to a carrier are carried on.</summary>
    /// <returns>What is put to the carried notes; null for nothing.</returns>
    internal CarriedChange? Put(Book book, Part part, Money amount) =>
        Mean(book, part) ? new CarriedChange(book.Handovers[part.Compartment].Id, amount) : null;

    /// <summary>
    /// Refuses to count a compartment while somebody carries some of it, unless what they carry is counted too.
    /// </summary>
    /// <exception cref="RefusalException">Somebody else carries some of it.</exception>
    internal void MustCountAll(Book book, Part part)
    {
        if (!Mean(book, part) && part.Holding == Holding.Cash && book.Carried(part.Compartment) > Money.Zero)
        {
            throw book.CarriedByAnother(book.Handovers[part.Compartment], "carried", "so it is not all there to count",
                handover => $"Send `\"carried\": true` if what '{handover.Carrier}' carries is counted too");
        }
    }

    private bool Mean(Book book, Part part) =>
        part.Holding == Holding.Cash && book.Handovers.TryGetValue(part.Compartment, out var handover)
            && (Carried ?? handover.IsCarriedBy(By));
}

/// <summary>Refusals that name who carries what is asked for.</summary>
internal static class CarriedByAnotherRule
{
    /// <summary>Refuses to take more from a place than lies there, where somebody carries the rest.</summary>
    /// <param name="book">The book as it stands.</param>
    /// <param name="part">Where it is taken.</param>
    /// <param name="amount">How much.</param>
    /// <param name="field">The field at fault.</param>
    /// <param name="mend">What to do instead of bringing it back; the end of a sentence is added.</param>
    /// <exception cref="RefusalException">More than lies there.</exception>
    public static void MustLieInPlace(this Book book, Part part, Money amount, string field,
        Func<Handover, string>? mend = null)
    {
        if (part.Holding == Holding.Cash && book.Carried(part.Compartment) > Money.Zero
            && amount > book.LiesInPlace(part.Compartment))
        {
            throw book.CarriedByAnother(book.Handovers[part.Compartment], field,
                $"{book.Say(book.LiesInPlace(part.Compartment))} lies in its place, and two people can't spend the "
                    + $"same notes", mend);
        }
    }

    public static RefusalException CarriedByAnother(this Book book, Handover handover, string field, string because,
        Func<Handover, string>? mend) => Refusal.Conflict(
        "carried-by-another",
        $"'{handover.Carrier}' carries {book.Say(book.Carried(handover.Compartment))} of '{handover.Compartment}' "
            + $"since {handover.Since:O}: {because}. "
        + $"{(mend is null ? "Bring" : $"{mend(handover)}, or bring")} it back first with "
        + $"{Act.ReturnHandover.Way(handover.Id)}.",
        field);
}
