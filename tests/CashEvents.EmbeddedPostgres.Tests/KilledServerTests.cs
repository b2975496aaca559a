using System.Diagnostics;
using Xunit;

namespace CashEvents.EmbeddedPostgres.Tests;

public sealed class KilledServerTests : IDisposable
{
    private const string FolderVariable = "PRIVATE_POSTGRES_TEST_FOLDER";
    private static CancellationToken Stop => TestContext.Current.CancellationToken;
    private readonly TemporaryDataFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task Committed_rows_outlive_a_killed_server(bool withItsChildren)
    {
        await using (var killed = await StartAsync())
        {
            await killed.AskAsync("CREATE TABLE note (text text); INSERT INTO note VALUES ('committed')");
            using var postmaster = Process.GetProcessById(killed.ProcessId);
            postmaster.Kill(withItsChildren);
            await postmaster.WaitForExitAsync(Stop);
        }

        await using var next = await StartAsync();

        Assert.Equal("committed", await next.AskAsync("SELECT text FROM note"));
    }

    [Fact]
    public async Task A_killed_program_takes_its_server_along_and_leaves_the_folder_free()
    {
        Assert.SkipWhen(OperatingSystem.IsWindows(), "The watchdog is a Unix shell.");
        using var program = await StartProgramAsync();
        var server = Postmaster.Read(ClusterFolder)!;

        program.Kill();
        await program.WaitForExitAsync(Stop);

        for (var i = 0; i < 100 && server.IsRunningOn(ClusterFolder); i++)
            await Task.Delay(100, Stop);
        Assert.False(server.IsRunningOn(ClusterFolder));

        await using var next = await StartAsync();
        Assert.Equal("committed", await next.AskAsync("SELECT text FROM note"));
    }

    [Fact]
    public async Task A_server_left_by_a_killed_program_is_stopped_and_a_new_one_started()
    {
        var left = await LeaveServerAsync();

        await using var next = await StartAsync();

        Assert.False(left.IsRunningOn(ClusterFolder));
        Assert.NotEqual(left.ProcessId, next.ProcessId);
        Assert.Equal("committed", await next.AskAsync("SELECT text FROM note"));
    }

    [Fact]
    public async Task A_stuck_server_left_by_a_killed_program_is_killed()
    {
        Assert.SkipWhen(OperatingSystem.IsWindows(), "Signals are a matter of Unix.");
        var left = await LeaveServerAsync();
        Assert.True((await new Command("kill", "-STOP", left.ProcessId.ToString()).RunAsync(Stop)).Succeeded);

        await using var next = await PrivatePostgres.StartAsync(
            Options(_folder.Path) with { StopTimeout = TimeSpan.FromSeconds(1) }, cancellationToken: Stop);

        Assert.False(left.IsRunningOn(ClusterFolder));
        Assert.Equal("committed", await next.AskAsync("SELECT text FROM note"));
    }

    [Fact]
    public async Task A_program_that_ends_by_itself_stops_its_server_first()
    {
        using var program = await StartProgramAsync(end: "exit");
        await program.WaitForExitAsync(Stop);

        Assert.Null(Postmaster.Read(ClusterFolder));
        await using var next = await StartAsync();
        Assert.Equal("committed", await next.AskAsync("SELECT text FROM note"));
    }

    [Fact]
    public async Task An_initdb_that_a_killed_program_left_at_work_does_not_disturb_the_next_start()
    {
        Assert.SkipWhen(OperatingSystem.IsWindows(), "The stand-in is a shell script.");
        var user = await ServerUser.ChooseAsync(ClusterFolder, Stop);
        DataFolder.Create(_folder.Path, "choose");
        var postgresql = Directory.CreateDirectory(Path.Combine(_folder.Path, "postgresql")).FullName;
        await user.LetGroupInAsync(_folder.Path, Stop);
        await new Command("chmod", "710", _folder.Path).RunAsync(Stop);
        await user.OwnAsync(postgresql, Stop);

        // It never comes to its end, and writes in folders of the names that tries have had.
        const string busy = "while :; do mkdir -p cluster.new/base cluster.new-0123abcd/base; true "
            + ">cluster.new/base/1; true >cluster.new-0123abcd/base/1; done 2>/dev/null";
        using var orphan = Process.Start(
            new Command("/bin/sh", "-c", busy) { User = user.Name, WorkingFolder = postgresql }.StartInfo())!;
        while (!File.Exists(Path.Combine(postgresql, "cluster.new-0123abcd", "base", "1")))
            await Task.Delay(10, Stop);

        try
        {
            await using var server = await StartAsync();
            Assert.Equal("1", await server.AskAsync("SELECT '1'"));
            Assert.False(orphan.HasExited);
        }
        finally
        {
            orphan.Kill(entireProcessTree: true);
            await orphan.WaitForExitAsync(Stop);
        }
    }

