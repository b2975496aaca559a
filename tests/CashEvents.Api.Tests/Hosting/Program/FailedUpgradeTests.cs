using Xunit;

namespace CashEvents.Api.Tests.Hosting;

/// <summary>
/// A book of an older program that can't be rebuilt keeps the program from serving, until it is put right or left out.
/// </summary>
public sealed class FailedUpgradeTests : IDisposable
{
    private readonly TemporaryDataFolder _folder = new();
    private string _key = "";
    private string? _kind;

    public void Dispose() => _folder.Dispose();

    [ThoroughFact]
    public async Task The_program_ends_and_says_which_book_it_is_and_the_ways_on_which_work()
    {
        var neighboursKey = await LeaveOlderBooksAsync(broken: "pier-lane");

        var (exitCode, output) = await ServeAsync();

        Assert.True(exitCode == 65, output);
        Assert.Contains("\n  pier-lane: ", "\n" + output);
        Assert.DoesNotContain("\n  household: ", "\n" + output);
        Assert.Contains("start with --leave-out pier-lane", output);
        Assert.Contains("verify", output);
        Assert.DoesNotContain("   at ", output);
        Assert.DoesNotContain("CashEvents listens on", output);

        var verified = await CashEventsProcess.RunAsync(_folder.Path, "verify");
        Assert.Equal(1, verified.ExitCode);
        Assert.Contains("pier-lane: line 1 does not agree.", verified.Output);
        Assert.Matches("household: [0-9]+ lines agree; hash", verified.Output);

        var rebuilt = await CashEventsProcess.RunAsync(_folder.Path, "rebuild");
        Assert.Equal(1, rebuilt.ExitCode);
        Assert.Contains("pier-lane: can't be rebuilt", rebuilt.Output);
        Assert.Contains("household: everything kept beside its", rebuilt.Output);
        Assert.DoesNotContain("   at ", rebuilt.Output);

        await using (var others = await CashEventsProcess.ServeAsync(_folder.Path, null, "--leave-out", "pier-lane"))
        {
            Assert.Contains("left out, and answered to nobody: pier-lane", others.Output);
            (await others.Client(_key).GetAsync("/api/balances")).MustBe(200);
            (await others.Client(neighboursKey).GetAsync("/api/balances")).MustBeProblem(503, "book-left-out");
            (await others.Client(neighboursKey).PostAsync("/api/wallets", """{"label": "purse"}"""))
                .MustBeProblem(503, "book-left-out");
            await MendAsync("pier-lane");
        }

        await using var all = await CashEventsProcess.ServeAsync(_folder.Path);
        (await all.Client(neighboursKey).GetAsync("/api/balances")).MustBe(200);
    }

    [ThoroughFact]
    public async Task The_first_book_can_be_left_out_too()
    {
        var neighboursKey = await LeaveOlderBooksAsync(broken: "household");
        Assert.Equal(65, (await ServeAsync()).ExitCode);

        await using var others = await CashEventsProcess.ServeAsync(_folder.Path, null, "--leave-out", "household");

        (await others.Client(neighboursKey).GetAsync("/api/balances")).MustBe(200);
        (await others.Client(_key).GetAsync("/api/balances")).MustBeProblem(503, "book-left-out");
    }

    [Theory]
    [InlineData("There is no book of 'peer-lane' to leave out. There are:", "--leave-out", "peer-lane")]
    [InlineData("Name the household whose book is left out", "--leave-out")]
    [InlineData("Name the household whose book is left out", "--leave-out", "--demo")]
    public async Task A_book_that_is_not_there_is_not_left_out(string told, params string[] arguments)
    {
        await StartedFolder.CopyToAsync(_folder);

        var (exitCode, output) = await CashEventsProcess.RunAsync(_folder.Path,
            [.. arguments, "--urls", "http://127.0.0.1:0"]);

        Assert.Equal(1, exitCode);
        Assert.Contains(told, output);
    }

    private Task<(int ExitCode, string Output)> ServeAsync() =>
        CashEventsProcess.RunAsync(_folder.Path, "--urls", "http://127.0.0.1:0");

    /// <summary>Two books of an older program, in one of which a line is of no kind that is known.</summary>
    /// <returns>The key of the second book's keeper.</returns>
    private async Task<string> LeaveOlderBooksAsync(string broken)
    {
        _key = await StartedFolder.CopyToAsync(_folder);
        await using var program = await CashEventsProcess.ServeAsync(_folder.Path);
        var added = await CashEventsProcess.RunAsync(_folder.Path, "add-household", "Pier Lane");
        await AskAsync("update cashevents.mt_doc_bookpage set data = data - 'made'");
        _kind = await AskAsync($"select type from cashevents.mt_events where {FirstLineOf(broken)}");
        await AskAsync($"update cashevents.mt_events set type = 'of-no-kind' where {FirstLineOf(broken)}");
        return added.Output.Split('\n').Single(line => line.StartsWith("ce_", StringComparison.Ordinal));
    }

    private static string FirstLineOf(string household) => $"tenant_id = '{household}' and version = 1";

    private async Task MendAsync(string broken) =>
        await AskAsync($"update cashevents.mt_events set type = '{_kind}' where {FirstLineOf(broken)}");

    private Task<string?> AskAsync(string sql) => Database.AskAsync(
        PrivatePostgres.ConnectionStringOfRunning(OwnPostgres.In(_folder.Path))!, sql);
}
