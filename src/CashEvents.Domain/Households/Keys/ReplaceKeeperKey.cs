namespace CashEvents.Domain.Households;

/// <summary>
/// Issues a keeper's key in the stead of one that was lost, which is revoked: who lost it can't know who found it.
/// Asked for at the machine itself.
/// </summary>
/// <param name="Lost">Name of the lost key; may be left out while the book has one keeper's key.</param>
/// <param name="Hash">SHA-256 of the new key, lower-case hexadecimal.</param>
public sealed record ReplaceKeeperKey(string? Lost, string Hash) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        var keepers = book.Keys.Values.Where(k => k is { Role: Role.Keeper, Revoked: false }).OrderBy(k => k.Line)
            .Select(k => k.Name).ToList();
        var lost = Lost is not null
            ? keepers.Find(name => name == Lost)
                ?? throw Refusal.Unfit("lost", "key-unknown",
                    $"No keeper's key in use is named '{Lost}'. In use: {Named(keepers)}.")
            : keepers.Count > 1 ? throw Refusal.Unfit("lost", "which-key",
                $"The book has {keepers.Count} keeper's keys: {Named(keepers)}. Say which one is lost, and it is "
                    + $"revoked: --lost \"{keepers[0]}\".")
            : keepers.SingleOrDefault();
        var issued = new KeyIssued(KeyName.NextKeeper(book), Role.Keeper, [], Hash);
        return lost is null ? [issued] : [issued, new KeyRevoked(lost)];
    }

    private static string Named(IEnumerable<string> keepers) => string.Join(", ", keepers.Select(name => $"'{name}'"));
}