    [Fact]
    public async Task A_process_id_that_now_belongs_to_another_program_does_not_block_the_start()
    {
        await using (await StartAsync())
        {
        }

        // A process of the server's own user is the hard case: PostgreSQL alone would take it for a running server.
        var user = await ServerUser.ChooseAsync(ClusterFolder, Stop);
        using var other = Process.Start(
            new Command(OperatingSystem.IsWindows() ? "findstr" : "cat",
                OperatingSystem.IsWindows() ? ["x"] : [])
            { User = user.Name, WorkingFolder = Path.GetTempPath() }
                .StartInfo())!;
        await File.WriteAllTextAsync(Path.Combine(ClusterFolder, "postmaster.pid"),
            $"{other.Id}\n{ClusterFolder}\n1790000000\n5432\n../socket\n\n", Stop);

        await using var server = await StartAsync();

        Assert.Equal("1", await server.AskAsync("SELECT '1'"));
        Assert.False(other.HasExited);
        other.Kill();
    }

    /// <summary>
    /// Not a test: what <see cref="StartProgramAsync"/> runs in a process of its own, for other tests to kill.
    /// </summary>
    [Fact(Explicit = true)]
    public async Task Program()
    {
        var folder = Environment.GetEnvironmentVariable(FolderVariable);
        Assert.SkipWhen(folder is null, "Run by other tests.");
        var server = await PrivatePostgres.StartAsync(Options(folder), cancellationToken: Stop);
        await server.AskAsync("CREATE TABLE note (text text); INSERT INTO note VALUES ('committed')");
        await File.WriteAllTextAsync(Path.Combine(folder, "ready"), "", Stop);
        if (Environment.GetEnvironmentVariable(FolderVariable + "_END") == "exit")
            Environment.Exit(0);
        await Task.Delay(Timeout.Infinite, Stop);
    }

    private async Task<Process> StartProgramAsync(string end = "")
    {
        var start = new ProcessStartInfo("dotnet",
            ["exec", typeof(KilledServerTests).Assembly.Location, "-method",
                $"{typeof(KilledServerTests).FullName}.{nameof(Program)}", "-explicit", "only"])
        {
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            Environment = { [FolderVariable] = _folder.Path, [FolderVariable + "_END"] = end },
        };
        var program = Process.Start(start)!;
        var output = program.StandardOutput.ReadToEndAsync(Stop);
        while (!File.Exists(Path.Combine(_folder.Path, "ready")))
        {
            Assert.False(program.HasExited, program.HasExited ? await output : "");
            await Task.Delay(50, Stop);
        }

        return program;
    }

    private async Task<Postmaster> LeaveServerAsync()
    {
        using var program = await StartProgramAsync();
        var left = Postmaster.Read(ClusterFolder)!;
        await KillWatchdogAsync(program.Id);
        program.Kill();
        await program.WaitForExitAsync(Stop);
        Assert.True(left.IsRunningOn(ClusterFolder));
        return left;
    }

    private static async Task KillWatchdogAsync(int programId)
    {
        if (OperatingSystem.IsWindows())
            return;

        var children = await new Command("ps", "-e", "-o", "ppid=,pid=").RunAsync(Stop);
        foreach (var line in children.Output.Split('\n'))
        {
            var ids = line.Split(' ', StringSplitOptions.RemoveEmptyEntries).Select(int.Parse).ToArray();
            if (ids[0] != programId)
                continue;

            using var child = Process.GetProcessById(ids[1]);
            child.Kill();
            await child.WaitForExitAsync(Stop);
        }
    }

    private string ClusterFolder => Path.Combine(_folder.Path, "postgresql", "cluster");

    private static PrivatePostgresOptions Options(string folder) => new() { DataFolder = folder };

    private Task<PrivatePostgres> StartAsync() =>
        PrivatePostgres.StartAsync(Options(_folder.Path), cancellationToken: Stop);
}
