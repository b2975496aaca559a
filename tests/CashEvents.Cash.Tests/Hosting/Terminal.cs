using System.Runtime.Versioning;

// Who may read a file is asked as Unix tells it.
[assembly: UnsupportedOSPlatform("windows")]

namespace CashEvents.Cash.Tests.Hosting;

/// <summary>What a command said, and how it ended.</summary>
internal sealed record Said(int Code, string Out, string Error);

/// <summary>
/// Somebody at a terminal of their own, with a home folder that goes with the test. Commands run in this process.
/// </summary>
internal sealed class Terminal : IDisposable
{
    public Terminal(Household? household = null)
    {
        Directory.CreateDirectory(Home);
        Variables["HOME"] = Home;
        if (household is not null)
            (Variables["CASHEVENTS_URL"], Variables["CASHEVENTS_KEY"]) = ($"{household.Address}", household.Key);
    }

    public string Home { get; } = Path.Combine(Path.GetTempPath(), "cash-home-" + Guid.NewGuid().ToString("N")[..12]);

    public Dictionary<string, string?> Variables { get; } = [];

    /// <summary>What waits to be sent.</summary>
    public string WaitingFile => Path.Combine(Home, ".local", "state", "cashevents", "waiting.jsonl");

    /// <summary>Where the connection is kept.</summary>
    public string ConnectionFile => Path.Combine(Home, ".config", "cashevents", "cash.json");

    /// <summary>What befalls the next requests.</summary>
    public Mishap[] Mishaps { get; set; } = [];

    /// <summary>Whether people look on, and not another program.</summary>
    public bool IsTerminal { get; init; }

    /// <summary>What is typed when it asks.</summary>
    public string Typed { get; set; } = "";

    /// <summary>Every command that there is.</summary>
    public static IEnumerable<string> AllCommands() => new Commands(new Surroundings
    {
        Variable = _ => null,
        In = TextReader.Null,
        Out = TextWriter.Null,
        Error = TextWriter.Null,
    }).Root.Subcommands.Select(command => command.Name);

    public async Task<Said> RunAsync(params string[] arguments) =>
        await RunAsync(new StringWriter(), default, arguments);

    public async Task<Said> RunAsync(StringWriter output, CancellationToken stop, params string[] arguments)
    {
        var error = new StringWriter();
        var code = await CashProgram.RunAsync(arguments, new Surroundings
        {
            Variable = name => Variables.GetValueOrDefault(name),
            In = new StringReader(Typed),
            Out = output,
            Error = error,
            IsTerminal = IsTerminal,
            Clock = new NoPauses(),
            Network = () => new LostAnswers(Mishaps),
        }, stop);
        return new Said(code, output.ToString(), error.ToString());
    }

    /// <summary>Runs it while the server can't be reached.</summary>
    public async Task<Said> RunAwayAsync(params string[] arguments)
    {
        Mishaps = [.. Enumerable.Repeat(Mishap.NotSent, 99)];
        var said = await RunAsync(arguments);
        Mishaps = [];
        return said;
    }

    public void Dispose() => Directory.Delete(Home, recursive: true);
}
