using System.Globalization;
using Npgsql;

namespace CashEvents.Api.Hosting;

/// <summary>
/// The PostgreSQL that the books are in: one that was named, or a private one that lives and ends with the program.
/// </summary>
internal sealed class Database : IAsyncDisposable
{
    /// <summary>How many starts of a private one may fail in a row.</summary>
    public const string StartsVariable = "CASHEVENTS_POSTGRES_STARTS";

    private readonly TaskCompletionSource<PrivatePostgresException> _never = new();

    private readonly Task<(string ConnectionString, PrivatePostgres? Private)> _started;

    private Database(Task<(string ConnectionString, PrivatePostgres? Private)> started, bool isOwn) =>
        (_started, IsOwn) = (started, isOwn);

    /// <summary>Completes once it can be used, or with why it can't.</summary>
    public Task Started => _started;

    /// <summary>How to connect to it; waits until it has started.</summary>
    public string ConnectionString => _started.GetAwaiter().GetResult().ConnectionString;

    /// <summary>The private one; null when one was named, or another program runs it.</summary>
    public PrivatePostgres? Private => _started.GetAwaiter().GetResult().Private;

    /// <summary>Whether it lies in the data folder, whichever program runs it.</summary>
    public bool IsOwn { get; }

    /// <summary>Completes, with what was the matter, when the private one ended and can't be started again.</summary>
    public Task<PrivatePostgresException> Lost => Private?.GivenUp ?? _never.Task;

    /// <summary>
    /// Takes the named database, or starts a private one, whose folder is nobody else's by the time this returns.
    /// </summary>
    /// <param name="configuration">Whether one is named, and how a private one is kept.</param>
    /// <param name="dataFolder">Where a private one lies.</param>
    /// <param name="orRunning">Whether a private one that another program runs will do.</param>
    /// <param name="logger">Told what a private one does of its own accord.</param>
    /// <returns>What may still be starting.</returns>
    public static Database Start(IConfiguration configuration, string dataFolder, bool orRunning, ILogger logger)
    {
        if (configuration.GetConnectionString("CashEvents") is { } named && !string.IsNullOrWhiteSpace(named))
        {
            return new Database(Task.FromResult<(string, PrivatePostgres?)>((named, null)), isOwn: false);
        }

        if (orRunning && PrivatePostgres.ConnectionStringOfRunning(OwnPostgres.In(dataFolder)) is { } running)
        {
            return new Database(Task.FromResult<(string, PrivatePostgres?)>((running, null)), isOwn: true);
        }

        var options = OwnPostgres.In(dataFolder);
        if (configuration[StartsVariable] is { Length: > 0 } starts)
        {
            options = options with
            {
                MostFailedStarts = int.Parse(starts, CultureInfo.InvariantCulture),
            };
        }

        return new Database(EmbeddedAsync(options, logger), isOwn: true);
    }

    /// <summary>Lets a server's health tell of the private one.</summary>
    public void AddTo(IServiceCollection services)
    {
        if (IsOwn)
        {
            services.AddSingleton(_ => Private!);
        }
    }

    /// <summary>
    /// Forgets a server's connections to a private one that ended, whenever it runs again: the next requests are then
    /// not the ones to find them broken.
    /// </summary>
    public void Renew(NpgsqlDataSource connections)
    {
        if (Private is not null)
        {
            Private.Restarted += (_, _) => connections.Clear();
        }
    }

    /// <inheritdoc />
    public async ValueTask DisposeAsync()
    {
        await ((Task)_started).ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
        if (_started.IsCompletedSuccessfully && Private is { } own)
        {
            await own.DisposeAsync().ConfigureAwait(false);
        }
    }

    private static async Task<(string ConnectionString, PrivatePostgres? Private)> EmbeddedAsync(
        PrivatePostgresOptions options, ILogger logger)
    {
        var embedded = await PrivatePostgres.StartAsync(options, logger).ConfigureAwait(false);
        return (embedded.ConnectionString, embedded);
    }
}
