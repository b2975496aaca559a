using System.Text.Json;
using Xunit;

namespace CashEvents.Cash.Tests.Hosting;

/// <summary>What scripts go by. Waiting movements end with 5, and keys with 3: see their own tests.</summary>
public sealed class ExitCodeTests(BookServer server)
{
    [Theory]
    [InlineData(ExitCode.Done, "balances")]
    [InlineData(ExitCode.Done, "fill market-days 5")]
    [InlineData(ExitCode.Refused, "spend market-days 5")]
    [InlineData(ExitCode.Refused, "spend market-day 5")]
    [InlineData(ExitCode.Refused, "week 2026-W99")]
    [InlineData(ExitCode.Refused, "undo 99999 --reason Wrong")]
    [InlineData(ExitCode.Usage, "spend market-days")]
    [InlineData(ExitCode.Usage, "spend market-days 1.234")]
    [InlineData(ExitCode.Usage, "fill market-days 5 --on 2026-13-01")]
    [InlineData(ExitCode.Usage, "fill market-days 5 --no-such-option")]
    [InlineData(ExitCode.Usage, "count market-days 20x1 3.50")]
    [InlineData(ExitCode.Usage, "sweep rainy-day")]
    [InlineData(ExitCode.Usage, "no-such-command")]
    [InlineData(ExitCode.Usage, "")]
    public async Task Each_ending_has_its_code(int code, string command)
    {
        var household = await server.HarbourRowAsync();
        using var terminal = new Terminal(household);
        var before = await household.LineAsync();

        var said = await terminal.RunAsync(command.Split(' ', StringSplitOptions.RemoveEmptyEntries));

        Assert.Equal(code, said.Code);
        Assert.Equal(code == ExitCode.Done, said.Error.Length == 0);
        if (code != ExitCode.Done)
            Assert.Equal((before, ""), (await household.LineAsync(), said.Out));
    }

    [Fact]
    public async Task A_key_that_may_not_do_it_ends_with_3_and_nothing_waits()
    {
        var household = await server.HarbourRowAsync();
        var issued = await household.Keeper.Api.Keys.PostAsync(
            new KeyRequest { Name = "display", Role = Role.Script, Movements = [MovementKind.Fill] });
        using var terminal = new Terminal(household) { Variables = { ["CASHEVENTS_KEY"] = issued!.Key! } };

        Assert.Equal(ExitCode.Key, (await terminal.RunAsync("spend", "market-days", "5")).Code);
        Assert.Equal("Nothing waits.\n", (await terminal.RunAsync("waiting")).Out);
    }

    [Fact]
    public async Task A_server_that_is_away_ends_with_4_and_a_refusal_is_a_problem_for_programs()
    {
        var household = await server.HarbourRowAsync();
        using var terminal = new Terminal(household);

        Assert.Equal(ExitCode.Unreachable, (await terminal.RunAwayAsync("balances")).Code);
        var refused = await terminal.RunAsync("spend", "market-days", "5", "--json");

        Assert.Equal("not-enough", JsonElement.Parse(refused.Error).GetProperty("code").GetString());
    }
}
