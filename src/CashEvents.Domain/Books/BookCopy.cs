using System.Collections.Immutable;

namespace CashEvents.Domain.Books;

/// <summary>From where on a copy of the book tells everything.</summary>
/// <param name="Day">From the end of the day before on it has all balances, and every line that occurred since.</param>
/// <param name="Line">The first line that it has; of those from there on it knows which are corrected.</param>
public readonly record struct CopiedFrom(DateOnly Day, long Line);

/// <summary>
/// A copy of the book to take along, such as on a phone. What happens from a day on is decided on it as on the book
/// itself, but for sweeps, which ask how long money has lain. It does not grow with the years.
/// </summary>
/// <param name="Book">The book as its last line leaves it, as far as it goes along.</param>
/// <param name="From">From where on it tells everything.</param>
/// <param name="Lines">What occurred since then, whenever it was written, in the order of its lines.</param>
public sealed record BookCopy(Book Book, CopiedFrom From, ImmutableArray<BookLine> Lines)
{
    /// <summary>Hash of the last line; null when it was written before lines had one.</summary>
    public string? Hash { get; init; }

    /// <summary>A copy that begins on a day.</summary>
    /// <param name="book">The whole book.</param>
    /// <param name="day">The day.</param>
    /// <param name="lines">All that occurred on that day or later, in the order of the lines.</param>
    public static BookCopy Of(Book book, DateOnly day, IEnumerable<BookLine> lines)
    {
        ArgumentNullException.ThrowIfNull(book);
        var carried = lines.Select(line => line with { Event = line.Event.GoesAlong }).ToImmutableArray();
        var from = new CopiedFrom(day, carried is [var first, ..] ? first.Number : book.Line + 1);
        return new BookCopy(Section.All.Aggregate(book, (copy, section) => section.Carry(copy, from)), from, carried);
    }

    /// <summary>The copy with lines that were written since.</summary>
    /// <param name="lines">In order, from the next number on.</param>
    /// <param name="hash">The last one's hash.</param>
    public BookCopy With(IReadOnlyList<BookLine> lines, string? hash)
    {
        ArgumentNullException.ThrowIfNull(lines);
        return this with
        {
            Book = lines.Aggregate(Book, (book, line) => book.Apply(line.Event)),
            Lines = Lines.AddRange(lines),
            Hash = hash,
        };
    }
}
