namespace CashEvents.Domain.Counts;

/// <summary>Opens a round of counts: of a wallet, of a purpose, or of all compartments in use.</summary>
/// <param name="Wallet">Only compartments of this wallet.</param>
/// <param name="Purpose">Only compartments with this purpose.</param>
/// <param name="Blind">Expected balances are not told until a figure is in.</param>
public sealed record OpenCountRound(string? Wallet, Purpose? Purpose, bool Blind) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        _ = book.Currency;
        var wallet = Wallet is null ? null : book.WalletNamed(Wallet, "wallet").Id;
        var compartments = book.Compartments.Values
            .Where(c => !c.Closed && (wallet is null || c.Wallet == wallet)
                && (Purpose is null || c.Purpose == Purpose))
            .OrderBy(c => c.Line).Select(c => c.Id).ToList();
        if (compartments.Count == 0)
        {
            throw Refusal.Conflict("nothing-to-count",
                "No compartment in use is in this wallet or has this purpose: leave `wallet` and `purpose` out to "
                    + "count all of them.");
        }

        foreach (var open in book.CountRounds.Values.OrderBy(r => r.Id))
        {
            if (compartments.Find(c => open.Find(c) is not null) is { } twice)
            {
                throw Refusal.Conflict("count-round-open",
                    $"'{twice}' is in count round {open.Id}, which is open: go on with it, or close it with "
                        + $"{Act.CloseCountRound.Way(open.Id)}.");
            }
        }

        return [new CountRoundOpened([.. compartments], wallet, Purpose, Blind)];
    }
}
