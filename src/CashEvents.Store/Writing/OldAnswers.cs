using Microsoft.Extensions.Hosting;
using Npgsql;

namespace CashEvents.Store.Writing;

/// <summary>
/// Lets go of answers that nobody will ask for again: those kept by idempotency key, a year after they were given.
/// </summary>
public sealed class OldAnswers(NpgsqlDataSource database, KeyRing keys, TimeProvider clock, OutageLog outages)
    : BackgroundService
{
    private static readonly TimeSpan _every = TimeSpan.FromDays(1);

    // Counted back from the book's own last line, too: a clock that has jumped ahead would take answers along that are
    // still needed.
    private const string Delete = $"""
        delete from {BookTables.Schema}.answer a
        using (select max(e.version) as line
               from {BookTables.Schema}.mt_events e,
                    (select l.timestamp from {BookTables.Schema}.mt_events l where l.tenant_id = $1 and l.stream_id = '{BookTables.Stream}' order by l.version desc limit 1) last
               where e.tenant_id = $1 and e.stream_id = '{BookTables.Stream}' and e.timestamp < least(last.timestamp, $2) - interval '1 year') old
        where a.tenant_id = $1 and (a.entry ->> 'bookLine')::bigint <= old.line
        """;

    /// <summary>Lets go of all that are older than a year now.</summary>
    /// <returns>How many they were.</returns>
    public async Task<int> LetGoAsync(CancellationToken cancellation = default)
    {
        var gone = 0;
        foreach (var household in await keys.HouseholdsAsync(cancellation).ConfigureAwait(false))
        {
            await using var command = database.CreateCommand(Delete);
            command.Parameters.Add(new NpgsqlParameter { Value = household });
            command.Parameters.Add(new NpgsqlParameter { Value = clock.GetUtcNow().UtcDateTime });
            gone += await command.ExecuteNonQueryAsync(cancellation).ConfigureAwait(false);
        }

        return gone;
    }

    /// <inheritdoc />
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        using var timer = new PeriodicTimer(_every, clock);
        try
        {
            do
            {
                try
                {
                    await LetGoAsync(stoppingToken).ConfigureAwait(false);
                }
                catch (Exception gone) when (gone is ObjectDisposedException
                    || (gone is OperationCanceledException && !stoppingToken.IsCancellationRequested))
                {
                    // A program that could not start is taken down while this looks: what it asks is not there any
                    // more.
                }
                catch (Exception failure) when (failure is NpgsqlException or TimeoutException)
                {
                    // The next look is a day away, and nothing is lost meanwhile.
                    outages.Tell(failure);
                }
            }
            while (await timer.WaitForNextTickAsync(stoppingToken).ConfigureAwait(false));
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            // The program stops.
        }
    }
}
