using System.Security.Cryptography;
using Npgsql;

namespace CashEvents.Store.Notices;

/// <summary>
/// The webhooks of households, beside their books: how far each has come stands in the database, so that a delivery
/// survives whatever happens to the program.
/// </summary>
public sealed class WebhookBook(NpgsqlDataSource database, NewLines lines)
{
    /// <summary>Webhooks that a household may have.</summary>
    public const int Most = 20;

    /// <summary>For so long a secret that was renewed signs beside the new one.</summary>
    public static readonly TimeSpan OldSecretsSignFor = TimeSpan.FromDays(1);

    /// <summary>Deliveries that are kept to look at, of each webhook.</summary>
    public const int DeliveriesKept = 1000;

    private const string Columns = "id, url, kinds, compartments, secret, old_secret, old_until, line, telling, state, "
        + "failures, failing_since, retry_at";

    private const string Begin = $"""
        insert into {BookTables.Schema}.webhook (tenant_id, id, url, kinds, compartments, secret, line, telling, state, failures)
        select $1, $2, $3, $4, $5, $6,
            coalesce((select version from {BookTables.Schema}.mt_streams where tenant_id = $1 and id = '{BookTables.Stream}'), 0),
            coalesce((select told from {BookTables.Schema}.notice_look where tenant_id = $1), 0), 'active', 0
        where (select count(*) from {BookTables.Schema}.webhook where tenant_id = $1) < $7
        """;

    /// <summary>A new secret: 256 random bits, as the Standard Webhooks specification writes them.</summary>
    public static string NewSecret() => "whsec_" + Convert.ToBase64String(RandomNumberGenerator.GetBytes(32));

    /// <summary>Those of a household, in the order of their ids.</summary>
    public async Task<IReadOnlyList<Webhook>> AllAsync(string household, CancellationToken cancellation = default)
    {
        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        return await ReadAsync(connection, "tenant_id = $1 order by id", cancellation, household)
            .ConfigureAwait(false);
    }

    /// <summary>One of a household; null where there is none of this id.</summary>
    public async Task<Webhook?> FindAsync(string household, string id, CancellationToken cancellation = default)
    {
        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        return (await ReadAsync(connection, "tenant_id = $1 and id = $2", cancellation, household, id)
            .ConfigureAwait(false)).SingleOrDefault();
    }

    /// <summary>Households that have any that is active, and all whose next try has come.</summary>
    /// <param name="retriesUntil">Only those that wait for a try that is due by then; null for all.</param>
    /// <param name="cancellation">Stops it.</param>
    public async Task<IReadOnlyList<string>> HouseholdsAsync(DateTimeOffset? retriesUntil,
        CancellationToken cancellation = default)
    {
        await using var command = database.CreateCommand($"select distinct tenant_id from {BookTables.Schema}.webhook "
            + $"where state = 'active'{(retriesUntil is null ? "" : " and retry_at <= $1")}");
        if (retriesUntil is { } until)
        {
            command.Parameters.Add(new NpgsqlParameter { Value = until.UtcDateTime });
        }

        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        var households = new List<string>();
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            households.Add(reader.GetString(0));
        }

