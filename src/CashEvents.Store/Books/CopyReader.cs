using Marten;
using Npgsql;

namespace CashEvents.Store.Books;

/// <summary>Reads books to take along, and what was written in them since.</summary>
public sealed class CopyReader(IDocumentStore store, NpgsqlDataSource database, LineReader lines)
{
    /// <summary>The most lines that are told at once; who lacks more takes a new copy.</summary>
    public const int MostLines = 500;

    // Nobody writes so many in two months by hand; a book that scripts fill is copied from a later day on.
    private const int MostCopied = 3000;

    /// <summary>A copy that begins with the month before that of a day, or later where that is too long.</summary>
    public async Task<BookCopy> ReadAsync(string household, DateOnly today, CancellationToken cancellation = default)
    {
        var page = await BookLoader.LoadAsync(store, database, household, cancellation).ConfigureAwait(false);
        var book = page.Book;
        var (day, since) = (today, book.Line + 1);
        foreach (var from in new[] { Month.Of(today).Previous.First, Month.Of(today).First, today })
        {
            (day, since) = (from, await FirstLineAsync(household, from, cancellation).ConfigureAwait(false)
                ?? book.Line + 1);
            if (book.Line - since < MostCopied)
            {
                break;
            }
        }

        IReadOnlyList<BookLine> copied = since > book.Line ? []
            : await lines.ReadAsync(household, new LineFilter(since - 1, (int)(book.Line - since + 1)), cancellation)
                .ConfigureAwait(false);
        return BookCopy.Of(book, day, copied) with { Hash = page.Hash };
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

    private async Task<long?> FirstLineAsync(string household, DateOnly day, CancellationToken cancellation)
    {
        await using var command = database.CreateCommand(
            $"select min(line) from {BookTables.Schema}.line where tenant_id = $1 and occurred_on >= $2");
        command.Parameters.Add(new NpgsqlParameter { Value = household });
        command.Parameters.Add(new NpgsqlParameter { Value = day });
        return await command.ExecuteScalarAsync(cancellation).ConfigureAwait(false) as long?;
    }
}
