using System.Diagnostics;
using System.Reflection;
using System.Runtime.CompilerServices;
using System.Text;
using Xunit;

[assembly: AssemblyFixture(typeof(BookServer))]

namespace CashEvents.Cash.Tests.Hosting;

/// <summary>
/// The real server on a real PostgreSQL, started once when the first test asks for it. Each test has a household of its
/// own there.
/// </summary>
public sealed class BookServer : IAsyncDisposable
{
    private const string Listens = "CashEvents listens on ";
    private const string ServerKey = "a-server-key-for-tests-of-clients";

    private readonly Lazy<Task<Running>> _running = new(StartAsync);

    /// <summary>The repository that the tests were built in.</summary>
    public static string Repository { get; } =
        Path.GetFullPath(Path.Combine(Path.GetDirectoryName(ThisFile())!, "..", "..", ".."));

    /// <summary>A file that was built of a project of the repository.</summary>
    public static string Built(string project, string file) => Path.Combine(Repository, "src", project, "bin",
        typeof(BookServer).Assembly.GetCustomAttributes<AssemblyMetadataAttribute>()
            .Single(said => said.Key == "Configuration").Value!, "net10.0", file);

    /// <summary>A household with wallets and compartments and no money yet.</summary>
    internal async Task<Household> HarbourRowAsync()
    {
        var running = await _running.Value;
        using var host = new CashEventsClient(running.Address, ServerKey);
        var opened = await host.Api.Households.PostAsync(
            new NewHouseholdRequest { Name = "Harbour Row " + Guid.NewGuid().ToString("N") });
        var household = new Household(running.Address, opened!.Key!);
        await household.Keeper.Http.PutAsync(new Uri("/api/set-up", UriKind.Relative),
            new StringContent(Household.SetUp, Encoding.UTF8, "application/json"));
        return household;
    }

    public async ValueTask DisposeAsync()
    {
        if (_running is { IsValueCreated: true, Value.IsCompletedSuccessfully: true })
        {
            using var program = (await _running.Value).Program;
            using (var stop = Process.Start("kill", ["-TERM", $"{program.Id}"]))
                await stop.WaitForExitAsync();
            await program.WaitForExitAsync();
            Directory.Delete((await _running.Value).Folder, recursive: true);
        }
    }

    private static async Task<Running> StartAsync()
    {
        var folder = Path.Combine(Path.GetTempPath(), "cash-test-" + Guid.NewGuid().ToString("N")[..12]);
        var start = new ProcessStartInfo("dotnet",
            ["exec", Built("CashEvents.Api", "CashEvents.Api.dll"), "--urls", "http://127.0.0.1:0"])
        {
            RedirectStandardOutput = true,
            Environment = { ["CASHEVENTS_DATA"] = folder, ["CASHEVENTS_SERVER_KEY"] = ServerKey,
                ["ConnectionStrings__CashEvents"] = null },
        };
        var address = new TaskCompletionSource<Uri>();
        var program = new Process { StartInfo = start };
        program.OutputDataReceived += (_, line) =>
        {
            if (line.Data?.StartsWith(Listens, StringComparison.Ordinal) == true)
                address.TrySetResult(new Uri(line.Data[Listens.Length..].Split(' ', ',')[0]));
            else if (line.Data is null)
                address.TrySetException(new InvalidOperationException("The server ended before it listened."));
        };
        program.Start();
        program.BeginOutputReadLine();
        return new Running(program, folder, await address.Task);
    }

    private static string ThisFile([CallerFilePath] string here = "") => here;

    private sealed record Running(Process Program, string Folder, Uri Address);
}
