using System.Collections.Immutable;
using System.Globalization;
using Microsoft.AspNetCore.Connections;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;
using Microsoft.Extensions.Hosting.Systemd;
using Microsoft.Extensions.Hosting.WindowsServices;
using Npgsql;
using Spectre.Console;

namespace CashEvents.Api.Hosting;

/// <summary>Start to stop: PostgreSQL, the server, the first book, the demo, a greeting.</summary>
internal static class CashEventsProgram
{
    /// <summary>
    /// The status with which it ends when its private PostgreSQL can't be started again: EX_TEMPFAIL of sysexits.h,
    /// "try again later".
    /// </summary>
    public const int LostPostgres = 75;

    /// <summary>
    /// The status with which it ends when a book of an older program can't be rebuilt: EX_DATAERR of sysexits.h.
    /// </summary>
    public const int BookNotRebuilt = 65;

    public static async Task<int> RunAsync(string[] args)
    {
        try
        {
            var command = CommandLine.Read(args);
            if (command.Help)
            {
                Console.WriteLine(CommandLine.Usage);
                return 0;
            }

            if (command.Version)
            {
                Console.WriteLine($"CashEvents {ProgramVersion.Text}");
                return 0;
            }

            return await DoAsync(command).ConfigureAwait(false);
        }
        catch (Exception failure) when (failure is StartException or PrivatePostgresException)
        {
            await Console.Error.WriteLineAsync(failure.Message).ConfigureAwait(false);
        }
        catch (UpgradeFailedException failure)
        {
            await Console.Error.WriteLineAsync(Say(failure)).ConfigureAwait(false);
            return BookNotRebuilt;
        }
        catch (IOException failure) when (failure.InnerException is AddressInUseException)
        {
            await Console.Error.WriteLineAsync($"{failure.Message} Another program listens there: stop it, or choose "
                + $"another address with --urls http://127.0.0.1:5081.").ConfigureAwait(false);
        }
        catch (Exception failure) when (OfPostgres(failure) is { } cause)
        {
            await Console.Error.WriteLineAsync($"PostgreSQL can't be used: {cause.Message} See "
                + $"ConnectionStrings__CashEvents.").ConfigureAwait(false);
        }

        return 1;
    }

    private static async Task<int> DoAsync(CommandLine command)
    {
        var environment = new ConfigurationBuilder().AddEnvironmentVariables().AddCommandLine(command.Settings).Build();
        foreach (var told in Setting.Unknown(environment))
        {
            await Console.Error.WriteLineAsync(told).ConfigureAwait(false);
        }

        command = command with { Settings = [.. SettingsFile.Read(environment), .. command.Settings] };
        var configuration = new ConfigurationBuilder().AddCommandLine(command.Settings).AddEnvironmentVariables()
            .AddCommandLine(command.Settings).Build();
        Setting.Check(configuration);
        var dataFolder = OwnPostgres.Folder(configuration[OwnPostgres.FolderVariable]);
        var backups = BackupSettings.Read(configuration, dataFolder,
            isPrivate: string.IsNullOrWhiteSpace(configuration.GetConnectionString("CashEvents")));
        var serves = command.AddHousehold is null && !command.Verify && !command.Rebuild
            && command.NewKeeperKey is null && command.Forget is null && command.Backup is null && !command.Check;
        using var log = LoggerFactory.Create(logging => Server.WriteLog(logging, configuration)
            .SetMinimumLevel(LogLevel.Warning));
        if (command.UpgradeDatabase is { } upgrade)
        {
            return await upgrade.RunAsync(configuration, dataFolder, log.CreateLogger<PrivatePostgres>())
                .ConfigureAwait(false);
        }

        await using var database = Database.Start(configuration, dataFolder, orRunning: !serves,
            log.CreateLogger<PrivatePostgres>());
        if (database.Started.IsCompleted)
        {
            // Nothing is made in a folder that another program has.
            await database.Started.ConfigureAwait(false);
        }

        var firstStart = serves
            ? new FirstStart(command.Demo, configuration[KeeperKey.Variable], dataFolder)
            : null;
        using var authority = Authority(command.Lan, configuration, dataFolder);
        // PostgreSQL comes up while the server is put together, and what the first request needs.
        var page = serves ? Task.Run(BookPage.MakeReady) : Task.CompletedTask;
        await using var server = Server.Build(() => database.ConnectionString, command.Settings,
            services => AddOwn(services, database, backups, dataFolder, serves),
            fillsByItself: serves, firstStart, new Upgrading(MustSucceed: serves, command.LeaveOut),
            command.Lan is null ? null : new HomeNetwork(command.Lan, authority, TimeProvider.System));
        var ready = serves ? Task.WhenAll(page, Task.Run(server.MakeReady)) : page;
        await database.Started.ConfigureAwait(false);
        var givenKey = configuration[KeeperKey.Variable];
        return await (serves
            ? ServeAsync(server, ready, database, command.LeaveOut, givenKey, dataFolder)
            : server.ForOneCommandAsync(() => command switch
            {
                { AddHousehold: { } name } => AddHouseholdAsync(server, name),
                { NewKeeperKey: { } lost } => NewKeeperKeyAsync(server, lost, givenKey, dataFolder),
                { Forget: { } task } => ForgetProgram.RunAsync(server.Services, task, backups.Folder),
                { Verify: true } => VerifyAsync(server),
                { Rebuild: true } => RebuildingProgram.RunAsync(server.Services, AnsiConsole.Console),
                { Backup: { } backup } => BackupAsync(server, backup, givenKey, dataFolder),
                _ => CheckProgram.RunAsync(server.Services),
            })).ConfigureAwait(false);
    }

