using System.ComponentModel;
using System.Globalization;
using System.Net;
using System.Net.Sockets;
using System.Security.Cryptography;
using Microsoft.Extensions.Logging;
using Microsoft.Extensions.Logging.Abstractions;
using Npgsql;

namespace CashEvents.EmbeddedPostgres;

/// <summary>
/// A PostgreSQL server of the program's own: made in the data folder at the first start, reachable only from this
/// machine, started again when it ends by itself, and stopped with the program. Only one program at a time works on a
/// data folder.
/// </summary>
public sealed partial class PrivatePostgres : IAsyncDisposable
{
    private const string Cluster = "cluster";
    private const string Unfinished = Cluster + ".new";
    private const string LogFile = "server.log";

    private readonly PrivatePostgresOptions _options;
    private readonly ILogger _logger;
    private readonly string _folder;
    private readonly DataFolderLock _lock;
    private readonly ServerUser _user;
    private readonly Lazy<Task> _stop;
    private PostgresBinaries? _binaries;
    private Watchdog? _watchdog;
    private string? _temporarySocketFolder;
    private string _connectionString = "";
    private string[] _settings = [];

    private PrivatePostgres(PrivatePostgresOptions options, ILogger logger, string folder, DataFolderLock @lock,
        ServerUser user)
    {
        (_options, _logger, _folder, _lock, _user) = (options, logger, folder, @lock, user);
        _stop = new Lazy<Task>(StopAsync);
    }

    /// <summary>How to connect to the database that bears the name of the options.</summary>
    public string ConnectionString => _connectionString;

    /// <summary>The server's first process.</summary>
    public int ProcessId { get; private set; }

    /// <summary>The server's version.</summary>
    public Version Version => _binaries!.Version;

    private string ClusterFolder => Path.Combine(_folder, Cluster);

    private ServerLog Log => new(Path.Combine(_folder, LogFile));

    private string PasswordFile => Path.Combine(_folder, "password");

    /// <summary>Starts the server on a data folder with the usual options.</summary>
    /// <param name="dataFolder">The folder that keeps the cluster; see <see cref="DataFolder"/>.</param>
    /// <param name="logger">Told what is started and stopped.</param>
    /// <param name="cancellationToken">Gives up the start; what was started is stopped.</param>
    /// <returns>The running server, its database made.</returns>
    /// <exception cref="DataFolderInUseException">Another program works on the folder.</exception>
    /// <exception cref="PostgresNotFoundException">No fitting PostgreSQL is on this machine.</exception>
    /// <exception cref="PrivatePostgresException">The server can't be started; the message says why.</exception>
    public static Task<PrivatePostgres> StartAsync(string dataFolder, ILogger? logger = null,
        CancellationToken cancellationToken = default) =>
        StartAsync(new PrivatePostgresOptions { DataFolder = dataFolder }, logger, cancellationToken);

    /// <summary>Starts the server.</summary>
    /// <param name="options">Where and how it runs.</param>
    /// <param name="logger">Told what is started and stopped.</param>
    /// <param name="cancellationToken">Gives up the start; what was started is stopped.</param>
    /// <returns>The running server, its database made.</returns>
    /// <exception cref="ArgumentException">The name can't be one of a database.</exception>
    /// <exception cref="DataFolderInUseException">Another program works on the folder.</exception>
    /// <exception cref="PostgresNotFoundException">No fitting PostgreSQL is on this machine.</exception>
    /// <exception cref="PrivatePostgresException">The server can't be started; the message says why.</exception>
    public static async Task<PrivatePostgres> StartAsync(PrivatePostgresOptions options, ILogger? logger = null,
        CancellationToken cancellationToken = default)
    {
        ArgumentNullException.ThrowIfNull(options);
        options = options.Checked();
        var folder = Path.Combine(options.DataFolder, "postgresql");
        DataFolder.Create(options.DataFolder, options.ChooseFolder);

        PrivatePostgres? server = null;
        var held = DataFolderLock.Acquire(options);
        try
        {
            var user = await ServerUser.ChooseAsync(Path.Combine(folder, Cluster), cancellationToken)
                .ConfigureAwait(false);
            server = new PrivatePostgres(options, logger ?? NullLogger.Instance, folder, held, user);
            await server.StartAsync(cancellationToken).ConfigureAwait(false);
            server._watch = server.WatchAsync(server._stopping.Token);
            AppDomain.CurrentDomain.ProcessExit += server.StopAtExit;
            return server;
        }
        catch (Exception e)
        {
            if (server is not null)
                await server.DisposeAsync().ConfigureAwait(false);
            held.Dispose();
            if (e is NpgsqlException or IOException or UnauthorizedAccessException or Win32Exception)
                throw new PrivatePostgresException($"The embedded PostgreSQL in {folder} can't be used: {e.Message}",
                    e);
            throw;
        }
    }

