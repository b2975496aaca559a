using CashEvents.Store.PostgreSql;
using Microsoft.Extensions.Logging.Abstractions;

namespace CashEvents.Api.Hosting;

/// <summary>The PostgreSQL that the books are in: one that was named, or a private one that lives and ends with the program.</summary>
internal sealed class Database : IAsyncDisposable
{
    private readonly EmbeddedPostgres? _embedded;

    private Database(string connectionString, EmbeddedPostgres? embedded) => (ConnectionString, _embedded) = (connectionString, embedded);

    public string ConnectionString { get; }

    /// <summary>Takes the named database, or starts a private one.</summary>
    /// <param name="named">A connection string; null or empty for a private one.</param>
    /// <param name="dataFolder">Where a private one lies.</param>
    /// <param name="orRunning">Whether a private one that another program runs will do.</param>
    public static async Task<Database> StartAsync(string? named, string dataFolder, bool orRunning)
    {
        if (!string.IsNullOrWhiteSpace(named))
        {
            return new Database(named, null);
        }

        if (orRunning && EmbeddedPostgres.ConnectionStringOfRunning(dataFolder) is { } running)
        {
            return new Database(running, null);
        }

        var embedded = await EmbeddedPostgres.StartAsync(dataFolder, NullLogger.Instance).ConfigureAwait(false);
        return new Database(embedded.ConnectionString, embedded);
    }

    public ValueTask DisposeAsync() => _embedded?.DisposeAsync() ?? ValueTask.CompletedTask;
}
