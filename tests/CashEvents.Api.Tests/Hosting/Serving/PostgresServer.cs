using System.Collections.Concurrent;
using Npgsql;
using Testcontainers.PostgreSql;
using Xunit;

[assembly: AssemblyFixture(typeof(PostgresServer))]

namespace CashEvents.Api.Tests.Hosting;

/// <summary>
/// The one PostgreSQL server of a test run, started when the first test asks for a database and gone at the end.
/// The variable CASHEVENTS_TEST_POSTGRES chooses it: unset for the embedded one, "testcontainers" for a container,
/// or a connection string (with "Host=") of a server that is there already.
/// </summary>
public sealed class PostgresServer : IAsyncDisposable
{
    private static readonly Lazy<Task<Running>> _running = new(StartAsync);

    // A database in which a server has been started once: making its tables takes longer than what most tests do.
    private static readonly Lazy<Task<string>> _started = new(StartOnceAsync);

    /// <summary>
    /// Makes a database in which a server has been started and no book opened; one per server keeps them apart.
    /// </summary>
    /// <returns>How to connect to it.</returns>
    public static async Task<string> NewDatabaseAsync() =>
        await (await _running.Value).CreateAsync(await _started.Value);

    /// <summary>Makes an empty database.</summary>
    /// <returns>How to connect to it.</returns>
    public static async Task<string> NewEmptyDatabaseAsync() => await (await _running.Value).CreateAsync("template1");

    public async ValueTask DisposeAsync()
    {
        if (_running is { IsValueCreated: true, Value.IsCompletedSuccessfully: true })
        {
            await (await _running.Value).StopAsync();
        }
    }

    private static async Task<string> StartOnceAsync()
    {
        var database = await NewEmptyDatabaseAsync();
        await using (await RunningServer.StartAsync(database))
        {
        }

        var name = new NpgsqlConnectionStringBuilder(database).Database!;
        // PostgreSQL copies no database that somebody is connected to.
        await (await _running.Value).AskAsync($"ALTER DATABASE \"{name}\" ALLOW_CONNECTIONS false");
        return name;
    }

    private static Task<Running> StartAsync() => Environment.GetEnvironmentVariable("CASHEVENTS_TEST_POSTGRES") switch
    {
        null or "" => StartEmbeddedAsync(),
        "testcontainers" => StartContainerAsync(),
        var given when given.Contains("Host=", StringComparison.OrdinalIgnoreCase) => Task.FromResult(UseGiven(given)),
        var other => throw new InvalidOperationException($"CASHEVENTS_TEST_POSTGRES is \"{other}\"; it may be "
            + $"\"testcontainers\" or a connection string with Host=."),
    };

    private static async Task<Running> StartEmbeddedAsync()
    {
        var folder = TemporaryDataFolder.NewPath();
        var server = await PrivatePostgres.StartAsync(
            new PrivatePostgresOptions { DataFolder = folder, Durable = false, MaxConnections = 300 });
        // With hundreds of databases it starts a process every fifth of a second, and none of them lives long.
        await Database.AskAsync(server.ConnectionString, "ALTER SYSTEM SET autovacuum = off");
        await Database.AskAsync(server.ConnectionString, "SELECT pg_reload_conf()");
        return new Running(server.ConnectionString, async _ =>
        {
            await server.DisposeAsync();
            Directory.Delete(folder, recursive: true);
        });
    }

    private static async Task<Running> StartContainerAsync()
    {
        var container = new PostgreSqlBuilder("postgres:17-alpine")
            .WithCommand("-c", "fsync=off", "-c", "max_connections=300").Build();
        await container.StartAsync();
        return new Running(container.GetConnectionString(), async _ => await container.DisposeAsync());
    }

    private static Running UseGiven(string connectionString) => new(connectionString, async made =>
    {
        NpgsqlConnection.ClearAllPools();
        foreach (var name in made)
        {
            await Database.AskAsync(connectionString, $"DROP DATABASE IF EXISTS \"{name}\" WITH (FORCE)");
        }
    });

    private sealed class Running(string connectionString, Func<IEnumerable<string>, Task> stop)
    {
        private readonly ConcurrentBag<string> _made = [];

        public Task<string?> AskAsync(string sql) => Database.AskAsync(connectionString, sql);

        public async Task<string> CreateAsync(string template)
        {
            var name = "test_" + Guid.NewGuid().ToString("N");
            await AskAsync($"CREATE DATABASE \"{name}\" TEMPLATE \"{template}\"");
            _made.Add(name);
            return new NpgsqlConnectionStringBuilder(connectionString) { Database = name }.ConnectionString;
        }

        public Task StopAsync() => stop(_made);
    }
}
