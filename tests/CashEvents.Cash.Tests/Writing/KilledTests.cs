using Xunit;

namespace CashEvents.Cash.Tests.Writing;

/// <summary>A program that is killed when the server has written and the answer is not there yet.</summary>
public sealed class KilledTests(BookServer server)
{
    [Fact]
    public async Task Killed_while_it_sends_what_waits_each_is_written_once()
    {
        var household = await server.HarbourRowAsync();
        using var relay = new Relay(household.Address);
        using var terminal = new Terminal(household) { Variables = { ["CASHEVENTS_URL"] = $"{relay.Address}" } };
        var before = await household.LineAsync();
        for (var i = 0; i < 4; i++)
            await terminal.RunAwayAsync("fill", "market-days", "1");
        relay.KeepsBack = 2;

        using (var killed = CashProcess.Start(terminal, "send"))
        {
            await relay.KeptBack.Task;
            killed.Kill();
            await killed.WaitForExitAsync();
        }

        Assert.Equal(before + 2, await household.LineAsync());
        var sent = await CashProcess.RunAsync(terminal, "send");

        Assert.Equal((ExitCode.Done, "3 sent, 0 refused, 0 left.\n"), (sent.Code, sent.Out));
        Assert.Equal((before + 4, 4m), (await household.LineAsync(), await household.CashAsync("market-days")));
    }

    [Fact]
    public async Task Killed_while_it_records_the_movement_is_not_lost_and_written_once()
    {
        var household = await server.HarbourRowAsync();
        using var relay = new Relay(household.Address) { KeepsBack = 1 };
        using var terminal = new Terminal(household) { Variables = { ["CASHEVENTS_URL"] = $"{relay.Address}" } };
        var before = await household.LineAsync();

        using (var killed = CashProcess.Start(terminal, "fill", "market-days", "20"))
        {
            await relay.KeptBack.Task;
            killed.Kill();
            await killed.WaitForExitAsync();
        }

        var listed = await CashProcess.RunAsync(terminal, "waiting");
        var sent = await CashProcess.RunAsync(terminal, "send");

        Assert.Contains("fill market-days 20", listed.Out, StringComparison.Ordinal);
        Assert.Equal(ExitCode.Done, sent.Code);
        Assert.Equal((before + 1, 20m), (await household.LineAsync(), await household.CashAsync("market-days")));
    }

    [Fact]
    public async Task A_server_that_is_not_there_at_all_ends_with_5_and_what_is_read_with_4()
    {
        using var terminal = new Terminal
        {
            Variables = { ["CASHEVENTS_URL"] = "http://127.0.0.1:1", ["CASHEVENTS_KEY"] = "a-key-of-nobody" },
        };

        Assert.Equal(ExitCode.Waits, (await CashProcess.RunAsync(terminal, "spend", "market-days", "4.20")).Code);
        Assert.Equal(ExitCode.Unreachable, (await CashProcess.RunAsync(terminal, "balances")).Code);
        Assert.Equal(ExitCode.Unreachable, (await CashProcess.RunAsync(terminal, "send")).Code);
    }
}
