using CashEvents.Domain.Books;
using Marten;
using Npgsql;

namespace CashEvents.Store.Books;

/// <summary>Reads books as they stand.</summary>
public sealed class BookReader(IDocumentStore store, NpgsqlDataSource database)
{
    /// <summary>A household's book at its last line, without daily balances; the empty book when there is none.</summary>
    public async Task<Book> ReadAsync(string household, CancellationToken cancellation = default)
    {
        await using var session = store.QuerySession(household);
        var page = await session.LoadAsync<BookPage>(BookPage.TheOne, cancellation).ConfigureAwait(false);
        return page?.Book ?? Book.Empty;
    }

    /// <summary>A household's book at its last line, whole: what is decided on it is what would be written.</summary>
    public async Task<Book> ReadWholeAsync(string household, CancellationToken cancellation = default) =>
        (await BookLoader.LoadAsync(store, database, household, cancellation).ConfigureAwait(false)).Book;

    /// <summary>A household's book replayed from its first line, up to one or to the last.</summary>
    public async Task<Book> ReplayAsync(string household, long? upTo = null, CancellationToken cancellation = default)
    {
        await using var session = store.QuerySession(household);
        var lines = await session.Events.FetchStreamAsync(BookTables.Stream, version: upTo ?? 0, token: cancellation).ConfigureAwait(false);
        return lines.Aggregate(Book.Empty, (book, line) => book.Apply((IBookEvent)line.Data));
    }
}
