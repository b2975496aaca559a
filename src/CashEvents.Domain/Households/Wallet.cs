namespace CashEvents.Domain.Households;

/// <summary>Line: a wallet is taken into use.</summary>
/// <param name="Wallet">Its id.</param>
/// <param name="Label">What is written on it.</param>
[LineKind("walletOpened")]
public sealed record WalletOpened(string Wallet, string Label) : ITakesIntoUse
{
    /// <inheritdoc />
    public Book WrittenIn(Book book) => book.With(new Wallet(Wallet, Label, book.Line + 1));

    /// <inheritdoc />
    public string Mend(long line) => $"change '{Wallet}' with {Act.ChangeWallet.Way(Wallet)}, or close it";
}

/// <summary>Line: a wallet gets another label; its id stays.</summary>
/// <param name="Wallet">Its id.</param>
/// <param name="Label">The new label.</param>
[LineKind("walletRelabelled")]
public sealed record WalletRelabelled(string Wallet, string Label) : IBookEvent
{
    /// <inheritdoc />
    public Book WrittenIn(Book book) => book.With(book.Wallets[Wallet] with { Label = Label });

    /// <inheritdoc />
    public string Mend(long line) => $"change '{Wallet}' back with {Act.ChangeWallet.Way(Wallet)}";
}

/// <summary>Line: a wallet in which no compartment is in use goes out of use.</summary>
/// <param name="Wallet">Its id.</param>
[LineKind("walletClosed")]
public sealed record WalletClosed(string Wallet) : IBookEvent
{
    /// <inheritdoc />
    public Book WrittenIn(Book book) => book.With(book.Wallets[Wallet] with { Closed = true, LiesIn = null });

    /// <inheritdoc />
    public string Mend(long line) => $"reopen '{Wallet}' with {Act.ChangeWallet.Way(Wallet)}";
}

/// <summary>Line: a closed wallet comes into use again.</summary>
/// <param name="Wallet">Its id.</param>
[LineKind("walletReopened")]
public sealed record WalletReopened(string Wallet) : IBookEvent
{
    /// <inheritdoc />
    public Book WrittenIn(Book book) => book.With(book.Wallets[Wallet] with { Closed = false });

    /// <inheritdoc />
    public string Mend(long line) => $"close '{Wallet}' again with {Act.ChangeWallet.Way(Wallet)}";
}

/// <summary>Takes a wallet into use.</summary>
/// <param name="Label">What is written on it; its id is made from this.</param>
public sealed record OpenWallet(string Label) : ICommand
{
    /// <summary>The most that a household has in use at once.</summary>
    public const int Most = 200;

    /// <summary>Refuses one more where so many are in use.</summary>
    internal static void MustBeFew(Book book)
    {
        if (book.Wallets.Values.Count(w => !w.Closed) >= Most)
        {
            throw Refusal.Conflict("too-many",
                $"A household has at most {Most} wallets in use: close one that is empty.");
        }
    }

    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        var label = Words.Name(Label, "label");
        MustBeFew(book);
        var id = Book.NewId(label, taken: book.Wallets.ContainsKey, "wallet");
        return [new WalletOpened(id, label)];
    }
}

/// <summary>Relabels, closes or reopens a wallet; what is left out stays.</summary>
/// <param name="Wallet">Its id.</param>
/// <param name="Label">A new label.</param>
/// <param name="Closed">Whether it is out of use.</param>
public sealed record ChangeWallet(string Wallet, string? Label, bool? Closed) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        var wallet = book.WalletNamed(Wallet);

        var lines = new List<IBookEvent>();
        if (Label is not null && Words.Name(Label, "label") is var label && label != wallet.Label)
        {
            lines.Add(new WalletRelabelled(wallet.Id, label));
        }

        if (Closed is { } closed && closed != wallet.Closed)
        {
            // A compartment that is closed is empty; one in use may be filled tomorrow.
            var inUse = book.Compartments.Values.Where(c => c.Wallet == wallet.Id && !c.Closed).OrderBy(c => c.Line)
                .Select(c => c.Id).ToList();
            if (closed && inUse.Count > 0)
            {
                throw Refusal.Conflict("wallet-not-empty",
                    $"{string.Join(", ", inUse)} {(inUse.Count == 1 ? "is" : "are")} in '{wallet.Id}': move "
                        + $"{(inUse.Count == 1 ? "it" : "them")} to another wallet or close "
                        + $"{(inUse.Count == 1 ? "it" : "them")} with {Act.ChangeCompartment.Way()}, then close the "
                        + $"wallet.", "closed");
            }

            if (!closed)
            {
                OpenWallet.MustBeFew(book);
            }

            lines.Add(closed ? new WalletClosed(wallet.Id) : new WalletReopened(wallet.Id));
        }

        return lines;
    }
}
