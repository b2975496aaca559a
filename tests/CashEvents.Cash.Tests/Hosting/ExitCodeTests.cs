using System.Text.Json;
using System.Text.RegularExpressions;
using Xunit;

namespace CashEvents.Cash.Tests.Hosting;

/// <summary>What scripts go by. Waiting movements end with 5, and keys with 3: see their own tests.</summary>
public sealed partial class ExitCodeTests(BookServer server)
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
    public async Task A_folder_that_can_t_be_written_ends_with_6_and_nothing_was_sent()
    {
        var household = await server.HarbourRowAsync();
        using var terminal = new Terminal(household);
        // A file stands where the folder would be made.
        await File.WriteAllTextAsync(Path.Combine(terminal.Home, ".local"), "");
        var before = await household.LineAsync();

        Assert.Equal(ExitCode.Machine, (await terminal.RunAsync("fill", "market-days", "5")).Code);

        Assert.Equal(before, await household.LineAsync());
    }

    [Fact]
    public async Task What_is_stopped_while_it_is_sent_keeps_waiting()
    {
        var household = await server.HarbourRowAsync();
        using var relay = new Relay(household.Address) { KeepsBack = 1 };
        using var terminal = new Terminal(household) { Variables = { ["CASHEVENTS_URL"] = $"{relay.Address}" } };
        using var stop = new CancellationTokenSource();

        var filling = terminal.RunAsync(new StringWriter(), stop.Token, "fill", "market-days", "5");
        await relay.KeptBack.Task;
        await stop.CancelAsync();

        Assert.Equal(ExitCode.Stopped, (await filling).Code);
        Assert.Equal("1 sent, 0 refused, 0 left.\n", (await terminal.RunAsync("send")).Out);
        Assert.Equal(5m, await household.CashAsync("market-days"));
    }

    [Fact]
    public async Task Something_else_that_answers_is_not_taken_for_the_server()
    {
        using var relay = new Relay(new Uri("http://127.0.0.1:1")) { Says = "<h1>Printer</h1>" };
        using var terminal = new Terminal
        {
            Variables = { ["CASHEVENTS_URL"] = $"{relay.Address}", ["CASHEVENTS_KEY"] = "a-key-of-nobody" },
        };

        Assert.Equal(ExitCode.Unreachable, (await terminal.RunAsync("balances")).Code);
        Assert.Equal(ExitCode.Unreachable, (await terminal.RunAsync("lines")).Code);
    }

    [Fact]
    public void The_page_lists_every_command_and_every_ending()
    {
        var page = File.ReadAllText(Path.Combine(BookServer.Repository, "docs", "command-line.md"));
        var endings = typeof(ExitCode).GetFields().Select(code => (int)code.GetRawConstantValue()!).Order();

        Assert.Equal(endings, Ending().Matches(page).Select(ending => int.Parse(ending.Groups[1].Value)));
        Assert.All(Terminal.AllCommands(), command => Assert.Contains($"cash {command}", page,
            StringComparison.Ordinal));
    }

    [GeneratedRegex(@"^\| (\d+) \|", RegexOptions.Multiline)]
    private static partial Regex Ending();

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
