using System.Text.Json;

namespace CashEvents.Store.Books;

/// <summary>
/// The book as its last line leaves it, kept as one document a household: what is read most costs one row.
/// </summary>
/// <param name="Book">The book, without its daily balances when it is read from the page.</param>
/// <param name="WrittenAt">The instant (UTC) at which its last line was written.</param>
public sealed record BookPage(Book Book, DateTimeOffset WrittenAt)
{
    /// <summary>The page before the first line.</summary>
    internal static BookPage Blank { get; } = new(Book.Empty, DateTimeOffset.MinValue)
    {
        Hash = LineHash.BeforeFirst,
        Made = BookTables.Made
    };

    /// <summary>The one page of a household.</summary>
    public const string TheOne = "book";

    /// <summary>Always <see cref="TheOne"/>; the household is the tenant.</summary>
    public string Id { get; init; } = TheOne;

    /// <summary>
    /// Which state of the tables' making it was written with; less than <see cref="BookTables.Made"/> when they have to
    /// be rebuilt first.
    /// </summary>
    public int Made { get; init; }

    /// <summary>
    /// How often what is kept beside the lines was put right. Whoever knows the book from before has to read it again.
    /// </summary>
    public int Rebuilds { get; init; }

    /// <summary>Hash of the last line; null when it was written before lines had one.</summary>
    public string? Hash { get; init; }

    /// <summary>Makes what a page is read and written by; otherwise the first one waits for that.</summary>
    public static void MakeReady() => _ = JsonSerializer.Deserialize<BookPage>(
        JsonSerializer.SerializeToUtf8Bytes(Blank, BookJson.Options), BookJson.Options);

    /// <summary>Whether the book's lines end where the page stands, with the line that it stands at.</summary>
    internal bool StandsAt(BookEnd end) => Book.Line == end.Line && (end.Line == 0 || Hash == end.Hash);
}

/// <summary>Where a book ends by its lines.</summary>
/// <param name="Line">Number of the last line; 0 when there is none.</param>
/// <param name="Hash">Its hash; null when it was written before lines had one.</param>
internal readonly record struct BookEnd(long Line, string? Hash);

/// <summary>
/// What is kept beside a book's lines is not of these lines, as after a restore of some tables only; nothing is decided
/// on it.
/// </summary>
public sealed class BookMisfitException(string message) : Exception(message)
{
    internal static BookMisfitException Of(BookPage page, BookEnd end) => new((page.Book.Line == end.Line
        ? $"The balances were kept with another line {end.Line} than the one that the book ends with"
        : $"The balances stand at line {page.Book.Line}, and the book ends at line {end.Line}")
        + ": somebody changed the database, or restored a part of it. Nothing was written. GET /api/verification tells "
        + "whether the lines fit, and POST /api/rebuilds makes the balances anew from them.");
}
