using CashEvents.Domain.Books;
using CashEvents.Domain.Naming;
using CashEvents.Domain.Places;

namespace CashEvents.Domain.Wallets;

/// <summary>A physical holder with several compartments.</summary>
/// <param name="Id">Slug of its first label; stays.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Line">The line that opened it, which is also its place in lists.</param>
public sealed record Wallet(string Id, string Label, long Line)
{
    /// <summary>Where it lies; null when nobody said.</summary>
    public LyingIn? LiesIn { get; init; }
}

/// <summary>Line: a wallet is taken into use.</summary>
/// <param name="Wallet">Its id.</param>
/// <param name="Label">What is written on it.</param>
public sealed record WalletOpened(string Wallet, string Label) : IBookEvent;

/// <summary>Takes a wallet into use.</summary>
/// <param name="Label">What is written on it; its id is made from this.</param>
public sealed record OpenWallet(string Label) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        var label = Words.Name(Label, "label");
        var id = Book.NewId(label, taken: book.Wallets.ContainsKey, "wallet");
        return [new WalletOpened(id, label)];
    }
}
