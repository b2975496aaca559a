using System.Diagnostics;
using Npgsql;
using Xunit;

namespace CashEvents.EmbeddedPostgres.Tests;

/// <summary>A server that ends by itself is started again.</summary>
public sealed class RestartedServerTests : IDisposable
{
    private static CancellationToken Stop => TestContext.Current.CancellationToken;
    private readonly TemporaryDataFolder _folder = new();
    private readonly KeptMessages _log = new();

    public void Dispose() => _folder.Dispose();

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task A_killed_server_runs_again_with_what_was_committed(bool withItsChildren)
    {
        await using var server = await StartAsync();
        await server.AskAsync("CREATE TABLE note (text text); INSERT INTO note VALUES ('committed')");
        var (before, connection) = (server.ProcessId, server.ConnectionString);

        await KillAsync(server, withItsChildren);
        await UntilAsync(() => server.Condition is { State: ServerState.Running, Restarts: 1 });

        Assert.Equal("committed", await server.AskAsync("SELECT text FROM note"));
        Assert.NotEqual(before, server.ProcessId);
        Assert.Equal(connection, server.ConnectionString);
        Assert.NotNull(server.Condition.EndedAt);
        Assert.False(server.GivenUp.IsCompleted);
        Assert.Contains(_log.All,
            message => message.Contains($"process {before}) ended by itself", StringComparison.Ordinal));
        Assert.Contains(_log.All,
            message => message.Contains($"process {server.ProcessId}) runs again", StringComparison.Ordinal));
    }

    [Fact]
    public async Task A_session_that_is_busy_does_not_keep_the_next_server_from_starting()
    {
        Assert.SkipUnless(OperatingSystem.IsLinux(), "Only Linux tells where a process works.");
        await using var server = await StartAsync();
        await using var busy = new NpgsqlConnection(server.ConnectionString);
        await busy.OpenAsync(Stop);
        var id = busy.ProcessID;

        // It computes, and so does not notice that the first process is gone: for hours, if nobody ends it.
        await using var endless = new NpgsqlCommand("SELECT count(*) FROM generate_series(1, 1000000) a, "
            + "generate_series(1, 1000000) b", busy)
        { CommandTimeout = 0 };
        var computing = Assert.ThrowsAnyAsync<Exception>(() => endless.ExecuteScalarAsync(Stop));
        await UntilAsync(async () =>
            await server.AskAsync($"SELECT state FROM pg_stat_activity WHERE pid = {id}") == "active");

        await KillAsync(server, withItsChildren: false);
        Assert.Contains(id, OrphanedServer.Find(ClusterFolder));
        await UntilAsync(() => server.Condition is { State: ServerState.Running, Restarts: 1 });

        Assert.Equal("1", await server.AskAsync("SELECT '1'"));
        Assert.DoesNotContain(id, OrphanedServer.Find(ClusterFolder));
        await computing;
    }

    [Fact]
    public async Task The_folder_of_the_socket_stays_where_it_is_when_the_path_is_long()
    {
        using var folder = new TemporaryDataFolder(
            string.Join('/', Enumerable.Repeat("a-name-of-forty-letters-makes-a-long-path", 3)));
        await using var server = await PrivatePostgres.StartAsync(Options(folder.Path), _log, Stop);

        await KillAsync(server, withItsChildren: true);
        await UntilAsync(() => server.Condition is { State: ServerState.Running, Restarts: 1 });

        Assert.Equal("1", await server.AskAsync("SELECT '1'"));
    }

    [Fact]
    public async Task A_server_that_was_started_again_is_taken_along_by_a_killed_program_too()
    {
        Assert.SkipWhen(OperatingSystem.IsWindows(), "The watchdog is a Unix shell.");
        await using var server = await StartAsync();
        await KillAsync(server, withItsChildren: true);
        await UntilAsync(() => server.Condition is { State: ServerState.Running, Restarts: 1 });

        var watchdogs = await new Command("pgrep", "-f", $"postgres-watchdog cluster {server.ProcessId}$")
            .RunAsync(Stop);

        Assert.True(watchdogs.Succeeded, watchdogs.Output);
        Assert.Single(watchdogs.Output.Split('\n'));
    }

