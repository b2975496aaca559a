namespace CashEvents.Api.Hosting;

/// <summary>
/// The way back to a book whose keeper's key is lost: whoever is at the machine and may read its data folder gets
/// another.
/// </summary>
internal sealed class NewKeeperKey(BookWriter writer, KeyRing keys)
{
    /// <summary>What came of it.</summary>
    /// <param name="Household">Whose book.</param>
    /// <param name="Name">The new key's name.</param>
    /// <param name="Revoked">The lost key's name; null when there was none.</param>
    /// <param name="Key">The new key, and where it is kept.</param>
    public sealed record Result(string Household, string Name, string? Revoked, KeeperKey Key);

    /// <summary>
    /// Issues a keeper's key and revokes the lost one, in one entry. Of the household that a server starts with it is
    /// kept where the lost one was.
    /// </summary>
    /// <param name="lost">Which was lost.</param>
    /// <param name="written">The key in CASHEVENTS_KEEPER_KEY, if one is.</param>
    /// <param name="dataFolder">Where the first household's key is kept.</param>
    /// <exception cref="StartException">There is no such book or key, or the given key can't be taken.</exception>
    public async Task<Result> IssueAsync(LostKey lost, string? written, string dataFolder)
    {
        var household = await HouseholdAsync(lost.Household).ConfigureAwait(false);
        var given = KeeperKey.Given(written);
        if (given is not null && await keys.FindAsync(given).ConfigureAwait(false) is { } known)
        {
            throw new StartException(known.Household == household && !known.Key.Revoked
                ? $"The key in {KeeperKey.Variable} is good: this book knows it as '{known.Key.Name}' with the role "
                    + $"{known.Key.Role}. Unset the variable to have another made, or put another key in it."
                : $"The key in {KeeperKey.Variable} was used before, as '{known.Key.Name}': put another in it, or "
                    + $"unset it to have one made.");
        }

        var isFirst = household == Opening.FirstHousehold;
        var key = new KeeperKey(given ?? KeyRing.NewKey(),
            isFirst && given is null ? KeeperKey.FileIn(dataFolder) : null);
        var request = new WriteRequest(household, KeyName.Machine,
            [new EntryRequest(new ReplaceKeeperKey(lost.Name, KeyRing.Hash(key.Plain)))]);
        var result = await writer.WriteAsync(request).ConfigureAwait(false);
        if (result.Outcomes[0].Refusal is { } refusal)
        {
            throw new StartException(Addresses.Say(refusal.Detail));
        }

        // Only now: a key that the book does not know opens nothing, and this can be asked for again.
        if (isFirst)
        {
            key.Keep(dataFolder);
        }

        var entry = result.Outcomes[0].Entry!;
        return entry.Key is { Revoked: true } revoked
            ? new Result(household, result.Book.Keys.Values.MaxBy(k => k.Line)!.Name, revoked.Name, key)
            : new Result(household, entry.Key!.Name, null, key);
    }

    private async Task<string> HouseholdAsync(string? named)
    {
        var all = await keys.HouseholdsAsync().ConfigureAwait(false);
        return named is not null ? all.FirstOrDefault(h => h == named) ?? all.FirstOrDefault(h => h == Slug.From(named))
            ?? throw new StartException($"There is no household '{named}' here. {Listed(all)}")
            : all.Count == 1 ? all[0]
            : throw new StartException(all.Count == 0
                ? "There is no book here. See CASHEVENTS_DATA and ConnectionStrings__CashEvents."
                : $"Name the household whose key is lost: new-keeper-key {all[0]}. {Listed(all)}");
    }

    private static string Listed(IReadOnlyList<string> households) =>
        households.Count == 0
            ? "There is none."
            : $"There {(households.Count == 1 ? "is" : "are")}: {string.Join(", ", households)}.";
}
