using System.Collections.Concurrent;
using System.Diagnostics.CodeAnalysis;
using System.Security.Cryptography;
using System.Text;
using Npgsql;

namespace CashEvents.Store.Households;

/// <summary>Who holds a key, and whose book it opens.</summary>
/// <param name="Household">The tenant.</param>
/// <param name="Key">Name, role and movements.</param>
public sealed record KeyHolder(string Household, Key Key);

/// <summary>
/// Knows keys by their hash. A key that is revoked by another server is refused here at once, and within
/// <see cref="TrustedFor"/> where this server could not hear of it.
/// </summary>
public sealed class KeyRing(NpgsqlDataSource database, TimeProvider clock)
{
    /// <summary>How long a key that was looked up is believed without looking again.</summary>
    public static readonly TimeSpan TrustedFor = TimeSpan.FromSeconds(2);

    /// <summary>How much later than told a key may have been used: so often at most it is written down.</summary>
    public static readonly TimeSpan UseToldWithin = TimeSpan.FromMinutes(1);

    // The transaction need not wait for the disk: what a power cut takes is told by the next use.
    private const string NoteUse = $"""
        insert into {BookTables.Schema}.key_use as u (hash, last_used) select $1, $2 where set_config('synchronous_commit', 'off', true) = 'off'
        on conflict (hash) do update set last_used = excluded.last_used where u.last_used < excluded.last_used
        """;

    private readonly ConcurrentDictionary<string, DateTimeOffset> _used = new(StringComparer.Ordinal);

    private readonly ConcurrentDictionary<string, (KeyHolder Holder, long Since, long Revocations)> _known = new(
        StringComparer.Ordinal);

    // What was looked up before the last revocation is not believed, a look-up that was under way then included.
    private long _revocations;

    /// <summary>A new key: 256 random bits, written so that it survives a shell and a URL.</summary>
    public static string NewKey() =>
        "ce_" + Convert.ToBase64String(RandomNumberGenerator.GetBytes(32)).TrimEnd('=').Replace('+', '-')
            .Replace('/', '_');

    /// <summary>The only form of a key that is kept.</summary>
    [SuppressMessage("Globalization", "CA1308:Normalize strings to uppercase",
        Justification = "Hexadecimal is written small here.")]
    public static string Hash(string key) =>
    Convert.ToHexString(SHA256.HashData(Encoding.UTF8.GetBytes(key))).ToLowerInvariant();

    /// <summary>
    /// Who holds a key, or held it: it may be revoked or have expired. What a browser keeps stands for the key with
    /// which it signed in. Null when it was never issued.
    /// </summary>
    public async ValueTask<KeyHolder?> FindAsync(string key, CancellationToken cancellation = default)
    {
        var revocations = Volatile.Read(ref _revocations);
        if (_known.TryGetValue(key, out var known) && known.Revocations == revocations
            && clock.GetElapsedTime(known.Since) < TrustedFor)
        {
            return known.Holder;
        }

        var since = clock.GetTimestamp();
        var holder = await LookUpAsync(Hash(key), cancellation).ConfigureAwait(false);
        if (holder is null)
        {
            _known.TryRemove(key, out _);
        }
        else
        {
            _known[key] = (holder, since, revocations);
        }

        return holder;
    }

    /// <summary>Who holds or held the key of a hash; null when it was never issued.</summary>
    public async Task<KeyHolder?> FindByHashAsync(string hash, CancellationToken cancellation = default) =>
        await LookUpAsync(hash, cancellation).ConfigureAwait(false);

    /// <summary>Notes that a key was used, where that was not noted within the last minute.</summary>
    public async ValueTask NoteUseAsync(Key key, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(key);
        var now = clock.GetUtcNow();
        if (_used.TryGetValue(key.Hash, out var last) && (now - last).Duration() < UseToldWithin)
        {
            return;
        }

        _used[key.Hash] = now;
        try
        {
            await using var command = database.CreateCommand(NoteUse);
            command.Parameters.Add(new NpgsqlParameter { Value = key.Hash });
            command.Parameters.Add(new NpgsqlParameter { Value = now.UtcDateTime });
            await command.ExecuteNonQueryAsync(cancellation).ConfigureAwait(false);
        }
        catch (NpgsqlException)
        {
            // A disk that is full keeps nobody from reading.
        }
    }

    /// <summary>When the keys of a household were last used, by name; those that never were are left out.</summary>
    public async Task<IReadOnlyDictionary<string, DateTimeOffset>> LastUsesAsync(string household,
        CancellationToken cancellation = default)
    {
        await using var command =
            database.CreateCommand($"select k.name, u.last_used from {BookTables.Schema}.key k join "
                + $"{BookTables.Schema}.key_use u on u.hash = k.hash where k.tenant_id = $1");
        command.Parameters.Add(new NpgsqlParameter { Value = household });
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        var uses = new Dictionary<string, DateTimeOffset>(StringComparer.Ordinal);
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            uses[reader.GetString(0)] = reader.GetFieldValue<DateTimeOffset>(1);
        }

        return uses;
    }

    /// <summary>Forgets what is known, so that the next request looks again.</summary>
    public void Forget()
    {
        Interlocked.Increment(ref _revocations);
        _known.Clear();
    }

    /// <summary>Every household that has a book here.</summary>
    public async Task<IReadOnlyList<string>> HouseholdsAsync(CancellationToken cancellation = default)
    {
        await using var command =
            database.CreateCommand($"select distinct tenant_id from {BookTables.Schema}.key order by tenant_id");
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        var households = new List<string>();
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            households.Add(reader.GetString(0));
        }

        return households;
    }

    private async Task<KeyHolder?> LookUpAsync(string hash, CancellationToken cancellation)
    {
        await using var command =
            database.CreateCommand($"select tenant_id, name, role, movements, revoked, expires, hash from "
                + $"{BookTables.Schema}.key where hash = coalesce((select key_hash from {BookTables.Schema}.session "
                + $"where hash = $1), $1)");
        command.Parameters.Add(new NpgsqlParameter { Value = hash });
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        return !await reader.ReadAsync(cancellation).ConfigureAwait(false)
            ? null
            : new KeyHolder(reader.GetString(0), new Key(
                reader.GetString(1),
                Stored.Read<Role>(reader.GetString(2)),
                [.. reader.GetFieldValue<string[]>(3).Select(Stored.Read<MovementKind>)],
                reader.GetString(6),
                0)
            {
                Revoked = reader.GetBoolean(4),
                Expires = reader.IsDBNull(5) ? null : DateTimeOffset.FromUnixTimeMilliseconds(reader.GetInt64(5)),
            });
    }
}