    [Fact]
    public async Task A_start_that_fails_is_tried_again_and_told_until_it_works()
    {
        await using var server = await StartAsync(
            Options(_folder.Path) with
            {
                MostFailedStarts = 1000,
                FirstPause = TimeSpan.FromMilliseconds(10),
                LongestPause = TimeSpan.FromMilliseconds(100)
            });
        File.Move(Control, Control + ".away");

        await KillAsync(server, withItsChildren: true);
        await UntilAsync(() => server.Condition.FailedStarts >= 2);

        Assert.NotEqual(ServerState.Running, server.Condition.State);
        Assert.Contains(_log.All,
            message => message.Contains("could not be started again (try 1 of 1000", StringComparison.Ordinal));

        File.Move(Control + ".away", Control);
        await UntilAsync(() => server.Condition is
        {
            State: ServerState.Running, Restarts: 1, FailedStarts: 0,
            NextStartAt: null
        });
        Assert.Equal("1", await server.AskAsync("SELECT '1'"));
    }

    [Fact]
    public async Task A_server_that_starts_no_more_is_given_up_and_the_cause_is_told()
    {
        await using var server = await StartAsync(
            Options(_folder.Path) with { MostFailedStarts = 3, FirstPause = TimeSpan.FromMilliseconds(10) });
        File.Move(Control, Control + ".away");

        await KillAsync(server, withItsChildren: true);
        var loss = await server.GivenUp.WaitAsync(Stop);

        Assert.Equal((ServerState.GivenUp, 3), (server.Condition.State, server.Condition.FailedStarts));
        Assert.Contains("3 starts in a row failed", loss.Message);
        Assert.Contains("pg_control", loss.Message);
    }

    [Fact]
    public async Task A_program_that_stops_does_not_wait_for_the_next_start()
    {
        var server = await StartAsync(
            Options(_folder.Path) with { FirstPause = TimeSpan.FromDays(1), LongestPause = TimeSpan.FromDays(1) });
        File.Move(Control, Control + ".away");
        await KillAsync(server, withItsChildren: true);
        await UntilAsync(() => server.Condition.State == ServerState.Waiting);

        await server.DisposeAsync();

        File.Move(Control + ".away", Control);
        await using var next = await StartAsync();
        Assert.Equal("1", await next.AskAsync("SELECT '1'"));
    }

    [Fact]
    public async Task A_process_file_that_was_cut_off_keeps_no_server_from_starting()
    {
        await using (await StartAsync())
        {
        }

        await File.WriteAllTextAsync(Path.Combine(ClusterFolder, "postmaster.pid"), "", Stop);

        await using var next = await StartAsync();

        Assert.Equal("1", await next.AskAsync("SELECT '1'"));
    }

    private string ClusterFolder => Path.Combine(_folder.Path, "postgresql", "cluster");

    private string Control => Path.Combine(ClusterFolder, "global", "pg_control");

    private static PrivatePostgresOptions Options(string folder) => new() { DataFolder = folder };

    private Task<PrivatePostgres> StartAsync(PrivatePostgresOptions? options = null) =>
        PrivatePostgres.StartAsync(options ?? Options(_folder.Path), _log, Stop);

    private static async Task KillAsync(PrivatePostgres server, bool withItsChildren)
    {
        using var postmaster = Process.GetProcessById(server.ProcessId);
        postmaster.Kill(withItsChildren);
        await UntilAsync(() => server.Condition.State != ServerState.Running || server.Condition.Restarts > 0);
    }

    private static Task UntilAsync(Func<bool> holds) => UntilAsync(() => Task.FromResult(holds()));

    private static async Task UntilAsync(Func<Task<bool>> holds)
    {
        for (var since = Stopwatch.StartNew(); !await holds(); await Task.Delay(10, Stop))
            Assert.True(since.Elapsed < TimeSpan.FromMinutes(2), "It did not come to hold.");
    }
}
