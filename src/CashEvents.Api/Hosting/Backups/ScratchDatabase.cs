using Npgsql;

namespace CashEvents.Api.Hosting;

/// <summary>
/// A database beside the books' own, for a moment: a backup is known to restore once it was restored.
/// </summary>
internal static class ScratchDatabase
{
    private const string Named = "cashevents_scratch_";

    /// <summary>Takes a backup in, verifies every book of it, and drops the database.</summary>
    /// <param name="connectionString">The books' own database.</param>
    /// <param name="file">The backup.</param>
    /// <param name="cancellation">Gives up.</param>
    /// <returns>What was found of each book; null where the PostgreSQL's user may not make databases.</returns>
    /// <exception cref="BackupException">The backup can't be taken in.</exception>
    public static async Task<IReadOnlyList<BookBackup>?> RestoreAsync(string connectionString, string file,
        CancellationToken cancellation)
    {
        await using var beside = NpgsqlDataSource.Create(
            new NpgsqlConnectionStringBuilder(connectionString) { Pooling = false });
        var name = Named + Guid.NewGuid().ToString("N")[..12];
        try
        {
            await ForgetLeftAsync(beside, cancellation).ConfigureAwait(false);
            await DoAsync(beside, $"create database {name}", cancellation).ConfigureAwait(false);
        }
        catch (PostgresException denied) when (denied.SqlState == PostgresErrorCodes.InsufficientPrivilege)
        {
            return null;
        }

        try
        {
            return await RestoreIntoAsync(
                new NpgsqlConnectionStringBuilder(connectionString) { Database = name, Pooling = false }
                    .ConnectionString, file, cancellation).ConfigureAwait(false);
        }
        finally
        {
            await DoAsync(beside, $"drop database if exists {name} with (force)", CancellationToken.None)
                .ConfigureAwait(false);
        }
    }

    /// <summary>Takes a backup in where there is no book, and verifies every book of it.</summary>
    /// <exception cref="BackupException">It can't be taken in.</exception>
    public static async Task<IReadOnlyList<BookBackup>> RestoreIntoAsync(string connectionString, string file,
        CancellationToken cancellation)
    {
        await using var server = Server.Build(connectionString, [], fillsByItself: false);
        return await server.ForOneCommandAsync(
            () => RestoreIntoAsync(server.Services, file, cancellation), cancellation).ConfigureAwait(false);
    }

    private static async Task<IReadOnlyList<BookBackup>> RestoreIntoAsync(IServiceProvider services, string file,
        CancellationToken cancellation)
    {
        await using var backup = File.OpenRead(file);
        var taken = await services.GetRequiredService<BackupRestorer>().RestoreAsync(backup, null, cancellation)
            .ConfigureAwait(false);
        var found = new List<BookBackup>();
        foreach (var book in taken)
        {
            found.Add(new BookBackup(book.Household, await services.GetRequiredService<VerificationReader>()
                .ReadAsync(book.Household, cancellation).ConfigureAwait(false)));
        }

        return found;
    }

    // What a program that was killed has left; another server's may be in use.
    private static async Task ForgetLeftAsync(NpgsqlDataSource beside, CancellationToken cancellation)
    {
        var left = new List<string>();
        await using (var command = beside.CreateCommand(
            $"""
            select datname from pg_database d where datname like '{Named}%' and datdba = current_user::regrole
            and not exists (select from pg_stat_activity a where a.datname = d.datname)
            """))
        {
            await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
            while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
            {
                left.Add(reader.GetString(0));
            }
        }

        foreach (var name in left)
        {
            await DoAsync(beside, $"drop database if exists {name}", cancellation).ConfigureAwait(false);
        }
    }

    private static async Task DoAsync(NpgsqlDataSource database, string sql, CancellationToken cancellation)
    {
        await using var command = database.CreateCommand(sql);
        command.CommandTimeout = 0;
        await command.ExecuteNonQueryAsync(cancellation).ConfigureAwait(false);
    }
}
