using System.Collections.Concurrent;
using System.Diagnostics.CodeAnalysis;
using System.Security.Cryptography;
using System.Text;
using CashEvents.Domain.Books;
using CashEvents.Domain.Keys;
using CashEvents.Store.Books;
using Npgsql;

namespace CashEvents.Store.Keys;

/// <summary>Who holds a key, and whose book it opens.</summary>
/// <param name="Household">The tenant.</param>
/// <param name="Key">Name, role and movements.</param>
public sealed record KeyHolder(string Household, Key Key);

/// <summary>Knows keys by their hash. A key that is revoked by another server is refused here within <see cref="TrustedFor"/>.</summary>
public sealed class KeyRing(NpgsqlDataSource database, TimeProvider clock)
{
    /// <summary>How long a key that was looked up is believed without looking again.</summary>
    public static readonly TimeSpan TrustedFor = TimeSpan.FromSeconds(2);

    private readonly ConcurrentDictionary<string, (KeyHolder Holder, long Since, long Revocations)> _known = new(StringComparer.Ordinal);

    // What was looked up before the last revocation is not believed, a look-up that was under way then included.
    private long _revocations;

    /// <summary>A new key: 256 random bits, written so that it survives a shell and a URL.</summary>
    public static string NewKey() => "ce_" + Convert.ToBase64String(RandomNumberGenerator.GetBytes(32)).TrimEnd('=').Replace('+', '-').Replace('/', '_');

    /// <summary>The only form of a key that is kept.</summary>
    [SuppressMessage("Globalization", "CA1308:Normalize strings to uppercase", Justification = "Hexadecimal is written small here.")]
    public static string Hash(string key) => Convert.ToHexString(SHA256.HashData(Encoding.UTF8.GetBytes(key))).ToLowerInvariant();

    /// <summary>Who holds a key; null when nobody does any more.</summary>
    public async ValueTask<KeyHolder?> FindAsync(string key, CancellationToken cancellation = default)
    {
        var revocations = Volatile.Read(ref _revocations);
        if (_known.TryGetValue(key, out var known) && known.Revocations == revocations && clock.GetElapsedTime(known.Since) < TrustedFor)
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

    /// <summary>Forgets what is known, so that the next request looks again.</summary>
    public void Forget()
    {
        Interlocked.Increment(ref _revocations);
        _known.Clear();
    }

    /// <summary>Every household that has a book here.</summary>
    public async Task<IReadOnlyList<string>> HouseholdsAsync(CancellationToken cancellation = default)
    {
        await using var command = database.CreateCommand($"select distinct tenant_id from {BookTables.Schema}.key order by tenant_id");
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
        await using var command = database.CreateCommand($"select tenant_id, name, role, movements from {BookTables.Schema}.key where hash = $1 and not revoked");
        command.Parameters.Add(new NpgsqlParameter { Value = hash });
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        return !await reader.ReadAsync(cancellation).ConfigureAwait(false)
            ? null
            : new KeyHolder(reader.GetString(0), new Key(
                reader.GetString(1),
                Stored.Read<Role>(reader.GetString(2)),
                [.. reader.GetFieldValue<string[]>(3).Select(Stored.Read<MovementKind>)],
                hash,
                0));
    }
}
