using System.Security.Cryptography;
using Microsoft.Extensions.Logging;
using Npgsql;

namespace CashEvents.Store.Paydays;

/// <summary>A household's calendar, as far as it is no reading of the book.</summary>
/// <param name="Household">Whose it is.</param>
/// <param name="Id">What tells its entries from those of every other calendar; stays when the address is
/// renewed.</param>
/// <param name="CountEvery">How often a wallet is to be counted.</param>
/// <param name="Made">When the address was made.</param>
public sealed record CalendarAddress(string Household, Guid Id, Period CountEvery, DateTimeOffset Made);

/// <summary>How often what an entry of a calendar says has changed.</summary>
/// <param name="Sequence">0 at first (RFC 5545, section 3.8.7.4).</param>
/// <param name="Changed">When it last did.</param>
public sealed record CalendarRevision(int Sequence, DateTimeOffset Changed);

/// <summary>
/// The secret addresses of households' calendars, of which only a hash is kept, and how often their entries changed.
/// They stand beside the book: no figure depends on them.
/// </summary>
public sealed class CalendarAddresses(NpgsqlDataSource database, TimeProvider clock, ILogger<CalendarAddresses> logger)
{
    private const string Table = $"{BookTables.Schema}.calendar_address";
    private const string Columns = "tenant_id, id, count_every, made";

    private const string Renew = $"""
        insert into {Table} as a (tenant_id, hash, id, count_every, made) values ($1, $2, $3, $4, $5)
        on conflict (tenant_id) do update set hash = excluded.hash, count_every = excluded.count_every, made = excluded.made
        returning {Columns}
        """;

    // None is taken away: of an entry that comes back the number goes on.
    private const string Note = $"""
        insert into {BookTables.Schema}.calendar_entry as e (tenant_id, entry, fingerprint, sequence, changed)
        select $1, said.entry, said.fingerprint, 0, $4 from unnest($2, $3) as said(entry, fingerprint)
        on conflict (tenant_id, entry) do update
            set fingerprint = excluded.fingerprint, sequence = e.sequence + 1, changed = excluded.changed
            where e.fingerprint <> excluded.fingerprint
        """;

    private const string Noted = $"""
        select entry, sequence, changed from {BookTables.Schema}.calendar_entry where tenant_id = $1 and entry = any($2)
        """;

    /// <summary>Makes a household's address, in the stead of the one before.</summary>
    /// <param name="household">Whose.</param>
    /// <param name="countEvery">How often a wallet is to be counted.</param>
    /// <param name="cancellation">Gives up.</param>
    /// <returns>The secret of the address, told this once: 256 random bits in hexadecimal.</returns>
    public async Task<(string Secret, CalendarAddress Address)> RenewAsync(string household, Period countEvery,
        CancellationToken cancellation = default)
    {
        var secret = Convert.ToHexStringLower(RandomNumberGenerator.GetBytes(32));
        var address = await AskAsync(Renew, cancellation, household, KeyRing.Hash(secret), Guid.NewGuid(),
            countEvery.ToString(), Now().UtcDateTime).ConfigureAwait(false);
        return (secret, address!);
    }

    /// <summary>Takes a household's address away.</summary>
    public Task TakeAwayAsync(string household, CancellationToken cancellation = default) =>
        AskAsync($"update {Table} set hash = null where tenant_id = $1 returning {Columns}", cancellation, household);

    /// <summary>A household's address; null while there is none.</summary>
    public Task<CalendarAddress?> OfAsync(string household, CancellationToken cancellation = default) =>
        AskAsync($"select {Columns} from {Table} where tenant_id = $1 and hash is not null", cancellation, household);

    /// <summary>The calendar of a secret; null where no household has it.</summary>
    public Task<CalendarAddress?> FindAsync(string secret, CancellationToken cancellation = default) =>
        AskAsync($"select {Columns} from {Table} where hash = $1", cancellation, KeyRing.Hash(secret));

    /// <summary>
    /// Notes what the entries of a calendar say, by fingerprint, and tells how often each has changed.
    /// </summary>
    public async Task<IReadOnlyDictionary<string, CalendarRevision>> ReviseAsync(string household,
        IReadOnlyDictionary<string, string> said, CancellationToken cancellation = default)
    {
        var entries = said.Keys.ToArray();
        try
        {
            await using var note = database.CreateCommand(Note);
            Bind(note, household, entries, entries.Select(entry => said[entry]).ToArray(), Now().UtcDateTime);
            await note.ExecuteNonQueryAsync(cancellation).ConfigureAwait(false);
        }
        catch (PostgresException failure) when (failure.SqlState is PostgresErrorCodes.DiskFull
            or PostgresErrorCodes.ReadOnlySqlTransaction)
        {
            // What stands there is still told.
            logger.LogWarning("That entries of the calendar changed can't be noted. {Reason}", failure.MessageText);
        }

        await using var command = database.CreateCommand(Noted);
        Bind(command, household, entries);
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        var revisions = new Dictionary<string, CalendarRevision>(StringComparer.Ordinal);
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            revisions[reader.GetString(0)] =
                new CalendarRevision(reader.GetInt32(1), reader.GetFieldValue<DateTimeOffset>(2));
        }

        return revisions;
    }

    // In whole seconds, which is what a calendar tells.
    private DateTimeOffset Now()
    {
        var now = clock.GetUtcNow();
        return now.AddTicks(-(now.Ticks % TimeSpan.TicksPerSecond));
    }

    private async Task<CalendarAddress?> AskAsync(string sql, CancellationToken cancellation, params object[] values)
    {
        await using var command = database.CreateCommand(sql);
        Bind(command, values);
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        return await reader.ReadAsync(cancellation).ConfigureAwait(false)
            ? new CalendarAddress(reader.GetString(0), reader.GetGuid(1), Period.Of(reader.GetString(2)),
                reader.GetFieldValue<DateTimeOffset>(3))
            : null;
    }

    private static void Bind(NpgsqlCommand command, params object[] values)
    {
        foreach (var value in values)
        {
            command.Parameters.Add(new NpgsqlParameter { Value = value });
        }
    }
}
