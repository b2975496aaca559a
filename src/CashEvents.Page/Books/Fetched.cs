namespace CashEvents.Page.Books;

/// <summary>What the server told of the book: a copy, or the lines since the one that is here.</summary>
public sealed record Fetched(string Household, string Name, Role Role, DateTimeOffset Now, string Program, long Line)
{
    /// <summary>A whole copy; null where lines will do.</summary>
    public BookCopy? Copy { get; init; }

    /// <summary>The lines since.</summary>
    public IReadOnlyList<BookLine>? Lines { get; init; }

    /// <summary>Hash of the last of them.</summary>
    public string? Hash { get; init; }
}

/// <summary>Who holds this phone, and when it and the server last agreed.</summary>
/// <param name="Household">Whose book it is.</param>
/// <param name="Name">Name of the key, as it stands beside lines.</param>
/// <param name="Role">What it may do.</param>
/// <param name="AgreedAt">When the copy was the server's, by the server's clock.</param>
/// <param name="Ahead">How much this phone's clock is ahead of the server's.</param>
public sealed record Holder(string Household, string Name, Role Role, DateTimeOffset AgreedAt, TimeSpan Ahead)
{
    /// <summary>Which build of the book's rules this page has. What another has read may be unreadable to it.</summary>
    public static string Build { get; } = typeof(Book).Module.ModuleVersionId.ToString("N");

    /// <summary>Which build has read the copy whole; null for one that did not say.</summary>
    public string? ReadBy { get; init; }

    /// <summary>Whether they may write what moves money.</summary>
    public bool MayWrite => Role is Role.Keeper or Role.Member;

    /// <summary>Whether they keep the book.</summary>
    public bool Keeps => Role is Role.Keeper;
}

/// <summary>A line on a sheet: in ink when it stands in the book, in pencil while only this phone knows it.</summary>
/// <param name="Line">The line; in pencil with the number that it would have.</param>
/// <param name="Pencil">What it was written as; null for ink.</param>
public readonly record struct Shown(BookLine Line, Pencilled? Pencil);