    private static void AddOwn(IServiceCollection services, Database database, BackupSettings backups,
        string dataFolder, bool serves)
    {
        database.AddTo(services);
        services.AddSingleton(new CheckedPlaces(dataFolder, backups.Folder, database.IsOwn));
        if (serves)
        {
            // Where a service manager started the program, it hears when the books are served.
            services.AddSystemd().AddWindowsService();
            // The memory is the program's: several servers in one process would collect it in turn.
            services.AddHostedService<IdleMemory>();
            services.AddSingleton(backups).AddHostedService(provider =>
                ActivatorUtilities.CreateInstance<NightlyBackups>(provider, database.ConnectionString));
        }
    }

    // None where a certificate is given, and none is needed over plain http.
    private static HomeAuthority? Authority(LanAsked? lan, IConfiguration configuration, string dataFolder) =>
        lan is null or { Plain: true } || configuration["Kestrel:Certificates:Default:Path"] is { Length: > 0 } ? null
        : HomeAuthority.TakeOrMake(dataFolder, Environment.MachineName.ToLowerInvariant(),
            TimeProvider.System.GetUtcNow());

    // The writer and Marten wrap what PostgreSQL says in exceptions of their own.
    private static Exception? OfPostgres(Exception? failure) =>
        failure is null or NpgsqlException or TimeoutException ? failure : OfPostgres(failure.InnerException);

