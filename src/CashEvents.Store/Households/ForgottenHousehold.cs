using Npgsql;

namespace CashEvents.Store.Households;

/// <summary>
/// Takes a household out of the database, whole: its book and all that is kept beside it. No other line is ever
/// removed.
/// </summary>
public sealed class ForgottenHousehold(NpgsqlDataSource database)
{
    private const int MostPasses = 5;

    // Whatever table says whose its rows are, those of later programs included. The end of the book is held while it
    // goes, so it goes last; by the keys it is found what hangs on them.
    private const string Tables = $"""
        select table_name from information_schema.columns join information_schema.tables using (table_schema, table_name)
        where table_schema = '{BookTables.Schema}' and column_name = 'tenant_id' and table_type = 'BASE TABLE'
        order by table_name = 'key', table_name = 'mt_streams', table_name
        """;

    // Servers forget the keys, and whoever listens to the book hears of a line before the one that they have, as after
    // a restore: so they look, and there is no book.
    private const string TellGone = $"""
        select pg_notify('{Announcements.OfKeys}', ''), pg_notify('{Announcements.OfLines}', '1 ' || $1)
        """;

    /// <summary>How many lines a household's book has; 0 where there is none.</summary>
    public async Task<long> LinesAsync(string household, CancellationToken cancellation = default)
    {
        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        return await LinesAsync(connection, household, "", cancellation).ConfigureAwait(false);
    }

    /// <summary>
    /// Forgets a household, all of it or nothing, while servers run. Its keys open nothing from then on. It is done
    /// when a look into every table finds nothing more.
    /// </summary>
    /// <param name="household">Its id.</param>
    /// <param name="lines">How many lines its book has: who says so knows what is forgotten.</param>
    /// <param name="cancellation">Stops it; what was not committed is there still.</param>
    /// <returns>How many rows were taken out; 0 where the book has another number of lines, and nothing was.</returns>
    /// <exception cref="InvalidOperationException">Something keeps writing rows of this household.</exception>
    public async Task<long> ForgetAsync(string household, long lines, CancellationToken cancellation = default)
    {
        var taken = await TakeOutAsync(household, lines, cancellation).ConfigureAwait(false);
        if (taken == 0)
        {
            return 0;
        }

        // A server that did not hear that the keys are gone believes them so long, and may have written since.
        for (var pass = 0; pass < MostPasses; pass++)
        {
            await Task.Delay(KeyRing.TrustedFor, cancellation).ConfigureAwait(false);
            if (await TakeOutAsync(household, null, cancellation).ConfigureAwait(false) == 0)
            {
                await SweepAsync(cancellation).ConfigureAwait(false);
                return taken;
            }
        }

        throw new InvalidOperationException($"Rows of '{household}' are written again and again.");
    }

    private async Task<long> TakeOutAsync(string household, long? lines, CancellationToken cancellation)
    {
        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        await using var transaction = await connection.BeginTransactionAsync(cancellation).ConfigureAwait(false);
        var there = await LinesAsync(connection, household, "for update", cancellation).ConfigureAwait(false);
        if (lines is not null && lines != there)
        {
            return 0;
        }

        var tables = await TablesAsync(connection, cancellation).ConfigureAwait(false);
        await using var batch = new NpgsqlBatch(connection, transaction) { Timeout = 0 };
        foreach (var (table, whose) in BookTables.Beside.Where(beside => !tables.Contains(beside.Key)))
        {
            batch.Add($"delete from {BookTables.Schema}.{table} where {whose}", [household]);
        }

        foreach (var table in tables)
        {
            batch.Add($"delete from {BookTables.Schema}.{table} where tenant_id = $1", [household]);
        }

        var taken = await batch.ExecuteNonQueryAsync(cancellation).ConfigureAwait(false);
        if (taken > 0)
        {
            await using var tell = new NpgsqlCommand(TellGone, connection, transaction)
            {
                Parameters = { new() { Value = household } },
            };
            await tell.ExecuteNonQueryAsync(cancellation).ConfigureAwait(false);
        }

        await transaction.CommitAsync(cancellation).ConfigureAwait(false);
        return taken;
    }

    // PostgreSQL leaves what was deleted on disk until the place is needed.
    private async Task SweepAsync(CancellationToken cancellation)
    {
        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        foreach (var table in await TablesAsync(connection, cancellation).ConfigureAwait(false))
        {
            await using var vacuum = new NpgsqlCommand($"vacuum {BookTables.Schema}.{table}", connection)
            {
                CommandTimeout = 0,
            };
            await vacuum.ExecuteNonQueryAsync(cancellation).ConfigureAwait(false);
        }
    }

    private static async Task<long> LinesAsync(NpgsqlConnection connection, string household, string held,
        CancellationToken cancellation)
    {
        await using var command = new NpgsqlCommand($"select version from {BookTables.Schema}.mt_streams where "
            + $"tenant_id = $1 and id = '{BookTables.Stream}' {held}", connection)
        { Parameters = { new() { Value = household } } };
        return (long?)await command.ExecuteScalarAsync(cancellation).ConfigureAwait(false) ?? 0;
    }

    private static async Task<List<string>> TablesAsync(NpgsqlConnection connection, CancellationToken cancellation)
    {
        var tables = new List<string>();
        await using var command = new NpgsqlCommand(Tables, connection);
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            tables.Add(reader.GetString(0));
        }

        return tables;
    }
}