    /// <summary>
    /// How to connect to the server that another program runs on a data folder; for a short command beside it.
    /// </summary>
    /// <param name="options">The folder that keeps the cluster, and the name it was made with.</param>
    /// <returns>Null when none runs there.</returns>
    /// <exception cref="ArgumentException">The name can't be one of a database.</exception>
    /// <exception cref="PrivatePostgresException">The folder is another user's.</exception>
    public static string? ConnectionStringOfRunning(PrivatePostgresOptions options)
    {
        ArgumentNullException.ThrowIfNull(options);
        options = options.Checked();
        var folder = Path.Combine(options.DataFolder, "postgresql");
        var cluster = Path.Combine(folder, Cluster);
        Postmaster? running;
        try
        {
            running = Postmaster.Read(cluster);
        }
        catch (UnauthorizedAccessException e)
        {
            throw new PrivatePostgresException($"The data folder {options.DataFolder} is another user's: run this as "
                + $"the user who runs the server.", e);
        }

        if (running?.IsRunningOn(cluster) != true)
            return null;

        var connection = new NpgsqlConnectionStringBuilder
        {
            Username = options.Name,
            Database = options.Name,
            Port = running.Port
        };
        if (OperatingSystem.IsWindows())
        {
            connection.Host = IPAddress.Loopback.ToString();
            connection.Password = File.ReadAllText(Path.Combine(folder, "password"));
        }
        else
        {
            // The server may name its folder as seen from the cluster.
            connection.Host = Path.GetFullPath(running.SocketFolder, cluster);
        }

        return connection.ConnectionString;
    }

