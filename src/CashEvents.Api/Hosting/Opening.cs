namespace CashEvents.Api.Hosting;

/// <summary>Opens books: the first household's at the first start, others when asked.</summary>
internal sealed class Opening(BookWriter writer, BookReader books, LineReader lines, KeyRing keys)
{
    /// <summary>Tenant of the household that a server starts with.</summary>
    public const string FirstHousehold = "household";

    /// <summary>Name beside the lines that open a book.</summary>
    public const string Opener = KeyName.Setup;

    /// <summary>How many lines opening a book writes; a book with no more is empty.</summary>
    public const int OpeningLines = 2;

    // Each time that another key is asked for adds two.
    private const int MostOpeningLines = 1000;

    /// <summary>Opens a book with its keeper's key.</summary>
    /// <returns>Whether it was opened now; false when it was open before.</returns>
    public async Task<bool> OpenAsync(string household, string name, string plainKey)
    {
        if ((await books.ReadAsync(household).ConfigureAwait(false)).Line > 0)
        {
            return false;
        }

        var request = new WriteRequest(household, Opener,
            [
                new EntryRequest(new DescribeHousehold(name, null, LocalTimeZone(), DayOfWeek.Monday)),
                new EntryRequest(new IssueKey(KeyName.Keeper, Role.Keeper, [], KeyRing.Hash(plainKey))),
            ],
            IfLines: [0]);
        var result = await writer.WriteAsync(request).ConfigureAwait(false);
        var refusal = result.Outcomes.Select(o => o.Refusal).FirstOrDefault(r => r is not null);
        return refusal switch
        {
            null => true,
            // Another server on the same database was quicker.
            { Sort: RefusalSort.Stale } => false,
            _ => throw new RefusalException(refusal),
        };
    }

    /// <summary>Whether a key is a keeper's of a book, and in use.</summary>
    public async Task<bool> IsKeepersAsync(string household, string plainKey) =>
        await keys.FindAsync(plainKey).ConfigureAwait(false) is { } holder && holder.Household == household
            && holder.Key is { Role: Role.Keeper, Revoked: false };

    /// <summary>
    /// Opens another household's book. Asked again for the same name while nothing but its opening stands in it, it
    /// gives another key instead of the first, which may never have been seen.
    /// </summary>
    /// <returns>Its keeper's key, and whether that takes the place of an earlier one.</returns>
    /// <exception cref="RefusalException">The name is taken, or has no letter or digit.</exception>
    public async Task<(string Key, bool Again)> AddAsync(string name)
    {
        var household = Slug.From(name);
        if (household.Length == 0)
        {
            throw Refusal.Unfit("name", "label-without-letters",
                "A household's name needs at least one letter or digit.");
        }

        var key = KeyRing.NewKey();
        if (await OpenAsync(household, name, key).ConfigureAwait(false))
        {
            return (key, false);
        }

        return await GiveAnotherKeyAsync(household, name.Trim(), key).ConfigureAwait(false)
            ? (key, true)
            : throw Refusal.Conflict("household-taken",
                $"There is a household '{household}' already: choose a name that differs in its letters or digits.",
                "name");
    }

    /// <summary>Gives an unused book another keeper's key.</summary>
    /// <returns>False when the book is another's, or is in use.</returns>
    private async Task<bool> GiveAnotherKeyAsync(string household, string name, string plainKey)
    {
        var book = await books.ReadAsync(household).ConfigureAwait(false);
        var written = await lines.ReadAsync(household, new LineFilter(0, MostOpeningLines + 1)).ConfigureAwait(false);
        if (book.Household?.Name != name || written.Count > MostOpeningLines || written.Any(line => line.By != Opener))
        {
            return false;
        }

        var former = book.Keys.Values.Where(k => !k.Revoked).ToList();
        var result = await writer.WriteAsync(new WriteRequest(household, Opener,
            [
                new EntryRequest(new IssueKey($"keeper-{book.Keys.Count + 1}", Role.Keeper, [],
                    KeyRing.Hash(plainKey))),
                .. former.Select(k => new EntryRequest(new RevokeKey(k.Name))),
            ],
            IfLines: [book.Line])).ConfigureAwait(false);
        return result.Outcomes.All(outcome => outcome.Refusal is null);
    }

    // The keeper can name another; until then this machine's calendar is the likeliest.
    private static string LocalTimeZone() =>
        Household.IsTimeZone(TimeZoneInfo.Local.Id) ? TimeZoneInfo.Local.Id
        : TimeZoneInfo.TryConvertWindowsIdToIanaId(TimeZoneInfo.Local.Id, out var iana) ? iana
        : "Etc/UTC";
}
