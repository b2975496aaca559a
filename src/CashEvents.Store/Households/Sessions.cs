using System.Security.Cryptography;
using Npgsql;

namespace CashEvents.Store.Households;

/// <summary>
/// Browsers that are signed in. Each stands for a key: what the key may do they may, and when it is revoked they are
/// signed in no more. Only a hash of what a browser keeps is kept here.
/// </summary>
public sealed class Sessions(NpgsqlDataSource database, TimeProvider clock, KeyRing keys)
{
    /// <summary>Signs a browser in.</summary>
    /// <param name="key">Hash of the key that it stands for.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <returns>What the browser keeps: 256 random bits.</returns>
    public async Task<string> OpenAsync(string key, CancellationToken cancellation = default)
    {
        var kept = Convert.ToHexStringLower(RandomNumberGenerator.GetBytes(32));
        await using var command = database.CreateCommand(
            $"insert into {BookTables.Schema}.session (hash, key_hash, opened) values ($1, $2, $3)");
        command.Parameters.Add(new NpgsqlParameter { Value = KeyRing.Hash(kept) });
        command.Parameters.Add(new NpgsqlParameter { Value = key });
        command.Parameters.Add(new NpgsqlParameter { Value = clock.GetUtcNow().UtcDateTime });
        await command.ExecuteNonQueryAsync(cancellation).ConfigureAwait(false);
        return kept;
    }

    /// <summary>Signs a browser out.</summary>
    /// <param name="kept">What it keeps.</param>
    /// <param name="cancellation">Stops it.</param>
    public async Task CloseAsync(string kept, CancellationToken cancellation = default)
    {
        await using var command = database.CreateCommand($"with closed as (delete from {BookTables.Schema}.session "
            + $"where hash = $1 returning 1) select pg_notify('{Announcements.OfKeys}', '') from closed");
        command.Parameters.Add(new NpgsqlParameter { Value = KeyRing.Hash(kept) });
        await command.ExecuteNonQueryAsync(cancellation).ConfigureAwait(false);
        keys.Forget();
    }
}
