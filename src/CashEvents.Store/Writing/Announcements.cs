using System.Diagnostics;
using System.Globalization;
using Microsoft.Extensions.Hosting;
using Npgsql;
using NpgsqlTypes;

namespace CashEvents.Store.Writing;

/// <summary>
/// Servers on one database tell each other what they wrote, by PostgreSQL's LISTEN and NOTIFY, over one connection
/// for all that listen here.
/// </summary>
/// <remarks>Lines are told after their commit and not within it: PostgreSQL lets transactions that notify commit only
/// one after another, which cost two thirds of the commits of many households. What a server that is killed between
/// the two leaves untold is found by a look at one number of the database.</remarks>
public sealed class Announcements(NpgsqlDataSource database, NewLines lines, KeyRing keys, OutageLog outages)
    : BackgroundService
{
    /// <summary>The channel that tells of revoked keys and closed sessions.</summary>
    internal const string OfKeys = "cashevents_keys";

    /// <summary>The channel that tells of notices: the number of the last and the household.</summary>
    internal const string OfNotices = "cashevents_notices";

    /// <summary>The channel that tells of lines: a number and the household.</summary>
    internal const string OfLines = "cashevents_lines";

    // The transaction need not wait for the disk: it leaves nothing there.
    private const string Say = $"""
        select pg_notify('{OfLines}', k.line || ' ' || k.household) from unnest($1, $2) as k(household, line)
        where set_config('synchronous_commit', 'off', true) = 'off'
        """;

    // What was written at all, in any book; it moves with each line.
    private const string LastOfAll = $"select last_value from {BookTables.Schema}.mt_events_sequence";

    private const string LastOfEach = $"select tenant_id, max(version) from {BookTables.Schema}.mt_events where "
        + $"seq_id > $1 and stream_id = '{BookTables.Stream}' group by tenant_id";

    private static readonly TimeSpan _together = TimeSpan.FromMilliseconds(50);
    private static readonly TimeSpan _looksEvery = TimeSpan.FromSeconds(15);
    private static readonly TimeSpan _shortestPause = TimeSpan.FromMilliseconds(200);
    private static readonly TimeSpan _longestPause = TimeSpan.FromSeconds(5);

    /// <inheritdoc />
    protected override Task ExecuteAsync(CancellationToken stoppingToken) =>
        Task.WhenAll(KeepAsync(ListenAsync, stoppingToken), KeepAsync(SayAsync, stoppingToken));

    // A database that is away is asked again, sooner first and then less often.
    private async Task KeepAsync(Func<Action, CancellationToken, Task> work, CancellationToken stopping)
    {
        var pause = _shortestPause;
        while (!stopping.IsCancellationRequested)
        {
            try
            {
                await work(() => pause = _shortestPause, stopping).ConfigureAwait(false);
            }
            catch (OperationCanceledException) when (stopping.IsCancellationRequested)
            {
                return;
            }
            catch (ObjectDisposedException)
            {
                return;
            }
            catch (Exception failure) when (failure is NpgsqlException or TimeoutException or IOException
                or OperationCanceledException or InvalidOperationException)
            {
                outages.Tell(failure);
            }

            await Task.Delay(pause, stopping).ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
            pause = pause * 2 < _longestPause ? pause * 2 : _longestPause;
        }
    }

    private async Task ListenAsync(Action works, CancellationToken stopping)
    {
        await using var connection = await database.OpenConnectionAsync(stopping).ConfigureAwait(false);
        connection.Notification += (_, told) => Hear(told.Channel, told.Payload);
        await using (var listen = new NpgsqlCommand($"listen {OfLines}; listen {OfKeys}; listen {OfNotices}",
            connection))
        {
            await listen.ExecuteNonQueryAsync(stopping).ConfigureAwait(false);
        }

        // Whatever was told while nobody heard it.
        keys.Forget();
        lines.TellAll();
        works();
        var last = await LastOfAllAsync(connection, stopping).ConfigureAwait(false);
        var before = last;
        var looked = Stopwatch.GetTimestamp();
        while (true)
        {
            var left = _looksEvery - Stopwatch.GetElapsedTime(looked);
            if (left > TimeSpan.Zero && await connection.WaitAsync(left, stopping).ConfigureAwait(false))
            {
                continue;
            }

            // A connection that is cut without a word is seen by this look, too.
            var now = await LookAsync(connection, before, last, stopping).ConfigureAwait(false);
            (before, last, looked) = (last, now, Stopwatch.GetTimestamp());
        }
    }

    private void Hear(string channel, string told)
    {
        if (channel == OfKeys)
        {
            keys.Forget();
            return;
        }

        var space = told.IndexOf(' ', StringComparison.Ordinal);
        if (space > 0 && long.TryParse(told.AsSpan(0, space), NumberStyles.None, CultureInfo.InvariantCulture,
            out var line))
        {
            var household = told[(space + 1)..];
            if (channel == OfNotices)
            {
                lines.TellNoticed(household, line);
            }
            else
            {
                lines.Tell(household, line);
            }
        }
    }

    // Numbers are given before the commit: what was under way at the last look is looked for by the one before.
    private async Task<long> LookAsync(NpgsqlConnection connection, long before, long last, CancellationToken stopping)
    {
        var now = await LastOfAllAsync(connection, stopping).ConfigureAwait(false);
        if (now == before && now == last)
        {
            return now;
        }

        var ends = new List<(string Household, long Line)>();
        await using (var command = new NpgsqlCommand(LastOfEach, connection)
        { Parameters = { new() { Value = Math.Min(before, now) } } })
        await using (var reader = await command.ExecuteReaderAsync(stopping).ConfigureAwait(false))
        {
            while (await reader.ReadAsync(stopping).ConfigureAwait(false))
            {
                ends.Add((reader.GetString(0), reader.GetInt64(1)));
            }
        }

        ends.ForEach(end => lines.Tell(end.Household, end.Line));
        return now;
    }

    private static async Task<long> LastOfAllAsync(NpgsqlConnection connection, CancellationToken stopping)
    {
        await using var command = new NpgsqlCommand(LastOfAll, connection);
        return (long)(await command.ExecuteScalarAsync(stopping).ConfigureAwait(false))!;
    }

    private async Task SayAsync(Action works, CancellationToken stopping)
    {
        while (true)
        {
            await lines.UnsaidAsync(stopping).ConfigureAwait(false);
            var unsaid = lines.TakeUnsaid();
            try
            {
                await using var command = database.CreateCommand(Say);
                command.Parameters.Add(new NpgsqlParameter { Value = unsaid.Select(one => one.Key).ToArray() });
                command.Parameters.Add(new NpgsqlParameter
                {
                    Value = unsaid.Select(one => one.Value).ToArray(),
                    NpgsqlDbType = NpgsqlDbType.Array | NpgsqlDbType.Bigint,
                });
                await command.ExecuteNonQueryAsync(stopping).ConfigureAwait(false);
            }
            catch
            {
                lines.PutBack(unsaid);
                throw;
            }

            works();
            await Task.Delay(_together, stopping).ConfigureAwait(false);
        }
    }
}
