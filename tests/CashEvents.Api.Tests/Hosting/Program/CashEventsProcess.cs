using System.Collections.Concurrent;
using System.Diagnostics;
using Xunit;

namespace CashEvents.Api.Tests.Hosting;

/// <summary>
/// The real program as a process of its own, with its private PostgreSQL, for a test to talk to and to kill.
/// </summary>
internal sealed class CashEventsProcess : IAsyncDisposable
{
    private const string Listens = "CashEvents listens on ";

    private readonly Process _process;
    private readonly ConcurrentQueue<string> _output = new();
    private readonly HttpClient _http = new();
    private readonly string _folder;

    private CashEventsProcess(string folder, string[] arguments, string? keeperKey,
        params (string Name, string Value)[] environment)
    {
        _folder = folder;
        var start = new ProcessStartInfo("dotnet", ["exec", typeof(Api.Hosting.Server).Assembly.Location, .. arguments])
        {
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            Environment = { ["CASHEVENTS_DATA"] = folder, ["CASHEVENTS_KEEPER_KEY"] = keeperKey,
                ["ConnectionStrings__CashEvents"] = null },
        };
        foreach (var (name, value) in environment)
            start.Environment[name] = value;
        _process = new Process { StartInfo = start };
        _process.OutputDataReceived += (_, line) => _output.Enqueue(line.Data ?? "");
        _process.ErrorDataReceived += (_, line) => _output.Enqueue(line.Data ?? "");
        _process.Start();
        _process.BeginOutputReadLine();
        _process.BeginErrorReadLine();
    }

    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    /// <summary>Everything it has printed so far.</summary>
    public string Output => string.Join('\n', _output);

    /// <summary>Where it listens, as its greeting says.</summary>
    public string Address { get; private set; } = "";

    /// <summary>Its process id.</summary>
    public int Id => _process.Id;

    /// <summary>Whether it has ended.</summary>
    public bool HasEnded => _process.HasExited;

    /// <summary>Process id of its PostgreSQL.</summary>
    public int PostgresId => int.Parse(File.ReadLines(Path.Combine(_folder, "postgresql", "cluster", "postmaster.pid"))
        .First());

    /// <summary>Starts it and waits until it has printed its greeting.</summary>
    public static async Task<CashEventsProcess> ServeAsync(string folder, string? keeperKey = null,
        params string[] more)
    {
        var program = Start(folder, keeperKey, null, more);
        await program.UntilServingAsync();
        return program;
    }

    /// <summary>Starts it and does not wait.</summary>
    /// <param name="folder">Its data folder.</param>
    /// <param name="keeperKey">The key that it is given; null for one of its own.</param>
    /// <param name="address">Where it listens; by default on a port that the system chooses, at the moment of
    /// listening: one looked for beforehand may be taken by then.</param>
    /// <param name="more">More arguments.</param>
    /// <param name="environment">More settings.</param>
    public static CashEventsProcess Start(string folder, string? keeperKey, string? address, string[] more,
        params (string Name, string Value)[] environment) =>
        new(folder, ["--urls", address ?? "http://127.0.0.1:0", .. more], keeperKey,
            environment)
        { Address = address ?? "" };

    /// <summary>Starts a command and does not wait.</summary>
    public static CashEventsProcess StartCommand(string folder, params string[] arguments) =>
        new(folder, arguments, null);

    /// <summary>Waits until it has printed its greeting.</summary>
    public async Task UntilServingAsync()
    {
        while (!Output.Contains("A page to open", StringComparison.Ordinal))
        {
            Assert.False(_process.HasExited, Output);
            await Task.Delay(20, Stop);
        }

        // In a log for programs it is within a message.
        Address = _output.Select(line => line.Split(Listens)).Last(parts => parts.Length > 1)[1]
            .Split([' ', ',', '"'])[0];
    }

    /// <summary>Runs it to its end.</summary>
    public static Task<(int ExitCode, string Output)> RunAsync(string folder, params string[] arguments) =>
        RunWithKeyAsync(folder, null, arguments);

    /// <summary>Runs it to its end with a keeper's key in its environment.</summary>
    public static async Task<(int ExitCode, string Output)> RunWithKeyAsync(string folder, string? keeperKey,
        params string[] arguments)
    {
        await using var program = new CashEventsProcess(folder, arguments, keeperKey);
        return (await program.EndAsync(), program.Output);
    }

    public ApiClient Client(string? key) => new(_http, Address, key);

    /// <summary>Kills it at once, as a power cut would.</summary>
    public async Task KillAsync()
    {
        _process.Kill();
        await _process.WaitForExitAsync(Stop);
    }

    /// <summary>Asks it to stop, as a service runner would.</summary>
    public async Task TerminateAsync() =>
        Assert.True((await Tool.RunAsync("kill", "-TERM", _process.Id.ToString())).Succeeded);

    /// <summary>Waits until it has ended by itself.</summary>
    public async Task<int> EndAsync()
    {
        await _process.WaitForExitAsync(Stop);
        return _process.ExitCode;
    }

    public async ValueTask DisposeAsync()
    {
        if (!_process.HasExited)
        {
            await TerminateAsync();
            await _process.WaitForExitAsync(CancellationToken.None);
        }

        _process.Dispose();
        _http.Dispose();
    }
}
