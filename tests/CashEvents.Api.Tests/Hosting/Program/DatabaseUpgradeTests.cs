using Xunit;

namespace CashEvents.Api.Tests.Hosting;

/// <summary>The books move into a PostgreSQL of a newer major version.</summary>
public sealed class DatabaseUpgradeTests : IDisposable
{
    private readonly TemporaryDataFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [ThoroughFact]
    public async Task Every_line_key_and_answer_is_there_and_the_old_cluster_is_kept()
    {
        var key = await StartedFolder.CopyToAsync(_folder);
        const string fill = """{"compartment": "ferry-fares", "amount": 5.00}""";
        string balances;
        await using (var program = await CashEventsProcess.ServeAsync(_folder.Path, null, "--demo"))
        {
            (await program.Client(key).PostAsync("/api/fills", fill, ("Idempotency-Key", "payday"))).MustBe(201);
            balances = (await program.Client(key).GetAsync("/api/balances")).MustBe(200).Text;
        }

        var before = await CashEventsProcess.RunAsync(_folder.Path, "verify");

        // Killed anywhere, it leaves one of the two clusters whole and in force.
        foreach (var moment in new[] { 2, 4, 6, 8 })
        {
            await using var killed = CashEventsProcess.StartCommand(_folder.Path, "upgrade-database", Newest);
            await Task.Delay(TimeSpan.FromSeconds(moment), TestContext.Current.CancellationToken);
            await killed.KillAsync();
            await MustVerifyAsync(before);
        }

        var upgraded = await CashEventsProcess.RunAsync(_folder.Path, "upgrade-database", Newest);
        var again = await CashEventsProcess.RunAsync(_folder.Path, "upgrade-database", Newest);

        Assert.True(upgraded.ExitCode == 0 || again.Output.Contains("is not newer", StringComparison.Ordinal),
            upgraded.Output);
        Assert.Equal(1, again.ExitCode);
        await MustVerifyAsync(before);
        Assert.Single(Directory.EnumerateDirectories(Path.Combine(_folder.Path, "postgresql"), "cluster-*"));
        await using var served = await CashEventsProcess.ServeAsync(_folder.Path);
        Assert.Equal(balances, (await served.Client(key).GetAsync("/api/balances")).MustBe(200).Text);
        (await served.Client(key).PostAsync("/api/fills", fill, ("Idempotency-Key", "payday"))).MustBe(201);
        Assert.Equal(balances, (await served.Client(key).GetAsync("/api/balances")).MustBe(200).Text);
    }

    [Theory]
    [InlineData("eighteen")]
    [InlineData("18", "19")]
    [InlineData("-18")]
    public async Task Another_word_is_refused_with_how_to_write_it(params string[] more)
    {
        var (exitCode, output) = await CashEventsProcess.RunAsync(_folder.Path, ["upgrade-database", .. more]);

        Assert.Equal(1, exitCode);
        Assert.Contains("upgrade-database 18", output);
    }

    // It may tell first that it stops a PostgreSQL that the killed program has left.
    private async Task MustVerifyAsync((int ExitCode, string Output) before)
    {
        var (exitCode, output) = await CashEventsProcess.RunAsync(_folder.Path, "verify");
        Assert.True(before.ExitCode == exitCode, output);
        Assert.Contains(before.Output.Trim(), output);
    }

    // Unpacked with npm, where the system has an older one.
    private const string Newest = "18";
}
