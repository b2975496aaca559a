using System.Collections.Immutable;
using Microsoft.Extensions.Hosting;
using Microsoft.Extensions.Logging;
using Npgsql;

namespace CashEvents.Store.Rebuilds;

/// <summary>How books of an older program are brought up to date at the start.</summary>
/// <param name="MustSucceed">Whether a book that can't be rebuilt keeps the program from starting; a command that is
/// not about such a book goes on without.</param>
/// <param name="LeftOut">Households whose books are left as they are.</param>
public sealed record Upgrading(bool MustSucceed, ImmutableHashSet<string> LeftOut);

/// <summary>Rebuilds, before anything is served, the books whose tables an older program made otherwise.</summary>
internal sealed class Upgrade(NpgsqlDataSource database, Rebuilder rebuilder, Upgrading asked,
    ILogger<Upgrade> logger) : IHostedService
{
    // A server that is started again is back within seconds.
    private const int Tries = 20;
    private static readonly TimeSpan _pause = TimeSpan.FromSeconds(1);

    /// <exception cref="UpgradeFailedException">Books could not be rebuilt, and must be; the others are.</exception>
    public async Task StartAsync(CancellationToken cancellationToken)
    {
        var failed = ImmutableSortedDictionary.CreateBuilder<string, Exception>(StringComparer.Ordinal);
        foreach (var household in await OlderAsync(cancellationToken).ConfigureAwait(false))
        {
            if (asked.LeftOut.Contains(household))
            {
                continue;
            }

            logger.LogInformation("The tables of {Household} were made by an older program: they are rebuilt from its "
                + "lines.", household);
            try
            {
                await RebuildAsync(household, cancellationToken).ConfigureAwait(false);
            }
#pragma warning disable CA1031 // Every book that can't be read is told at once, and the others are ready then.
            catch (Exception failure) when (failure is not OperationCanceledException && !IsAway(failure))
#pragma warning restore CA1031
            {
                failed.Add(household, failure);
                if (!asked.MustSucceed)
                {
                    logger.LogWarning("The book of {Household} could not be rebuilt: {Failure}", household,
                        failure.Message);
                }
            }
        }

        if (failed.Count > 0 && asked.MustSucceed)
        {
            throw new UpgradeFailedException(failed.ToImmutable());
        }
    }

    public Task StopAsync(CancellationToken cancellationToken) => Task.CompletedTask;

    // That PostgreSQL is away says nothing about a book.
    private async Task RebuildAsync(string household, CancellationToken cancellation)
    {
        for (var tried = 1; ; tried++)
        {
            try
            {
                await rebuilder.RebuildAsync(household, cancellation: cancellation).ConfigureAwait(false);
                return;
            }
            catch (Exception failure) when (IsAway(failure) && tried < Tries)
            {
                await Task.Delay(_pause, cancellation).ConfigureAwait(false);
            }
        }
    }

    // Class 57 of its states: an operator, or the end of the server, broke in; 08: the connection.
    private static bool IsAway(Exception failure) => failure switch
    {
        PostgresException server => server.IsTransient || server.SqlState is ['5', '7', ..] or ['0', '8', ..],
        NpgsqlException or TimeoutException => true,
        { InnerException: { } cause } => IsAway(cause),
        _ => false,
    };

    private async Task<List<string>> OlderAsync(CancellationToken cancellation)
    {
        await using var command = database.CreateCommand(
            $"select tenant_id from {BookTables.Schema}.mt_doc_bookpage where coalesce((data ->> 'made')::int, 0) < "
                + $"{BookTables.Made} order by tenant_id");
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        var households = new List<string>();
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            households.Add(reader.GetString(0));
        }

        return households;
    }
}
