namespace CashEvents.Domain.Households;

/// <summary>A physical holder with several compartments.</summary>
/// <param name="Id">Slug of its first label; stays.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Line">The line that opened it, which is also its place in lists.</param>
public sealed record Wallet(string Id, string Label, long Line)
{
    /// <summary>Out of use; nothing is in it then, and it lies nowhere.</summary>
    public bool Closed { get; init; }

    /// <summary>Where it lies; null when nobody said.</summary>
    public LyingIn? LiesIn { get; init; }
}

/// <summary>Line: a wallet is taken into use.</summary>
/// <param name="Wallet">Its id.</param>
/// <param name="Label">What is written on it.</param>
public sealed record WalletOpened(string Wallet, string Label) : IBookEvent;

/// <summary>Line: a wallet gets another label; its id stays.</summary>
/// <param name="Wallet">Its id.</param>
/// <param name="Label">The new label.</param>
public sealed record WalletRelabelled(string Wallet, string Label) : IBookEvent;

/// <summary>Line: a wallet in which no compartment is in use goes out of use.</summary>
/// <param name="Wallet">Its id.</param>
public sealed record WalletClosed(string Wallet) : IBookEvent;

/// <summary>Line: a closed wallet comes into use again.</summary>
/// <param name="Wallet">Its id.</param>
public sealed record WalletReopened(string Wallet) : IBookEvent;

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
            throw Refusal.Conflict("too-many", $"A household has at most {Most} wallets in use: close one that is empty.");
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
        if (!book.Wallets.TryGetValue(Wallet, out var wallet))
        {
            throw Refusal.NotFound("wallet-unknown", $"There is no wallet '{Wallet}'.", NearNames.Of(Wallet, book.Wallets.Keys));
        }

        var lines = new List<IBookEvent>();
        if (Label is not null && Words.Name(Label, "label") is var label && label != wallet.Label)
        {
            lines.Add(new WalletRelabelled(wallet.Id, label));
        }

        if (Closed is { } closed && closed != wallet.Closed)
        {
            // A compartment that is closed is empty; one in use may be filled tomorrow.
            var inUse = book.Compartments.Values.Where(c => c.Wallet == wallet.Id && !c.Closed).OrderBy(c => c.Line).Select(c => c.Id).ToList();
            if (closed && inUse.Count > 0)
            {
                throw Refusal.Conflict("wallet-not-empty",
                    $"{string.Join(", ", inUse)} {(inUse.Count == 1 ? "is" : "are")} in '{wallet.Id}': move {(inUse.Count == 1 ? "it" : "them")} to another wallet or close {(inUse.Count == 1 ? "it" : "them")} with PATCH /api/compartments/{{id}}, then close the wallet.", "closed");
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