        return households;
    }

    /// <summary>Those of some households that are active, in one look for all of them.</summary>
    public async Task<IReadOnlyList<(string Household, string Id)>> ActiveAsync(IReadOnlyList<string> households,
        CancellationToken cancellation = default)
    {
        await using var command = database.CreateCommand($"select tenant_id, id from {BookTables.Schema}.webhook "
            + "where tenant_id = any($1) and state = 'active'");
        command.Parameters.Add(new NpgsqlParameter { Value = households.ToArray() });
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        var active = new List<(string Household, string Id)>();
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            active.Add((reader.GetString(0), reader.GetString(1)));
        }

        return active;
    }

    /// <summary>Begins one behind the book's last line.</summary>
    /// <returns>Whether there is a place for it.</returns>
    public async Task<bool> AddAsync(string household, Webhook webhook, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(webhook);
        return await ExecuteAsync(Begin, cancellation, household, webhook.Id, webhook.Url, webhook.Kinds.ToArray(),
            webhook.Compartments.ToArray(), webhook.Secret, (long)Most).ConfigureAwait(false) > 0;
    }

    /// <summary>Says anew what is sent and where to; one that was parked goes on from where it was.</summary>
    public async Task<bool> ChangeAsync(string household, string id, string url, IReadOnlyList<string> kinds,
        IReadOnlyList<string> compartments, CancellationToken cancellation = default)
    {
        var changed = await ExecuteAsync($"update {BookTables.Schema}.webhook set url = $3, kinds = $4, compartments = "
            + $"$5, "
            + "state = 'active', failures = 0, failing_since = null, retry_at = null where tenant_id = $1 and id = $2",
            cancellation, household, id, url, kinds.ToArray(), compartments.ToArray()).ConfigureAwait(false) > 0;
        lines.LookAgain(household);
        return changed;
    }

    /// <summary>Renews the secret; the old one signs for a day more.</summary>
    public Task<int> RenewSecretAsync(string household, string id, string secret, DateTimeOffset now,
        CancellationToken cancellation = default) => ExecuteAsync(
        $"update {BookTables.Schema}.webhook set old_secret = secret, old_until = $4, secret = $3 where tenant_id = $1 "
            + "and id = $2", cancellation, household, id, secret, (now + OldSecretsSignFor).UtcDateTime);

    /// <summary>Ends one, with what is known of its deliveries.</summary>
    public async Task<bool> RemoveAsync(string household, string id, CancellationToken cancellation = default)
    {
        var removed = await ExecuteAsync($"delete from {BookTables.Schema}.webhook where tenant_id = $1 and id = $2",
            cancellation, household, id).ConfigureAwait(false) > 0;
        await ExecuteAsync($"delete from {BookTables.Schema}.webhook_delivery where tenant_id = $1 and webhook = $2",
            cancellation, household, id).ConfigureAwait(false);
        return removed;
    }

    /// <summary>The latest deliveries of one, the latest first.</summary>
    public async Task<IReadOnlyList<Delivery>> DeliveriesAsync(string household, string webhook, int most,
        string? id = null, CancellationToken cancellation = default)
    {
        await using var command =
            database.CreateCommand("select id, kind, number, attempts, last_at, status, fault from "
            + $"{BookTables.Schema}.webhook_delivery where tenant_id = $1 and webhook = $2 and ($4 is null or id = $4) "
            + "order by last_at desc, number desc limit $3");
        foreach (var value in new object[] { household, webhook, most })
        {
            command.Parameters.Add(new NpgsqlParameter { Value = value });
        }

        command.Parameters.Add(new NpgsqlParameter<string?> { TypedValue = id });
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        var deliveries = new List<Delivery>();
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            deliveries.Add(new Delivery(reader.GetString(0), reader.GetString(1), reader.GetInt64(2),
                reader.GetInt32(3), reader.GetFieldValue<DateTimeOffset>(4),
                reader.IsDBNull(5) ? null : reader.GetInt32(5), reader.IsDBNull(6) ? null : reader.GetString(6)));
        }

        return deliveries;
    }

    /// <summary>Notes what became of a message that was sent by itself, out of its turn.</summary>
    public async Task NoteAsync(string household, string webhook, Delivery sent,
        CancellationToken cancellation = default)
    {
        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        await NoteAsync(connection, household, webhook, sent, cancellation).ConfigureAwait(false);
    }

    /// <summary>
    /// Takes one in hand, if it is active, due, and in no other hand, and keeps what came of it. A server that dies
    /// meanwhile lets it go as it was.
    /// </summary>
    /// <param name="household">Whose.</param>
    /// <param name="id">Which.</param>
    /// <param name="now">The instant.</param>
    /// <param name="turn">Sends its next message, and says how it stands then; null where there is nothing to
    /// send.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <returns>How it stands; null where it was not taken, or nothing was to be sent.</returns>
    public async Task<Webhook?> InTurnAsync(string household, string id, DateTimeOffset now,
        Func<Webhook, Task<(Webhook After, Delivery? Sent)?>> turn, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(turn);
        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        await using var transaction = await connection.BeginTransactionAsync(cancellation).ConfigureAwait(false);
        var held = (await ReadAsync(connection,
            "tenant_id = $1 and id = $2 and state = 'active' and (retry_at is null or "
            + "retry_at <= $3) for update skip locked", cancellation, household, id, now.UtcDateTime)
            .ConfigureAwait(false)).SingleOrDefault();
        if (held is null || await turn(held).ConfigureAwait(false) is not var (after, sent))
        {
            return null;
        }

        await ExecuteAsync(connection, $"""
            update {BookTables.Schema}.webhook set line = $3, telling = $4, state = $5, failures = $6, failing_since = $7, retry_at = $8
            where tenant_id = $1 and id = $2
            """, cancellation, household, id, after.Line, after.Telling, Stored.Word(after.State), after.Failures,
            (object?)after.FailingSince?.UtcDateTime ?? DBNull.Value,
            (object?)after.RetryAt?.UtcDateTime ?? DBNull.Value).ConfigureAwait(false);
        if (sent is not null)
        {
            await NoteAsync(connection, household, id, sent, cancellation).ConfigureAwait(false);
        }

        await transaction.CommitAsync(cancellation).ConfigureAwait(false);
        return after;
    }

    private static async Task NoteAsync(NpgsqlConnection connection, string household, string webhook, Delivery sent,
        CancellationToken cancellation)
    {
        await ExecuteAsync(connection, $"""
            insert into {BookTables.Schema}.webhook_delivery as d (tenant_id, webhook, id, kind, number, attempts, last_at, status, fault)
            values ($1, $2, $3, $4, $5, 1, $6, $7, $8)
            on conflict (tenant_id, webhook, id) do update set attempts = d.attempts + 1, last_at = excluded.last_at,
                status = excluded.status, fault = excluded.fault
            """, cancellation, household, webhook, sent.Id, sent.Kind, sent.Number, sent.LastAt.UtcDateTime,
            (object?)sent.Status ?? DBNull.Value, (object?)sent.Fault ?? DBNull.Value).ConfigureAwait(false);
        if (sent.Number % 100 == 0)
        {
            await ExecuteAsync(connection, $"""
                delete from {BookTables.Schema}.webhook_delivery where tenant_id = $1 and webhook = $2 and last_at <
                    (select last_at from {BookTables.Schema}.webhook_delivery where tenant_id = $1 and webhook = $2
                     order by last_at desc offset $3 limit 1)
                """, cancellation, household, webhook, (long)DeliveriesKept).ConfigureAwait(false);
        }
    }

    private static async Task<List<Webhook>> ReadAsync(NpgsqlConnection connection, string where,
        CancellationToken cancellation, params object[] values)
    {
        await using var command = new NpgsqlCommand(
            $"select {Columns} from {BookTables.Schema}.webhook where {where}", connection);
        command.Parameters.AddRange(values.Select(value => new NpgsqlParameter { Value = value }).ToArray());
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        var webhooks = new List<Webhook>();
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            webhooks.Add(new Webhook(reader.GetString(0), reader.GetString(1), reader.GetFieldValue<string[]>(2),
                reader.GetFieldValue<string[]>(3))
            {
                Secret = reader.GetString(4),
                OldSecret = reader.IsDBNull(5) ? null : reader.GetString(5),
                OldUntil = Instant(6),
                Line = reader.GetInt64(7),
                Telling = reader.GetInt64(8),
                State = Stored.Read<WebhookState>(reader.GetString(9)),
                Failures = reader.GetInt32(10),
                FailingSince = Instant(11),
                RetryAt = Instant(12),
            });
        }

        return webhooks;

        DateTimeOffset? Instant(int column) =>
            reader.IsDBNull(column) ? null : reader.GetFieldValue<DateTimeOffset>(column);
    }

    private async Task<int> ExecuteAsync(string sql, CancellationToken cancellation, params object[] values)
    {
        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        return await ExecuteAsync(connection, sql, cancellation, values).ConfigureAwait(false);
    }

    private static async Task<int> ExecuteAsync(NpgsqlConnection connection, string sql,
        CancellationToken cancellation, params object[] values)
    {
        await using var command = new NpgsqlCommand(sql, connection);
        command.Parameters.AddRange(values.Select(value => new NpgsqlParameter { Value = value }).ToArray());
        return await command.ExecuteNonQueryAsync(cancellation).ConfigureAwait(false);
    }
}
