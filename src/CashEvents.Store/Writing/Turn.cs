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

    private Turn(NpgsqlConnection connection, NpgsqlTransaction transaction) =>
        (_connection, _transaction) = (connection, transaction);

    /// <summary>Waits for the turn.</summary>
    public static async Task<Turn> TakeAsync(NpgsqlDataSource database, string household)
    {
        var connection = await database.OpenConnectionAsync().ConfigureAwait(false);
        try
        {
            var transaction = await connection.BeginTransactionAsync().ConfigureAwait(false);
            await using var batch = new NpgsqlBatch(connection, transaction);
            batch.Add("set local idle_in_transaction_session_timeout = '5s'", []);
            batch.Add(Take, [household]);
            batch.Add(Hold, [household]);
            await batch.ExecuteNonQueryAsync().ConfigureAwait(false);
            return new Turn(connection, transaction);
        }
        catch
        {
            await connection.DisposeAsync().ConfigureAwait(false);
            throw;
        }
    }

    /// <summary>Statements that are run within the turn.</summary>
    public NpgsqlBatch CreateBatch() => new(_connection, _transaction);

    /// <summary>Commits what was run, and ends the turn.</summary>
    public Task CommitAsync() => _transaction.CommitAsync();

    /// <summary>Ends the turn; what was not committed is undone.</summary>
    public async ValueTask DisposeAsync()
    {
        await _transaction.DisposeAsync().ConfigureAwait(false);
        await _connection.DisposeAsync().ConfigureAwait(false);
    }
}
