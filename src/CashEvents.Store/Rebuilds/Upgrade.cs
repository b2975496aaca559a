using Microsoft.Extensions.Hosting;
using Microsoft.Extensions.Logging;
using Npgsql;

namespace CashEvents.Store.Rebuilds;

/// <summary>Rebuilds, before anything is served, the books whose tables an older program made otherwise.</summary>
internal sealed class Upgrade(NpgsqlDataSource database, Rebuilder rebuilder, ILogger<Upgrade> logger) : IHostedService
{
    public async Task StartAsync(CancellationToken cancellationToken)
    {
        foreach (var household in await OlderAsync(cancellationToken).ConfigureAwait(false))
        {
            logger.LogInformation("The tables of {Household} were made by an older program: they are rebuilt from its "
                + "lines.", household);
            try
            {
                await rebuilder.RebuildAsync(household, cancellation: cancellationToken).ConfigureAwait(false);
            }
#pragma warning disable CA1031 // One book that can't be read must not keep the others closed.
            catch (Exception failure) when (failure is not OperationCanceledException)
#pragma warning restore CA1031
            {
                logger.LogError(failure, "The book of {Household} could not be rebuilt: weeks and months of it are not "
                    + "to be trusted. The command verify tells which line does not fit.", household);
            }
        }
    }

    public Task StopAsync(CancellationToken cancellationToken) => Task.CompletedTask;

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
