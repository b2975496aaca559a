namespace CashEvents.Domain.Households;

/// <summary>What a compartment's money is for.</summary>
public enum Purpose
{
    /// <summary>Spent down week by week.</summary>
    Spending,

    /// <summary>Put aside with no bill in view.</summary>
    Saving,

    /// <summary>Put aside for bills that come irregularly.</summary>
    SinkingFund,
}

/// <summary>A labelled place for one purpose's money.</summary>
/// <param name="Id">Slug of its first label; stays when it is relabelled.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Wallet">Id of the wallet it is in.</param>
/// <param name="Purpose">What its money is for.</param>
/// <param name="Line">The line that opened it, which is also its place in lists.</param>
public sealed record Compartment(string Id, string Label, string Wallet, Purpose Purpose, long Line)
{
    /// <summary>Out of use; it is empty then.</summary>
    public bool Closed { get; init; }

    /// <summary>Balance of its notes and coins.</summary>
    public Money Cash { get; init; }

    /// <summary>Balance of its part in the bank.</summary>
    public Money Bank { get; init; }

    /// <summary>The last count of its cash, by its day.</summary>
    public LastCount? CashCount { get; init; }

    /// <summary>The last time its bank part was compared with a statement.</summary>
    public LastCount? BankCount { get; init; }

    /// <summary>In which notes it would have its cash; null when it never said.</summary>
    public NoteWishes? NoteWishes { get; init; }

    /// <summary>Its notes and coins, while they are known.</summary>
    public KnownNotes? Notes { get; init; }

    /// <summary>The last day on which it exchanged notes with another; null when it never did. A count of an earlier day does not say which it has since.</summary>
    public DateOnly? ExchangedOn { get; init; }

    /// <summary>Balance of one holding.</summary>
    public Money Balance(Holding holding) => holding == Holding.Cash ? Cash : Bank;

    /// <summary>The last count of one holding.</summary>
    public LastCount? Count(Holding holding) => holding == Holding.Cash ? CashCount : BankCount;

    /// <summary>The compartment after a change in one holding.</summary>
    public Compartment Post(Holding holding, Money change) =>
        holding == Holding.Cash ? this with { Cash = Cash + change } : this with { Bank = Bank + change };

    /// <summary>The compartment after money came or went in one holding that its last count could not find. In which notes it did no line says.</summary>
    internal Compartment MovedSinceCount(Holding holding, DateOnly day) =>
        WithCount(holding, Count(holding)?.Moved(day)) with { Notes = holding == Holding.Cash ? null : Notes };

    /// <summary>The compartment with another last count.</summary>
    public Compartment WithCount(Holding holding, LastCount? count) =>
        holding == Holding.Cash ? this with { CashCount = count } : this with { BankCount = count };
}

/// <summary>Line: a compartment is taken into use.</summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Wallet">The wallet it is in.</param>
/// <param name="Purpose">What its money is for.</param>
public sealed record CompartmentOpened(string Compartment, string Label, string Wallet, Purpose Purpose) : IBookEvent
{
    /// <inheritdoc />
    public IEnumerable<string> About => [Compartment];
}

/// <summary>Line: a compartment gets another label; its id stays.</summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Label">The new label.</param>
public sealed record CompartmentRelabelled(string Compartment, string Label) : IBookEvent
{
    /// <inheritdoc />
    public IEnumerable<string> About => [Compartment];
}

/// <summary>Line: a compartment is put into another wallet, with all that is in it.</summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Wallet">The wallet it is in from now on.</param>
public sealed record CompartmentMoved(string Compartment, string Wallet) : IBookEvent
{
    /// <inheritdoc />
    public IEnumerable<string> About => [Compartment];
}

/// <summary>Line: an empty compartment goes out of use.</summary>
/// <param name="Compartment">Its id.</param>
public sealed record CompartmentClosed(string Compartment) : IBookEvent
{
    /// <inheritdoc />
    public IEnumerable<string> About => [Compartment];
}

/// <summary>Line: a closed compartment comes into use again.</summary>
/// <param name="Compartment">Its id.</param>
public sealed record CompartmentReopened(string Compartment) : IBookEvent
{
    /// <inheritdoc />
    public IEnumerable<string> About => [Compartment];
}

/// <summary>Takes a compartment into use.</summary>
/// <param name="Label">What is written on it; its id is made from this.</param>
/// <param name="Wallet">Id of the wallet it is in.</param>
/// <param name="Purpose">What its money is for.</param>
public sealed record OpenCompartment(string Label, string Wallet, Purpose Purpose) : ICommand
{
    /// <summary>The most that a household has in use at once.</summary>
    public const int Most = 500;

    /// <summary>Refuses one more where so many are in use.</summary>
    internal static void MustBeFew(Book book)
    {
        if (book.Compartments.Values.Count(c => !c.Closed) >= Most)
        {
            throw Refusal.Conflict("too-many", $"A household has at most {Most} compartments in use: close one that is empty.");
        }
    }

    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        var label = Words.Name(Label, "label");
        var wallet = book.WalletInUse(Wallet, "wallet");
        MustBeFew(book);
        var id = Book.NewId(label, taken: book.Compartments.ContainsKey, "compartment");
        return [new CompartmentOpened(id, label, wallet.Id, Purpose)];
    }
}

/// <summary>Relabels, moves, closes or reopens a compartment; what is left out stays.</summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Label">A new label.</param>
/// <param name="Wallet">Another wallet's id.</param>
/// <param name="Closed">Whether it is out of use.</param>
public sealed record ChangeCompartment(string Compartment, string? Label, string? Wallet, bool? Closed) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        if (!book.Compartments.TryGetValue(Compartment, out var compartment))
        {
            throw Refusal.NotFound("compartment-unknown", $"There is no compartment '{Compartment}'.", NearNames.Of(Compartment, book.Compartments.Keys));
        }

        var lines = new List<IBookEvent>();
        if (Label is not null && Words.Name(Label, "label") is var label && label != compartment.Label)
        {
            lines.Add(new CompartmentRelabelled(compartment.Id, label));
        }

        if (Wallet is not null && book.WalletInUse(Wallet, "wallet").Id is var wallet && wallet != compartment.Wallet)
        {
            lines.Add(new CompartmentMoved(compartment.Id, wallet));
        }

        if (Closed is { } closed && closed != compartment.Closed)
        {
            if (closed && (compartment.Cash != Money.Zero || compartment.Bank != Money.Zero))
            {
                throw Refusal.Conflict("compartment-not-empty",
                    $"'{compartment.Id}' still holds {book.Say(compartment.Cash)} in cash and {book.Say(compartment.Bank)} in the bank: spend, transfer or sweep it, then close.", "closed");
            }

            if (book.Handovers.GetValueOrDefault(compartment.Id) is { } open)
            {
                throw Refusal.Conflict("handover-open", $"'{open.Carrier}' has taken cash of '{compartment.Id}' out since {open.Since:O}: bring it back with POST /api/handovers/{open.Id}/return, then close.", "closed");
            }

            if (!closed)
            {
                OpenCompartment.MustBeFew(book);
                book.WalletInUse(Wallet ?? compartment.Wallet, "wallet");
            }

            lines.Add(closed ? new CompartmentClosed(compartment.Id) : new CompartmentReopened(compartment.Id));
        }

        return lines;
    }
}
