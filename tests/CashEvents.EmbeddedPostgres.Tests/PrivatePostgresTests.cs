using Npgsql;
using Xunit;

namespace CashEvents.EmbeddedPostgres.Tests;

public sealed class PrivatePostgresTests : IDisposable
{
    private static CancellationToken Stop => TestContext.Current.CancellationToken;
    private readonly TemporaryDataFolder _folder = new();
    private readonly KeptMessages _log = new();

    public void Dispose() => _folder.Dispose();

    [Fact]
    public async Task Keeps_its_data_over_a_stop_and_a_start()
    {
        await using (var first = await StartAsync())
            await first.AskAsync("CREATE TABLE note (text text); INSERT INTO note VALUES ('kept')");

        await using var second = await StartAsync();

        Assert.Equal("kept", await second.AskAsync("SELECT text FROM note"));
    }

    [Fact]
    public async Task Is_gone_once_stopped()
    {
        var server = await StartAsync();
        await server.DisposeAsync();
        await server.DisposeAsync();

        Assert.Null(Postmaster.Read(ClusterFolder));
        Assert.False(File.Exists(Path.Combine(_folder.Path, "postgres.pid")));
        await Assert.ThrowsAnyAsync<NpgsqlException>(() => server.AskAsync("SELECT 1"));
    }

    [Fact]
    public async Task Is_durable_and_checks_its_pages_unless_told_otherwise()
    {
        await using var server = await PrivatePostgres.StartAsync(_folder.Path, cancellationToken: Stop);

        Assert.Equal("on", await server.AskAsync("SHOW fsync"));
        Assert.Equal("on", await server.AskAsync("SHOW synchronous_commit"));
        Assert.Equal("on", await server.AskAsync("SHOW full_page_writes"));
        Assert.Equal("on", await server.AskAsync("SHOW data_checksums"));
        Assert.Equal("UTF8", await server.AskAsync("SHOW server_encoding"));
    }

    [Fact]
    public async Task Listens_only_to_this_machine()
    {
        await using var server = await StartAsync();

        var addresses = await server.AskAsync("SHOW listen_addresses");

        Assert.Equal(OperatingSystem.IsWindows() ? "127.0.0.1" : "", addresses);
    }

    [Fact]
    public async Task Lets_only_its_owner_at_its_files_and_its_socket()
    {
        Assert.SkipWhen(OperatingSystem.IsWindows(), "File modes are a matter of Unix.");
        await using var server = await StartAsync();
        var socketFolder = new NpgsqlConnectionStringBuilder(server.ConnectionString).Host!;

        const UnixFileMode ownerOnly = UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute;
        Assert.Equal(ownerOnly, new DirectoryInfo(ClusterFolder).UnixFileMode);
        Assert.Equal(ownerOnly, new DirectoryInfo(socketFolder).UnixFileMode);
        Assert.Equal(ownerOnly, new DirectoryInfo(Path.Combine(_folder.Path, "postgresql")).UnixFileMode);
    }

    [Fact]
    public async Task Closes_its_data_folder_and_its_lock_to_everybody_else()
    {
        if (OperatingSystem.IsWindows())
        {
            Assert.Skip("File modes are a matter of Unix.");
            return;
        }

        await using var server = await StartAsync();

        Assert.Equal(Closed, new DirectoryInfo(_folder.Path).UnixFileMode);
        foreach (var file in (string[])["postgres.lock", "postgres.pid"])
            Assert.Equal(UnixFileMode.UserRead | UnixFileMode.UserWrite,
                File.GetUnixFileMode(Path.Combine(_folder.Path, file)));
    }

    [Fact]
    public async Task Closes_what_an_earlier_program_left_open()
    {
        if (OperatingSystem.IsWindows())
        {
            Assert.Skip("File modes are a matter of Unix.");
            return;
        }

        var lockFile = await LeaveOpenAsync();

        await using var server = await StartAsync();

        Assert.Equal(Closed, new DirectoryInfo(_folder.Path).UnixFileMode);
        Assert.Equal(UnixFileMode.UserRead | UnixFileMode.UserWrite, File.GetUnixFileMode(lockFile));
        Assert.Empty(_log.All);
    }

