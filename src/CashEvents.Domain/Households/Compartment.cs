namespace CashEvents.Domain.Households;

/// <summary>Line: a compartment is taken into use.</summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Wallet">The wallet it is in.</param>
/// <param name="Purpose">What its money is for.</param>
[LineKind("compartmentOpened")]
public sealed record CompartmentOpened(string Compartment, string Label, string Wallet, Purpose Purpose) : ITakesIntoUse
{
    /// <inheritdoc />
    public IEnumerable<string> About => [Compartment];

    /// <inheritdoc />
    public Book WrittenIn(Book book) => book.With(new Compartment(Compartment, Label, Wallet, Purpose, book.Line + 1));

    /// <inheritdoc />
    public string Mend(long line) =>
        $"change '{Compartment}' with {Act.ChangeCompartment.Way(Compartment)}, or close it";
}

/// <summary>Line: a compartment gets another label; its id stays.</summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Label">The new label.</param>
[LineKind("compartmentRelabelled")]
public sealed record CompartmentRelabelled(string Compartment, string Label) : IBookEvent
{
    /// <inheritdoc />
    public IEnumerable<string> About => [Compartment];

    /// <inheritdoc />
    public Book WrittenIn(Book book) => book.With(book.Compartments[Compartment] with { Label = Label });

    /// <inheritdoc />
    public string Mend(long line) => $"change '{Compartment}' back with {Act.ChangeCompartment.Way(Compartment)}";
}

/// <summary>Line: a compartment is put into another wallet, with all that is in it.</summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Wallet">The wallet it is in from now on.</param>
[LineKind("compartmentMoved")]
public sealed record CompartmentMoved(string Compartment, string Wallet) : IBookEvent
{
    /// <inheritdoc />
    public IEnumerable<string> About => [Compartment];

    /// <inheritdoc />
    public Book WrittenIn(Book book) => book.With(book.Compartments[Compartment] with { Wallet = Wallet });

    /// <inheritdoc />
    public string Mend(long line) => $"change '{Compartment}' back with {Act.ChangeCompartment.Way(Compartment)}";
}

/// <summary>Line: an empty compartment goes out of use.</summary>
/// <param name="Compartment">Its id.</param>
[LineKind("compartmentClosed")]
public sealed record CompartmentClosed(string Compartment) : IBookEvent
{
    /// <inheritdoc />
    public IEnumerable<string> About => [Compartment];

    /// <inheritdoc />
    public Book WrittenIn(Book book) => book.With(book.Compartments[Compartment] with { Closed = true });

    /// <inheritdoc />
    public string Mend(long line) => $"change '{Compartment}' back with {Act.ChangeCompartment.Way(Compartment)}";
}

/// <summary>Line: a closed compartment comes into use again.</summary>
/// <param name="Compartment">Its id.</param>
[LineKind("compartmentReopened")]
public sealed record CompartmentReopened(string Compartment) : IBookEvent
{
    /// <inheritdoc />
    public IEnumerable<string> About => [Compartment];

    /// <inheritdoc />
    public Book WrittenIn(Book book) => book.With(book.Compartments[Compartment] with { Closed = false });

    /// <inheritdoc />
    public string Mend(long line) => $"change '{Compartment}' back with {Act.ChangeCompartment.Way(Compartment)}";
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
            throw Refusal.Conflict("too-many",
                $"A household has at most {Most} compartments in use: close one that is empty.");
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
        var compartment = book.CompartmentNamed(Compartment);

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
                    $"'{compartment.Id}' still holds {book.Say(compartment.Cash)} in cash and "
                        + $"{book.Say(compartment.Bank)} in the bank: spend, transfer or sweep it, then close.",
                        "closed");
            }

            if (closed)
            {
                book.MustNotNeed(compartment.Id);
            }
            else
            {
                OpenCompartment.MustBeFew(book);
                book.WalletInUse(Wallet ?? compartment.Wallet, "wallet");
            }

            lines.Add(closed ? new CompartmentClosed(compartment.Id) : new CompartmentReopened(compartment.Id));
        }

        return lines;
    }
}
