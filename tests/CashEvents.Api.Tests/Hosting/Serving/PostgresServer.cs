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

    /// <summary>Makes an empty database; one per test class keeps the classes apart.</summary>
    /// <returns>How to connect to it.</returns>
    public static async Task<string> NewDatabaseAsync()
    {
        var running = await _running.Value;
        return await running.CreateDatabaseAsync("test_" + Guid.NewGuid().ToString("N"));
    }

    public async ValueTask DisposeAsync()
    {
        if (_running is { IsValueCreated: true, Value.IsCompletedSuccessfully: true })
            await (await _running.Value).StopAsync();
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
        return new Running(
            name => server.CreateDatabaseAsync(name),
            async () =>
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
        return new Running(name => CreateDatabaseAsync(container.GetConnectionString(), name),
            async () => await container.DisposeAsync());
    }

    private static Running UseGiven(string connectionString)
    {
        var made = new List<string>();
        return new Running(
            async name =>
            {
                var database = await CreateDatabaseAsync(connectionString, name);
                lock (made)
                    made.Add(name);
                return database;
            },
            async () =>
            {
                NpgsqlConnection.ClearAllPools();
                foreach (var name in made)
                    await Database.AskAsync(connectionString, $"DROP DATABASE IF EXISTS \"{name}\" WITH (FORCE)");
            });
    }

    private static async Task<string> CreateDatabaseAsync(string connectionString, string name)
    {
        await Database.AskAsync(connectionString, $"CREATE DATABASE \"{name}\"");
        return new NpgsqlConnectionStringBuilder(connectionString) { Database = name }.ConnectionString;
    }

    private sealed record Running(Func<string, Task<string>> CreateDatabaseAsync, Func<Task> StopAsync);
}