    [Fact]
    public async Task Leaves_a_folder_that_holds_other_things_as_it_is_and_says_so()
    {
        if (OperatingSystem.IsWindows())
        {
            Assert.Skip("File modes are a matter of Unix.");
            return;
        }

        var lockFile = await LeaveOpenAsync();
        await File.WriteAllTextAsync(Path.Combine(_folder.Path, "shopping-list.txt"), "", Stop);

        await using var server = await StartAsync();

        Assert.Equal(Open, new DirectoryInfo(_folder.Path).UnixFileMode);
        Assert.Equal(UnixFileMode.UserRead | UnixFileMode.UserWrite, File.GetUnixFileMode(lockFile));
        Assert.Contains($"Other users of this machine get into the data folder {_folder.Path}",
            Assert.Single(_log.All));
    }

    [Fact]
    public async Task Does_not_let_another_user_hold_its_lock()
    {
        Assert.SkipWhen(OperatingSystem.IsWindows() || !Environment.IsPrivilegedProcess,
            "Only root becomes another user.");
        var lockFile = await LeaveOpenAsync();
        await File.WriteAllTextAsync(Path.Combine(_folder.Path, "shopping-list.txt"), "", Stop);
        await using (await StartAsync())
        {
        }

        // Whoever can open a file, if only to read, can hold its lock.
        foreach (var file in (string[])[lockFile, Path.Combine(_folder.Path, "postgres.pid")])
        {
            var held = await new Command("flock", "--nonblock", "--no-fork", file, "true")
            {
                User = "nobody",
                WorkingFolder = "/"
            }.RunAsync(Stop);
            Assert.False(held.Succeeded, file);
        }

        await using var next = await StartAsync();
        Assert.Equal("1", await next.AskAsync("SELECT '1'"));
    }

    [Fact]
    public async Task Is_not_run_by_root()
    {
        Assert.SkipWhen(OperatingSystem.IsWindows(), "Root is a matter of Unix.");
        await using var server = await StartAsync();

        var user = await new Command("ps", "-o", "uid=", "-p", server.ProcessId.ToString()).RunAsync(Stop);

        Assert.NotEqual("0", user.Output.Trim());
        Assert.True(int.Parse(user.Output) > 0);
    }

    [Fact]
    public async Task Names_the_folder_that_the_servers_user_cannot_enter()
    {
        if (OperatingSystem.IsWindows() || !Environment.IsPrivilegedProcess)
        {
            Assert.Skip("Only root's server runs as another user.");
            return;
        }

        File.SetUnixFileMode(Directory.CreateDirectory(_folder.Path).FullName,
            UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute);

        var refused = await Assert.ThrowsAsync<PrivatePostgresException>(
            () => PrivatePostgres.StartAsync(Path.Combine(_folder.Path, "deeper", "data"), cancellationToken: Stop));

        Assert.Contains($"can't enter the folder {_folder.Path} on the way to", refused.Message);
        Assert.Contains($"chmod o+x {_folder.Path}", refused.Message);
        Assert.Contains("set the program's data folder to", refused.Message);
    }

    [Theory]
    [InlineData("a-name-of-forty-letters-makes-a-long-path/a-name-of-forty-letters-makes-a-long-path/a-name-of-forty-letters-makes-a-long-path")]
    [InlineData("with spaces, commas; 'quotes' and $HOME")]
    public async Task Works_in_an_awkward_data_folder(string name)
    {
        using var folder = new TemporaryDataFolder(name);
        await using var server = await PrivatePostgres.StartAsync(Options(folder.Path), cancellationToken: Stop);
        var socketFolder = new NpgsqlConnectionStringBuilder(server.ConnectionString).Host!;

        Assert.Equal("postgres", await server.AskAsync("SELECT current_database()::text"));

        await server.DisposeAsync();
        Assert.False(socketFolder.StartsWith(Path.GetTempPath() + "postgres-socket-", StringComparison.Ordinal)
            && Directory.Exists(socketFolder));
    }

    [Fact]
    public async Task Bears_the_name_it_is_given()
    {
        var options = Options(_folder.Path) with { Name = "boat-log_2" };
        await using var server = await PrivatePostgres.StartAsync(options, _log, Stop);

        Assert.Equal("boat-log_2", await server.AskAsync("SELECT current_database()::text"));
        Assert.Equal("boat-log_2", await server.AskAsync("SELECT current_user::text"));
        Assert.Equal("boat-log_2", await server.AskAsync("SHOW cluster_name"));
        Assert.True(File.Exists(Path.Combine(_folder.Path, "boat-log_2.lock")));
        Assert.Equal("boat-log_2", await Database.AskAsync(PrivatePostgres.ConnectionStringOfRunning(options)!,
            "SELECT current_database()::text"));
    }