    /// <summary>Makes a database unless there is one of that name.</summary>
    /// <param name="name">Its name.</param>
    /// <param name="cancellationToken">Stops waiting.</param>
    /// <returns>How to connect to it.</returns>
    /// <exception cref="NpgsqlException">The server refuses.</exception>
    public async Task<string> CreateDatabaseAsync(string name, CancellationToken cancellationToken = default)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(name);
        var maintenance = new NpgsqlConnectionStringBuilder(_connectionString)
        {
            Database = "postgres",
            Pooling = false
        };
        var connection = new NpgsqlConnection(maintenance.ConnectionString);
        await using (connection.ConfigureAwait(false))
        {
            await connection.OpenAsync(cancellationToken).ConfigureAwait(false);
            var command = connection.CreateCommand();
            await using (command.ConfigureAwait(false))
            {
                command.CommandText = "SELECT count(*) FROM pg_database WHERE datname = $1";
                command.Parameters.Add(new NpgsqlParameter { Value = name });
                if (await command.ExecuteScalarAsync(cancellationToken).ConfigureAwait(false) is 0L)
                {
                    command.Parameters.Clear();
                    command.CommandText = $"CREATE DATABASE \"{name.Replace("\"", "\"\"", StringComparison.Ordinal)}\"";
                    await command.ExecuteNonQueryAsync(cancellationToken).ConfigureAwait(false);
                }
            }
        }

        return new NpgsqlConnectionStringBuilder(_connectionString) { Database = name }.ConnectionString;
    }

    /// <summary>Stops the server, waits until it has stopped, and frees the data folder.</summary>
    public ValueTask DisposeAsync() => new(_stop.Value);

    private async Task StartAsync(CancellationToken cancellationToken)
    {
        await DataFolder.CloseAsync(_options, _user, _logger, cancellationToken).ConfigureAwait(false);
        DataFolder.CreateOwn(_folder);
        await _user.OwnAsync(_folder, cancellationToken).ConfigureAwait(false);
        await _user.ReachAsync(_folder, _options, cancellationToken).ConfigureAwait(false);

        await FinishReplacementAsync(cancellationToken).ConfigureAwait(false);
        _binaries = await PostgresBinaries.FindAsync(_options, _user, ClusterMajor(), cancellationToken)
            .ConfigureAwait(false);
        if (ClusterMajor() is null)
            await MakeClusterAsync(cancellationToken).ConfigureAwait(false);

        _settings = await PrepareConnectionAsync(cancellationToken).ConfigureAwait(false);
        _logger.LogInformation("Starting PostgreSQL {Version} from {Binaries} on {Cluster}", _binaries.Version,
            _binaries.Folder, ClusterFolder);
        await RunServerAsync(cancellationToken).ConfigureAwait(false);
        await CreateDatabaseAsync(_options.Name, cancellationToken).ConfigureAwait(false);
    }

    /// <summary>
    /// Makes the cluster under another name first, so that one left half made is never taken for whole.
    /// </summary>
    private async Task MakeClusterAsync(CancellationToken cancellationToken)
    {
        // Each try has a folder of its own: the initdb of a killed program may still be at work.
        var unfinished = $"{Unfinished}-{RandomNumberGenerator.GetHexString(8, lowercase: true)}";
        if (Directory.Exists(ClusterFolder))
            throw new PrivatePostgresException($"The folder {ClusterFolder} has no PostgreSQL cluster in it. Move it "
                + $"away, or put the cluster back.");

        await ForgetUnfinishedAsync(cancellationToken).ConfigureAwait(false);
        if (OperatingSystem.IsWindows())
            await File.WriteAllTextAsync(PasswordFile, RandomNumberGenerator.GetHexString(32), cancellationToken)
                .ConfigureAwait(false);

        _logger.LogInformation("Making a PostgreSQL {Version} cluster in {Cluster}", _binaries!.Version, ClusterFolder);
        string[] access = OperatingSystem.IsWindows()
            ? ["--auth=scram-sha-256", "--pwfile=password"]
            // The socket's folder lets only its owner in, so who gets to the socket may connect.
            : ["--auth-local=trust", "--auth-host=reject"];
        string[] arguments =
        [
            "-D", unfinished, "--username=" + _options.Name, "--encoding=UTF8", "--locale=C", "--data-checksums",
            .. access, .. _options.Durable ? (string[])[] : ["--no-sync"],
        ];
        var result = await RunAsUserAsync(_binaries.InitDb, arguments, cancellationToken, TimeSpan.FromMinutes(5))
            .ConfigureAwait(false);
        if (!result.Succeeded)
            throw new PrivatePostgresException($"PostgreSQL could not make a cluster in "
                + $"{_folder}:{Environment.NewLine}{result.Output}");

        Directory.Move(Path.Combine(_folder, unfinished), ClusterFolder);

        // What is written to the cluster may be on disk before its name is: after a power cut it would be taken for
        // unfinished.
        await SyncAsync(cancellationToken).ConfigureAwait(false);
    }

    /// <summary>
    /// Removes what interrupted tries have left. What is still being written in may stay until the next one.
    /// </summary>
    private async Task ForgetUnfinishedAsync(CancellationToken cancellationToken)
    {
        foreach (var left in Directory.EnumerateDirectories(_folder, Unfinished + "*").Select(Path.GetFileName)
            .ToList())
        {
            if (!OperatingSystem.IsWindows())
                await RunAsUserAsync("rm", ["-rf", left!], cancellationToken).ConfigureAwait(false);
            else
                Directory.Delete(Path.Combine(_folder, left!), recursive: true);
        }
    }

    /// <summary>
    /// Stops a server that outlived its program, ends what a killed one has left, and removes its traces.
    /// </summary>
    private async Task ClearAwayAsync(CancellationToken cancellationToken)
    {
        if (Postmaster.IsCutOff(ClusterFolder))
        {
            // A full disk, or a kill while it was written, has left an incomplete file, beside which no server starts.
            await Task.Delay(TimeSpan.FromSeconds(1), cancellationToken).ConfigureAwait(false);
            if (Postmaster.IsCutOff(ClusterFolder))
                Postmaster.Forget(ClusterFolder);
        }

        var left = Postmaster.Read(ClusterFolder);
        if (left?.IsRunningOn(ClusterFolder) == true)
        {
            _logger.LogWarning("Stopping the PostgreSQL server (process {ProcessId}) that an earlier program left on "
                + "{Cluster}", left.ProcessId, ClusterFolder);
            await StopServerAsync(cancellationToken).ConfigureAwait(false);
        }

        await OrphanedServer.EndAsync(ClusterFolder, cancellationToken).ConfigureAwait(false);

        // The id may belong to another process by now, or to a dead server that its parent hasn't noticed.
        if (Postmaster.Read(ClusterFolder)?.IsTaken == true)
            Postmaster.Forget(ClusterFolder);

        if (left is not null && left.SocketFolder != _temporarySocketFolder
            && SocketFolder.IsTemporary(left.SocketFolder, _options.Name) && Directory.Exists(left.SocketFolder))
            Directory.Delete(left.SocketFolder, recursive: true);
    }

    /// <summary>Settles where the server listens and how to get in.</summary>
    /// <returns>The server settings for it.</returns>
    private async Task<string[]> PrepareConnectionAsync(CancellationToken cancellationToken)
    {
        var connection = new NpgsqlConnectionStringBuilder { Username = _options.Name, Database = _options.Name };
        if (OperatingSystem.IsWindows())
        {
            connection.Host = IPAddress.Loopback.ToString();
            connection.Port = FreePort();
            connection.Password = await File.ReadAllTextAsync(PasswordFile, cancellationToken).ConfigureAwait(false);
            _connectionString = connection.ConnectionString;
            return [$"listen_addresses={connection.Host}",
                string.Create(CultureInfo.InvariantCulture, $"port={connection.Port}")];
        }

        // Relative to the cluster: no quoting and no limit on the server's side. The client names the whole path.
        var (serverFolder, clientFolder) = ("../socket", Path.Combine(_folder, "socket"));
        if (!SocketFolder.CanHold(clientFolder))
        {
            _temporarySocketFolder = clientFolder = serverFolder = SocketFolder.NewTemporary(_options.Name);
            DataFolder.CreateOwn(clientFolder);
            await _user.OwnAsync(clientFolder, cancellationToken).ConfigureAwait(false);
        }

        connection.Host = clientFolder;
        connection.Port = SocketFolder.Port;
        _connectionString = connection.ConnectionString;
        return ["listen_addresses=", string.Create(CultureInfo.InvariantCulture, $"port={SocketFolder.Port}"),
            "unix_socket_directories=" + serverFolder, "unix_socket_permissions=0700"];
    }

    /// <summary>Empties the socket's folder, since a socket of a killed server may still lie in it.</summary>
    private async Task EmptySocketFolderAsync(CancellationToken cancellationToken)
    {
        if (OperatingSystem.IsWindows())
            return;

        var script = _temporarySocketFolder is null
            ? "rm -rf socket && mkdir -m 700 socket"
            : "rm -f \"$1\"/.s.PGSQL.*";
        var emptied = await RunAsUserAsync("/bin/sh", ["-c", script, "sh", _temporarySocketFolder ?? ""],
            cancellationToken).ConfigureAwait(false);
        if (!emptied.Succeeded)
            throw new PrivatePostgresException($"The folder "
                + $"{_temporarySocketFolder ?? Path.Combine(_folder, "socket")} can't be made: {emptied.Output}");
    }

    /// <summary>Starts the server, once what stands in its way is cleared, and a watchdog beside it.</summary>
    private async Task RunServerAsync(CancellationToken cancellationToken)
    {
        // pg_ctl makes the server a session of its own, so Ctrl+C in a terminal reaches the program and not the server.
        string[] arguments =
        [
            "start", "-D", Cluster, "-l", LogFile, "-w", "-t",
            string.Create(CultureInfo.InvariantCulture, $"{_options.StartTimeout.TotalSeconds:0}"), "-o",
            ServerOptions(),
        ];
        Log.Rotate();
        for (var attempt = 1; ; attempt++)
        {
            await ClearAwayAsync(cancellationToken).ConfigureAwait(false);
            await EmptySocketFolderAsync(cancellationToken).ConfigureAwait(false);
            var logStart = Log.Length;
            var result = await RunAsUserAsync(_binaries!.PgCtl, arguments, cancellationToken,
                _options.StartTimeout + TimeSpan.FromSeconds(30)).ConfigureAwait(false);
            if (result.Succeeded)
                break;

            // Helpers of a killed server hold its memory until they notice its death, which takes them a moment; and
            // the server of a program that was killed meanwhile may have come up only now.
            var tail = Log.Tail(logStart);
            var another = tail.Contains("shared memory block", StringComparison.Ordinal)
                || tail.Contains("lock file", StringComparison.Ordinal);
            if (attempt > 50 || !another)
                throw new PrivatePostgresException($"PostgreSQL did not start on {ClusterFolder}: "
                    + $"{result.Output.ReplaceLineEndings(" ")}{Environment.NewLine}{tail}");
            await Task.Delay(TimeSpan.FromMilliseconds(200), cancellationToken).ConfigureAwait(false);
        }

        ProcessId = Postmaster.Read(ClusterFolder)?.ProcessId
            ?? throw new PrivatePostgresException($"PostgreSQL stopped right after its start. {Log.Tail(0)}");
        _watchdog?.Dispose();
        _watchdog = Watchdog.Start(_options.Name, _folder, Cluster, ProcessId, _user);
    }

    private string ServerOptions()
    {
        var durable = _options.Durable ? "on" : "off";
        string[] settings =
        [
            .. _settings,
            string.Create(CultureInfo.InvariantCulture, $"max_connections={_options.MaxConnections}"),
            "fsync=" + durable, "synchronous_commit=" + durable, "full_page_writes=" + durable,
            // On macOS only this reaches the disk itself and not just its cache.
            .. OperatingSystem.IsMacOS() && _options.Durable ? (string[])["wal_sync_method=fsync_writethrough"] : [],
            // Short queries only: compiling them costs more than it gains.
            "jit=off", "timezone=UTC", "cluster_name=" + _options.Name,
        ];
        return string.Join(' ', settings.Select(setting => "-c " + setting));
    }

    private async Task StopAsync()
    {
        AppDomain.CurrentDomain.ProcessExit -= StopAtExit;
        await _stopping.CancelAsync().ConfigureAwait(false);
        await _watch.ConfigureAwait(false);
        try
        {
            if (_binaries is not null && Postmaster.Read(ClusterFolder) is not null)
                await StopServerAsync(CancellationToken.None).ConfigureAwait(false);
            _watchdog?.Dispose();
            if (_temporarySocketFolder is not null && Directory.Exists(_temporarySocketFolder))
                Directory.Delete(_temporarySocketFolder, recursive: true);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            _logger.LogWarning(e, "The embedded PostgreSQL was stopped but left something behind");
        }
        finally
        {
            _lock.Dispose();
            _stopping.Dispose();
        }
    }

    /// <summary>
    /// Stops the server the gentlest way that works: its clients sent off, then without a checkpoint, then killed.
    /// </summary>
    private async Task StopServerAsync(CancellationToken cancellationToken)
    {
        foreach (var mode in (string[])["fast", "immediate"])
        {
            string[] arguments = ["stop", "-D", Cluster, "-m", mode, "-w", "-t",
                string.Create(CultureInfo.InvariantCulture, $"{_options.StopTimeout.TotalSeconds:0}")];
            var result = await RunAsUserAsync(_binaries!.PgCtl, arguments, cancellationToken,
                _options.StopTimeout + TimeSpan.FromSeconds(30)).ConfigureAwait(false);
            if (result.Succeeded || Postmaster.Read(ClusterFolder)?.IsRunningOn(ClusterFolder) != true)
                return;
            _logger.LogWarning("PostgreSQL did not stop in mode {Mode}: {Answer}", mode, result.Output);
        }

        if (Postmaster.Read(ClusterFolder) is { } stuck && stuck.IsRunningOn(ClusterFolder))
            await stuck.KillAsync(ClusterFolder, cancellationToken).ConfigureAwait(false);
    }

    // Windows has no watchdog, and elsewhere the program should not be gone before its server.
    private void StopAtExit(object? sender, EventArgs e) => _stop.Value.GetAwaiter().GetResult();

    private Task<CommandResult> RunAsUserAsync(string tool, IReadOnlyList<string> arguments,
        CancellationToken cancellationToken, TimeSpan? timeout = null) =>
        new Command(tool, arguments)
        {
            User = _user.Name,
            WorkingFolder = _folder,
            Timeout = timeout ?? TimeSpan.FromSeconds(30)
        }.RunAsync(cancellationToken);

    /// <summary>The major version that made the cluster; null when there is none.</summary>
    private int? ClusterMajor()
    {
        var file = Path.Combine(ClusterFolder, "PG_VERSION");
        return File.Exists(file) && int.TryParse(File.ReadAllText(file), CultureInfo.InvariantCulture, out var major)
            ? major
            : null;
    }

    private static int FreePort()
    {
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        return ((IPEndPoint)listener.LocalEndpoint).Port;
    }
}
