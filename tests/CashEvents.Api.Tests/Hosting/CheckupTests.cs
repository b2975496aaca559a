using Xunit;

namespace CashEvents.Api.Tests.Hosting;

/// <summary>Whether everything is well, and who is told.</summary>
public sealed class CheckupTests
{
    [Fact]
    public async Task A_keeper_hears_of_the_machine_and_of_their_own_book()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        var others = await Household.OpenAsync(server);

        var found = await AskAsync(household);

        Assert.Equal("look", found["backups"].State);
        Assert.Equal("well", found[$"book {household.Id}"].State);
        Assert.Equal("well", found[$"keys {household.Id}"].State);
        Assert.DoesNotContain(found.Keys, name => name.Contains(others.Id, StringComparison.Ordinal));
    }

    [Fact]
    public async Task It_is_for_keepers()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        var member = await household.IssueAsync("partner", "member");

        (await member.GetAsync("/health/detail")).MustBeProblem(403, "not-allowed");
        (await server.Client(null).GetAsync("/health/detail")).MustBeProblem(401, "key-missing");
    }

    [Fact]
    public async Task A_line_that_was_changed_and_a_clock_that_is_behind_are_wrong_and_the_mend_is_told()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        var line = (await household.FillAsync("ferry-fares", "60.00")).Lines[0];
        server.Clock.AdjustTime(RunningServer.Noon.AddDays(-2));

        var behind = (await AskAsync(household))[$"book {household.Id}"];
        await Database.AskAsync(server.Database,
            $"update cashevents.mt_events set user_name = 'nobody' where version = {line}");
        var changed = (await AskAsync(household))[$"book {household.Id}"];

        Assert.Equal(("wrong", "wrong"), (behind.State, changed.State));
        Assert.Contains("still to come", behind.Says);
        Assert.Contains($"line {line}", changed.Says);
        Assert.NotNull(behind.Do);
        Assert.NotNull(changed.Do);
    }

    [Fact]
    public async Task A_PostgreSQL_that_gets_no_more_corrections_is_told_with_the_way_to_a_newer_one()
    {
        using var folder = new TemporaryDataFolder();
        await using var postgres = await PrivatePostgres.StartAsync(
            new PrivatePostgresOptions { DataFolder = folder.Path },
            cancellationToken: TestContext.Current.CancellationToken);
        await using var server = await RunningServer.StartAsync(postgres.ConnectionString);
        var household = await Household.OpenAsync(server);
        var now = (await AskAsync(household))["database"];
        // Every major version that is known today is over by then.
        server.Clock.AdjustTime(new DateTimeOffset(2031, 1, 1, 0, 0, 0, TimeSpan.Zero));

        var then = (await AskAsync(household))["database"];

        Assert.Equal(("well", "look"), (now.State, then.State));
        Assert.Contains("upgrade-database", then.Do);
    }

    private static async Task<Dictionary<string, (string State, string Says, string? Do)>> AskAsync(
        Household household) =>
        (await household.Keeper.GetAsync("/health/detail")).MustBe(200).Json.GetProperty("checks").EnumerateArray()
            .ToDictionary(check => check.GetProperty("name").GetString()!,
                check => (check.GetProperty("state").GetString()!, check.GetProperty("says").GetString()!,
                    check.TryGetProperty("do", out var mend) ? mend.GetString() : null));
}
