namespace CashEvents.Domain.Books;

// How a line changes the book: each kind of line says so itself.
public sealed partial record Book
{
    /// <summary>The book with one more line.</summary>
    public Book Apply(IBookEvent line)
    {
        ArgumentNullException.ThrowIfNull(line);
        var after = line.WrittenIn(this);
        // A movement has counted itself: most lines are movements, and the book is copied once.
        return after.Line > Line
            ? after
            : after with { Line = Line + 1, HasAmounts = HasAmounts || line.CarriesAmount };
    }

    /// <summary>The book with a compartment changed.</summary>
    internal Book With(Compartment compartment) =>
        this with { Compartments = Compartments.SetItem(compartment.Id, compartment) };

    /// <summary>The book with a wallet changed.</summary>
    internal Book With(Wallet wallet) => this with { Wallets = Wallets.SetItem(wallet.Id, wallet) };

    /// <summary>
    /// The book with what a movement corrects, whatever its day: the place of a line in the book has none.
    /// </summary>
    internal Book Correcting(IMovement movement, long line) =>
        movement.Corrects is { } corrected
            ? With(BalancesInBook.Corrections, Corrections.With(line, corrected.Line, movement.Undoes))
            : this;

    /// <summary>
    /// The book after a movement: balances, daily balances, corrections, and the sections that follow movements.
    /// </summary>
    internal Book Move(IMovement movement)
    {
        var compartments = Compartments;
        var days = Days;
        foreach (var (part, change) in movement.Postings)
        {
            compartments = compartments.SetItem(part.Compartment,
                compartments[part.Compartment].Post(part.Holding, change));
            days = days.SetItem(part,
                days.GetValueOrDefault(part, DailyBalances.Empty).Post(movement.OccurredOn, change));
        }

        var after = (this with { Line = Line + 1, Compartments = compartments, HasAmounts = true })
            .With(BalancesInBook.Days, days);
        after = after.Correcting(movement, Line + 1);
        var belongsTo = movement.Consequences.Select(c => c.BelongsTo(this, movement))
            .FirstOrDefault(day => day is not null) ?? movement.Corrects?.ClosedDay;
        if (belongsTo is { } earlier)
        {
            after = after.With(BalancesInBook.LateCorrections,
                LateCorrections.AddRange(LateCorrection.Of(Line + 1, movement, earlier)));
        }

        foreach (var section in Section.All)
        {
            after = section.Follow(new Posted(movement, Line + 1, this, after));
        }

        return movement.Consequences.Aggregate(after,
            (book, consequence) => movement.Undoes
                ? consequence.Undone(book, movement)
                : consequence.Done(book, movement));
    }
}