    /// <summary>Serves until it is asked to stop, or its private PostgreSQL is lost for good.</summary>
    private static async Task<int> ServeAsync(WebApplication server, Task ready, Database database,
        ImmutableHashSet<string> leftOut, string? givenKey, string dataFolder)
    {
        database.Renew(server.Services.GetRequiredService<NpgsqlDataSource>());
        await StartAsync(server).ConfigureAwait(false);
        await ready.ConfigureAwait(false);
        var greeting = new Greeting(
            server.Services.GetRequiredService<IServer>().Features.Get<IServerAddressesFeature>()!.Addresses,
            Setting.LogsJson(server.Configuration) || SystemdHelpers.IsSystemdService()
                || WindowsServiceHelpers.IsWindowsService()
                ? server.Services.GetRequiredService<ILogger<Greeting>>() : null);
        var first = server.Services.GetRequiredService<FirstBook>();
        var keepers = first.NewKey?.Plain;
        if (first.NewKey is { } key)
        {
            greeting.Tell(key);
        }
        else
        {
            keepers = await TellOfKeysAsync(greeting, server.Services.GetRequiredService<Opening>(), givenKey,
                dataFolder).ConfigureAwait(false);
        }

        if (keepers is not null && HouseholdPage.IsServed(server))
        {
            greeting.TellPage(server.Services.GetRequiredService<OneTimeCodes>()
                .Issue(new KeepersLink(KeyRing.Hash(keepers))));
        }

        if (first.LinesBeforeDemo is { } lines)
        {
            greeting.TellDemoNotLoaded(lines);
        }

        if (server.Services.GetService<HomeNetwork>() is { } network)
        {
            greeting.TellNetwork(network, network.Address(server.Services.GetRequiredService<IServer>()));
        }

        greeting.TellLeftOut(leftOut);
        greeting.Say(leftOut.Contains(Opening.FirstHousehold)
            ? null
            : await server.Services.GetRequiredService<BookReader>().ReadAsync(Opening.FirstHousehold)
                .ConfigureAwait(false));
        var stopped = server.WaitForShutdownAsync();
        if (await Task.WhenAny(stopped, database.Lost).ConfigureAwait(false) == stopped)
        {
            await stopped.ConfigureAwait(false);
            return 0;
        }

        var loss = await database.Lost.ConfigureAwait(false);
        await Console.Error.WriteLineAsync($"{loss.Message}{Environment.NewLine}The program ends. What was "
            + $"acknowledged is on disk: mend the cause, then start it again.").ConfigureAwait(false);
        await server.StopAsync().ConfigureAwait(false);
        return LostPostgres;
    }

    private static async Task StartAsync(WebApplication server)
    {
        try
        {
            await server.StartAsync().ConfigureAwait(false);
        }
        catch
        {
            // What runs already is told to stop: taken down without, its end is logged as if it had failed.
            await server.StopAsync().ConfigureAwait(false);
            throw;
        }
    }

    // The book keeps the keys it has: what is given or kept beside it may be another's, or from before a key was lost.
    private static async Task<string?> TellOfKeysAsync(Greeting greeting, Opening opening, string? givenKey,
        string dataFolder)
    {
        string? keepers = null;
        var file = KeeperKey.FileIn(dataFolder);
        if (!string.IsNullOrWhiteSpace(givenKey))
        {
            keepers = await IfKeepersAsync(givenKey.Trim()).ConfigureAwait(false);
            greeting.TellGiven(keepers is not null);
        }

        if (File.Exists(file))
        {
            var kept = await IfKeepersAsync((await File.ReadAllTextAsync(file).ConfigureAwait(false)).Trim())
                .ConfigureAwait(false);
            greeting.TellKept(file, kept is not null);
            keepers ??= kept;
        }
        else if (string.IsNullOrWhiteSpace(givenKey))
        {
            greeting.TellNoneKept();
        }

        return keepers;

        async Task<string?> IfKeepersAsync(string key) =>
            await opening.IsKeepersAsync(Opening.FirstHousehold, key).ConfigureAwait(false) ? key : null;
    }

    private static async Task<int> AddHouseholdAsync(WebApplication server, string name)
    {
        var (key, again) = await Opened().ConfigureAwait(false);
        Console.WriteLine(again
            ? $"The household \"{name.Trim()}\" already has a book, with nothing in it. The keeper's key from before "
                + $"no "
                + $"longer opens it. The new one, shown this once:"
            : $"The household \"{name.Trim()}\" has a book now. Its keeper's key, shown this once:");
        Console.WriteLine(key);
        return 0;

        async Task<(string Key, bool Again)> Opened()
        {
            try
            {
                return await server.Services.GetRequiredService<Opening>().AddAsync(name).ConfigureAwait(false);
            }
            catch (RefusalException refused)
            {
                throw new StartException(Addresses.Say(refused.Message));
            }
        }
    }

