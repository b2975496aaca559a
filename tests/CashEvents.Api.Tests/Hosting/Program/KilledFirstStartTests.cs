using Xunit;

namespace CashEvents.Api.Tests.Hosting;

public sealed class KilledFirstStartTests : IDisposable
{
    // What a first start leaves behind on its way, in order: it is killed as soon as it has come so far.
    private static readonly string[] _landmarks =
    [
        "cashevents.lock",
        "postgresql",
        "postgresql/cluster.new*",
        "postgresql/cluster.new*/base",
        "postgresql/cluster.new*/PG_VERSION",
        "postgresql/cluster.new*/global/pg_control",
        "postgresql/cluster.new*/base/1/PG_VERSION",
        "postgresql/cluster.new*/base/[45]",
        "postgresql/cluster/PG_VERSION",
        "postgresql/cluster/postmaster.pid",
        "postgresql/socket/.s.PGSQL.5432",
        "keeper.key",
    ];

    private static CancellationToken Stop => TestContext.Current.CancellationToken;
    private readonly TemporaryDataFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [ThoroughFact]
    public async Task Wherever_a_first_start_is_killed_the_next_one_goes_on()
    {
        Assert.SkipWhen(OperatingSystem.IsWindows(), "Signals are a matter of Unix.");
        foreach (var landmark in _landmarks)
        {
            await using var killed = CashEventsProcess.Start(_folder.Path, null, null, ["--demo"]);
            while (!IsThere(landmark))
            {
                Assert.False(killed.HasEnded, $"{landmark}: {killed.Output}");
                await Task.Delay(1, Stop);
            }

            await killed.KillAsync();
        }

        await using var program = await CashEventsProcess.ServeAsync(_folder.Path, null, "--demo");
        var key = (await File.ReadAllTextAsync(Path.Combine(_folder.Path, "keeper.key"), Stop)).Trim();
        var balances = (await program.Client(key).GetAsync("/api/balances")).MustBe(200);
        Assert.Contains("Ferry fares", balances.Text);
    }

    private bool IsThere(string landmark)
    {
        IEnumerable<string> found = [_folder.Path];
        foreach (var part in landmark.Split('/'))
        {
            found = [.. found.Where(Directory.Exists).SelectMany(folder => part == "[45]"
                ? Names(folder, "4").Concat(Names(folder, "5"))
                : Names(folder, part))];
        }

        return found.Any();
    }

    private static string[] Names(string folder, string pattern)
    {
        try
        {
            return Directory.GetFileSystemEntries(folder, pattern);
        }
        catch (DirectoryNotFoundException)
        {
            // Renamed or removed meanwhile.
            return [];
        }
    }
}