    [Theory]
    [InlineData("")]
    [InlineData("Boats")]
    [InlineData("2boats")]
    [InlineData("pg_boats")]
    [InlineData("boats and -c fsync=off")]
    [InlineData("../boats")]
    [InlineData("boats\n")]
    [InlineData("a-name-of-more-letters-than-a-socket-bears")]
    public async Task Takes_no_name_that_is_none_of_a_database_and_of_a_file(string name)
    {
        await Assert.ThrowsAsync<ArgumentException>(() =>
            PrivatePostgres.StartAsync(Options(_folder.Path) with { Name = name }, _log, Stop));

        Assert.False(Directory.Exists(_folder.Path));
    }

    [Fact]
    public async Task Refuses_a_second_program_on_its_folder()
    {
        await using var server = await StartAsync();

        var refused = await Assert.ThrowsAsync<DataFolderInUseException>(StartAsync);

        Assert.Equal(Environment.ProcessId, refused.ProcessId);
        Assert.Equal(_folder.Path, refused.Folder);
        Assert.Contains(_folder.Path, refused.Message);
        Assert.Contains($"process {Environment.ProcessId}", refused.Message);
        Assert.Equal("1", await server.AskAsync("SELECT '1'"));
    }

    [Fact]
    public async Task Says_what_the_server_said_when_it_does_not_start()
    {
        await using (await StartAsync())
        {
        }

        await File.AppendAllTextAsync(Path.Combine(ClusterFolder, "postgresql.conf"), "\nno_such_setting = 1\n", Stop);

        var refused = await Assert.ThrowsAsync<PrivatePostgresException>(StartAsync);

        Assert.Contains("no_such_setting", refused.Message);
        Assert.Contains("server.log", refused.Message);
    }

    [Fact]
    public async Task Frees_the_folder_when_it_does_not_start()
    {
        await Assert.ThrowsAsync<PostgresNotFoundException>(
            () => PrivatePostgres.StartAsync(Options(_folder.Path) with { BinaryFolders = [], UnpackWithNpm = false },
                cancellationToken: Stop));

        await using var server = await StartAsync();

        Assert.Equal("1", await server.AskAsync("SELECT '1'"));
    }

    [Fact]
    public async Task Makes_a_database_once()
    {
        await using var server = await StartAsync();

        var made = await server.CreateDatabaseAsync("a \"quoted\" name", Stop);
        var again = await server.CreateDatabaseAsync("a \"quoted\" name", Stop);

        Assert.Equal(made, again);
        Assert.Equal("a \"quoted\" name", await Database.AskAsync(made, "SELECT current_database()::text"));
    }

    [Fact]
    public async Task Starts_its_log_anew_when_it_has_grown_large()
    {
        await using (await StartAsync())
        {
        }

        var log = Path.Combine(_folder.Path, "postgresql", "server.log");
        await using (var file = File.OpenWrite(log))
            file.SetLength(11 * 1024 * 1024);

        await using var server = await StartAsync();

        Assert.True(new FileInfo(log).Length < 1024 * 1024);
        Assert.True(File.Exists(log + ".old"));
    }

    private const UnixFileMode Open = (UnixFileMode)0b111_101_101;

    // Root's server runs as another user, whose group gets through.
    private static UnixFileMode Closed =>
        (UnixFileMode)(Environment.IsPrivilegedProcess ? 0b111_001_000 : 0b111_000_000);

    /// <summary>A data folder and a lock as open as a careless umask makes them.</summary>
    private async Task<string> LeaveOpenAsync()
    {
        var lockFile = Path.Combine(_folder.Path, "postgres.lock");
        if (!OperatingSystem.IsWindows())
        {
            File.SetUnixFileMode(Directory.CreateDirectory(_folder.Path).FullName, Open);
            await File.WriteAllTextAsync(lockFile, "", Stop);
            File.SetUnixFileMode(lockFile, (UnixFileMode)0b110_100_100);
        }

        return lockFile;
    }

    private string ClusterFolder => Path.Combine(_folder.Path, "postgresql", "cluster");

    private static PrivatePostgresOptions Options(string folder) => new() { DataFolder = folder, Durable = false };

    private Task<PrivatePostgres> StartAsync() => PrivatePostgres.StartAsync(Options(_folder.Path), _log, Stop);
}
