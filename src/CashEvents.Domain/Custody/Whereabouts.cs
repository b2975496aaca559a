namespace CashEvents.Domain.Custody;

/// <summary>Cash of a compartment that lies where its wallet does.</summary>
/// <param name="Compartment">The compartment.</param>
/// <param name="Amount">Its cash less what somebody carries.</param>
public sealed record LyingCash(Compartment Compartment, Money Amount);

/// <summary>A wallet with the cash that lies in it.</summary>
/// <param name="Wallet">The wallet.</param>
/// <param name="Compartments">Its compartments, in the order of the household's lists; one that is closed only if it
/// held something on the day that is told.</param>
public sealed record LyingWallet(Wallet Wallet, IReadOnlyList<LyingCash> Compartments)
{
    /// <summary>All of it.</summary>
    public Money Amount => Compartments.Aggregate(Money.Zero, (sum, c) => sum + c.Amount);
}

/// <summary>A place with what lies in it.</summary>
/// <param name="Place">The place; null for wallets of which no place is said. They are taken to be at home.</param>
/// <param name="Wallets">The wallets, in the order of the household's lists.</param>
public sealed record OccupiedPlace(Place? Place, IReadOnlyList<LyingWallet> Wallets)
{
    /// <summary>Whether what lies in it is at home.</summary>
    public bool AtHome => Place?.AtHome ?? true;

    /// <summary>All of it.</summary>
    public Money Amount => Wallets.Aggregate(Money.Zero, (sum, w) => sum + w.Amount);
}

/// <summary>What is where, and with whom: all the cash of the book, each part once.</summary>
public static class Whereabouts
{
    /// <summary>What lies in places: those with a name in the order of their names, then what lies in none.</summary>
    public static IReadOnlyList<OccupiedPlace> Lying(Book book)
    {
        ArgumentNullException.ThrowIfNull(book);
        return
        [
            .. book.Wallets.Values.OrderBy(w => w.Line).GroupBy(w => w.LiesIn?.Place)
                .OrderBy(g => g.Key is null).ThenBy(g => g.Key, StringComparer.Ordinal)
                .Select(g => new OccupiedPlace(g.Key is null ? null : book.Places[g.Key],
                    [.. g.Select(w => In(book, w)).Where(w => !w.Wallet.Closed || w.Compartments.Count > 0)]))
                .Where(place => place.Place is not null || place.Wallets.Count > 0),
        ];
    }

    /// <summary>What is carried, longest first.</summary>
    public static IReadOnlyList<(Handover Handover, Money Amount)> Carried(Book book)
    {
        ArgumentNullException.ThrowIfNull(book);
        return [.. book.Handovers.Values.OrderBy(h => h.Since).ThenBy(h => h.Id)
            .Select(h => (h, book.Carried(h.Compartment)))];
    }

    private static LyingWallet In(Book book, Wallet wallet) => new(wallet,
        [.. book.Compartments.Values.Where(c => c.Wallet == wallet.Id && (!c.Closed || c.Cash != Money.Zero))
            .OrderBy(c => c.Line).Select(c => new LyingCash(c, book.LiesInPlace(c.Id)))]);
}
