using Npgsql;

namespace CashEvents.Store.Writing;

/// <summary>
/// A server's turn in a book that another server writes in too. It has the book for itself from before it decides until
/// its commit, so that neither loses what it decided; then it is the next one's turn, in the order in which they asked.
/// </summary>
/// <remarks>It is a transaction: it ends with its server, and one that freezes is cut off by PostgreSQL. The stream's
/// version is looked at all the same.</remarks>
internal sealed class Turn : IAsyncDisposable
{
    // Locks of rows go to whoever comes first; these are given in order. Servers that take no turns are kept out by
    // the row, and then take turns too.
    private const string Take = """
        select pg_advisory_xact_lock(hashtextextended($1, 20261130))
        """;

    private const string Hold = $"""
        select version from {BookTables.Schema}.mt_streams where tenant_id = $1 and id = '{BookTables.Stream}' for update
        """;

    private readonly NpgsqlConnection _connection;
    private readonly NpgsqlTransaction _transaction;

    private Turn(NpgsqlConnection connection, NpgsqlTransaction transaction, BookPage? page) =>
        (_connection, _transaction, Page) = (connection, transaction, page);

    /// <summary>The book as it stands in this turn; null when it has to be read.</summary>
    public BookPage? Page { get; }

    /// <summary>Waits for the turn, and reads what others wrote until then, in one round trip.</summary>
    /// <param name="database">Where the book is.</param>
    /// <param name="household">Whose book.</param>
    /// <param name="known">The book as it is known here; null when it is not.</param>
    public static async Task<Turn> TakeAsync(NpgsqlDataSource database, string household, BookPage? known = null)
    {
        var connection = await database.OpenConnectionAsync().ConfigureAwait(false);
        try
        {
            var transaction = await connection.BeginTransactionAsync().ConfigureAwait(false);
            await using var batch = new NpgsqlBatch(connection, transaction);
            batch.Add("set local idle_in_transaction_session_timeout = '5s'", []);
            batch.Add(Take, [household]);
            batch.Add(Hold, [household]);
            if (known is not null)
            {
                batch.Add(BookLoader.LinesFrom, [household, known.Book.Line]);
            }

            return new Turn(connection, transaction, await CaughtUpAsync(batch, known).ConfigureAwait(false));
        }
        catch
        {
            await connection.DisposeAsync().ConfigureAwait(false);
            throw;
        }
    }

    /// <summary>Statements that are run within the turn.</summary>
    public NpgsqlBatch CreateBatch() => new(_connection, _transaction);

    /// <summary>Commits what was run, and ends the turn, with the statements before it.</summary>
    public static void AddEnd(NpgsqlBatch batch) => batch.Add("commit", []);

    private static async Task<BookPage?> CaughtUpAsync(NpgsqlBatch batch, BookPage? known)
    {
        await using var reader = await batch.ExecuteReaderAsync().ConfigureAwait(false);
        await reader.NextResultAsync().ConfigureAwait(false);
        var end = await reader.ReadAsync().ConfigureAwait(false) ? reader.GetInt64(0) : 0;
        if (known is null)
        {
            return null;
        }

        await reader.NextResultAsync().ConfigureAwait(false);
        var page = await BookLoader.CatchUpAsync(reader, known).ConfigureAwait(false);
        return page?.Book.Line == end ? page : null;
    }

    /// <summary>Ends the turn; what was not committed is undone.</summary>
    public async ValueTask DisposeAsync()
    {
        await _transaction.DisposeAsync().ConfigureAwait(false);
        await _connection.DisposeAsync().ConfigureAwait(false);
    }
}
