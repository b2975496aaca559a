using CashEvents.Domain.Books;
using CashEvents.Store.Chain;

namespace CashEvents.Store.Books;

/// <summary>The book as its last line leaves it, kept as one document a household: what is read most costs one row.</summary>
/// <param name="Book">The book, without its daily balances when it is read from the page.</param>
/// <param name="WrittenAt">The instant (UTC) at which its last line was written.</param>
public sealed record BookPage(Book Book, DateTimeOffset WrittenAt)
{
    /// <summary>The page before the first line.</summary>
    internal static BookPage Blank { get; } = new(Book.Empty, DateTimeOffset.MinValue) { Hash = LineHash.BeforeFirst };

    /// <summary>The one page of a household.</summary>
    public const string TheOne = "book";

    /// <summary>Always <see cref="TheOne"/>; the household is the tenant.</summary>
    public string Id { get; init; } = TheOne;

    /// <summary>Which state of the tables' making it was written with; less than <see cref="BookTables.Made"/> when they have to be rebuilt first.</summary>
    public int Made { get; init; }

    /// <summary>How often what is kept beside the lines was put right. Whoever knows the book from before has to read it again.</summary>
    public int Rebuilds { get; init; }

    /// <summary>Hash of the last line; null when it was written before lines had one.</summary>
    public string? Hash { get; init; }
}
