using Npgsql;

namespace CashEvents.Store.Books;

/// <summary>Reads books to take along, and what was written in them since.</summary>
public sealed class CopyReader(NpgsqlDataSource database, LineReader lines)
{
    /// <summary>The most lines that are told at once; who lacks more takes a new copy.</summary>
    public const int MostLines = 500;

    // Nobody writes so many in two months by hand; a book that scripts fill is copied from a later day on.
    private const int MostCopied = 3000;

    /// <summary>A copy that begins with the month before that of a day, or later where that is too long.</summary>
    public async Task<BookCopy> ReadAsync(string household, DateOnly today, CancellationToken cancellation = default)
    {
        var page = await BookLoader.LoadAsync(database, household, cancellation).ConfigureAwait(false);
        var book = page.Book;
        var (day, dated) = (today, (IReadOnlyList<BookLine>)[]);
        foreach (var from in new[] { Month.Of(today).Previous.First, Month.Of(today).First, today })
        {
            (day, dated) = (from, await lines.ReadAsync(household, new LineFilter(0, MostCopied, From: from),
                cancellation).ConfigureAwait(false));
            if (dated.Count < MostCopied)
            {
                break;
            }
        }

        // What has no day, such as a key that was issued, is told among the last.
        var last = await lines.ReadAsync(household, new LineFilter(Math.Max(book.Line - MostLines, 0), MostLines),
            cancellation).ConfigureAwait(false);
        return BookCopy.Of(book, day, dated.Concat(last.Where(line => line.Event is not IDatedEvent))
            .Where(line => line.Number <= book.Line).OrderBy(line => line.Number)) with
        { Hash = page.Hash };
    }

    /// <summary>
    /// The lines after one, at most so many as are told at once and one more; null when that line is not there any
    /// more, or another hash is its own.
    /// </summary>
    public async Task<IReadOnlyList<BookLine>?> ReadAfterAsync(string household, long line, string hash,
        CancellationToken cancellation = default)
    {
        var from = await lines.ReadAsync(household, new LineFilter(line - 1, MostLines + 2), cancellation)
            .ConfigureAwait(false);
        return from is [var known, ..] && known.Number == line && known.Hash == hash
            ? [.. from.Skip(1).Select(later => later with { Event = later.Event.GoesAlong })]
            : null;
    }
}
