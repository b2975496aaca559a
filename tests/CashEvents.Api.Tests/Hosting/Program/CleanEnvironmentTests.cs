using Xunit;

namespace CashEvents.Api.Tests.Hosting;

/// <summary>The keeper's key in the program's environment is not passed on to its PostgreSQL.</summary>
public sealed class CleanEnvironmentTests : IDisposable
{
    private const string Key = "a-key-that-the-keeper-chose-and-tells-nobody";

    private static CancellationToken Stop => TestContext.Current.CancellationToken;
    private readonly TemporaryDataFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [ThoroughFact]
    public async Task The_server_its_helpers_and_the_watchdog_see_nothing_of_the_programs_environment()
    {
        Assert.SkipUnless(OperatingSystem.IsLinux(), "Only Linux shows a process's environment.");
        await using var program = await CashEventsProcess.ServeAsync(_folder.Path, Key);

        var children = await ChildrenAsync(program.Id, program.PostgresId);
        var seen = children.Append(program.PostgresId)
            .ToDictionary(id => id, id => File.ReadAllText($"/proc/{id}/environ"));

        // The watchdog, the first process, and its helpers.
        Assert.True(seen.Count >= 5, string.Join(", ", seen.Keys));
        Assert.All(seen.Values, environment =>
        {
            Assert.DoesNotContain(Key, environment, StringComparison.Ordinal);
            Assert.DoesNotContain("CASHEVENTS_", environment, StringComparison.Ordinal);
        });
        Assert.Contains(Key, await File.ReadAllTextAsync($"/proc/{program.Id}/environ", Stop));
    }

    private static async Task<List<int>> ChildrenAsync(params int[] parents)
    {
        var all = await Tool.RunAsync("ps", "-e", "-o", "ppid=,pid=");
        return [.. all.Output.Split('\n').Select(line => line.Split(' ', StringSplitOptions.RemoveEmptyEntries))
            .Where(line => parents.Contains(int.Parse(line[0])))
            .Select(line => int.Parse(line[1]))];
    }
}