    private static async Task<int> NewKeeperKeyAsync(WebApplication server, LostKey lost, string? givenKey,
        string dataFolder)
    {
        await TellNewKeeperKeyAsync(server, lost, givenKey, dataFolder).ConfigureAwait(false);
        return 0;
    }

    private static async Task TellNewKeeperKeyAsync(WebApplication server, LostKey lost, string? givenKey,
        string dataFolder)
    {
        var (household, name, revoked, key) =
            await server.Services.GetRequiredService<NewKeeperKey>().IssueAsync(lost, givenKey, dataFolder)
                .ConfigureAwait(false);
        Console.WriteLine($"The book of '{household}' has a new keeper's key, named "
            + $"'{name}'.{(revoked is null ? "" : $" The key '{revoked}' is revoked.")} The book's last lines say so.");
        if (givenKey is not null && key.Plain == givenKey.Trim())
        {
            Console.WriteLine($"It is the one in {KeeperKey.Variable}.");
        }
        else
        {
            Console.WriteLine(key.File is null
                ? "The key, shown this once:"
                : $"The key, shown this once and kept in {key.File}:");
            Console.WriteLine(key.Plain);
        }
    }

    private static async Task<int> VerifyAsync(WebApplication server)
    {
        var verification = server.Services.GetRequiredService<VerificationReader>();
        var households = await verification.HouseholdsAsync().ConfigureAwait(false);
        if (households.Count == 0)
        {
            throw new StartException("There is no book here to verify. See CASHEVENTS_DATA and "
                + "ConnectionStrings__CashEvents.");
        }

        var fit = true;
        foreach (var household in households)
        {
            var finding = await verification.ReadAsync(household).ConfigureAwait(false);
            fit &= finding.Agrees;
            Console.WriteLine(Say(household, finding));
        }

        return fit ? 0 : 1;
    }

    private static async Task<int> BackupAsync(WebApplication server, BackupTask task, string? givenKey,
        string dataFolder)
    {
        var result = task.Restores
            ? await BackupProgram.RestoreAsync(server.Services, task).ConfigureAwait(false)
            : await BackupProgram.WriteAsync(server.Services, task).ConfigureAwait(false);
        if (task.NewKeeper)
        {
            await TellNewKeeperKeyAsync(server, new LostKey(task.Household, null), givenKey, dataFolder)
                .ConfigureAwait(false);
        }

        return result;
    }

    // Nothing is served: figures that are wrong would be believed.
    private static string Say(UpgradeFailedException failure) => $"""
        A newer program makes what is kept beside the lines anew, and of these books it could not:
        {string.Join(Environment.NewLine, failure.Books.Select(book => $"  {book.Key}: {book.Value.Message}"))}
        Nothing was changed in them, and the program ends. The ways on:
          - verify names the first line of each that does not agree; put that back from a backup, and start again
          - without such a backup, put back the last backup in which verify finds that all lines fit
          - to serve the other books meanwhile, start with {string.Join(' ', failure.Books.Keys.Select(h => $"--leave-out {h}"))}
        """;

    /// <summary>What was found of a book, in a sentence.</summary>
    public static string Say(string household, ChainFinding finding) => finding switch
    {
        { Misfit: { } misfit } =>
            string.Create(CultureInfo.InvariantCulture,
                $"{household}: line {misfit.Line} does not agree. {misfit.Reason}"),
        { Agrees: false } => string.Create(CultureInfo.InvariantCulture,
            $"{household}: {finding.Lines} lines agree, but {finding.Drifts.Count} of the fields kept beside them "
                + $"are not what they give ({string.Join(", ", finding.Drifted)}). Run rebuild: it tells each and puts "
                + $"it right."),
        { WithoutHash: > 0 } => string.Create(CultureInfo.InvariantCulture,
            $"{household}: {finding.Lines} lines agree, the first {finding.WithoutHash} of them written before lines "
                + $"had a hash; hash {finding.Hash}"),
        _ => string.Create(CultureInfo.InvariantCulture,
            $"{household}: {finding.Lines} lines agree; hash {finding.Hash}"),
    };
}
