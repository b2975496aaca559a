namespace CashEvents.Domain.Households;

/// <summary>
/// Names of keys. A name stands beside the lines that its key writes, so nobody may take one for another.
/// </summary>
public static class KeyName
{
    /// <summary>The name beside the lines that open a book.</summary>
    public const string Setup = "setup";

    /// <summary>The name beside the lines that somebody at the machine itself has the program write.</summary>
    public const string Machine = "machine";

    /// <summary>The name of a keeper's key that the program issues; a later one has a number behind it.</summary>
    public const string Keeper = "keeper";

    /// <summary>The name beside the lines that the program writes by itself.</summary>
    public const string Program = "automatic fill runs";

    private static readonly string[] Reserved = [Setup, Machine, Program];

    /// <summary>
    /// A name for a new key: in ASCII, and with other letters or digits than every name before, so that capitals,
    /// spaces and signs are not all that tells two apart.
    /// </summary>
    /// <exception cref="RefusalException">It is not.</exception>
    internal static string New(Book book, string? written)
    {
        var name = Words.Name(written, "name");
        var id = Slug.From(name);
        if (!name.All(c => c is >= ' ' and <= '~'))
        {
            throw Refusal.Unfit("name", "key-name-not-ascii",
                $"'{name}' has other signs than plain Latin letters, digits and those of an English keyboard, and some "
                    + $"of them look like these: write it without, such as '{Plain(id)}'.", [Plain(id)]);
        }

        if (id.Length == 0)
        {
            throw Refusal.Unfit("name", "key-name-without-letters",
                $"'{name}' has no letter and no digit: write at least one.");
        }

        if (Reserved.Any(reserved => Slug.From(reserved) == id))
        {
            throw Refusal.Unfit("name", "key-name-reserved",
                $"'{name}' stands beside the lines that the program writes by itself: choose another name.");
        }

        return Like(book, id) is not { } taken ? name
            : throw Refusal.Conflict("key-name-taken",
                $"A key named '{taken}' was issued before, and its name stands beside the lines it wrote: choose a "
                    + $"name that differs in its letters or digits.", "name");
    }

    /// <summary>A name for a keeper's key that no key had yet.</summary>
    internal static string NextKeeper(Book book) =>
        Enumerable.Range(1, int.MaxValue).Select(n => n == 1 ? Keeper : $"{Keeper}-{n}")
            .First(name => Like(book, name) is null);

    private static string? Like(Book book, string id) =>
        book.Keys.Values.FirstOrDefault(k => Slug.From(k.Name) == id)?.Name;

    private static string Plain(string id) => id.Length > 0 && id.All(char.IsAscii) ? id : "phone";
}
