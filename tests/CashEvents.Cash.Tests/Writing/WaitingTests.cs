using Xunit;

namespace CashEvents.Cash.Tests.Writing;

/// <summary>Movements that were typed while the server could not be reached.</summary>
public sealed class WaitingTests(BookServer server)
{
    [Fact]
    public async Task What_could_not_be_sent_waits_and_is_sent_in_order_each_once()
    {
        var household = await server.HarbourRowAsync();
        using var terminal = new Terminal(household);
        var before = await household.LineAsync();

        var kept = await terminal.RunAwayAsync("fill", "market-days", "20");
        await terminal.RunAwayAsync("spend", "market-days", "19.50", "Fish");
        var listed = await terminal.RunAsync("waiting");
        var sent = await terminal.RunAsync("send");
        var again = await terminal.RunAsync("send");

        Assert.Equal(ExitCode.Waits, kept.Code);
        Assert.Contains("spend market-days 19.50 Fish", listed.Out, StringComparison.Ordinal);
        Assert.Equal((ExitCode.Done, "2 sent, 0 refused, 0 left.\n"), (sent.Code, sent.Out));
        Assert.Equal((ExitCode.Done, "0 sent, 0 refused, 0 left.\n"), (again.Code, again.Out));
        Assert.Equal((before + 2, 0.50m), (await household.LineAsync(), await household.CashAsync("market-days")));
        Assert.Equal(0, new FileInfo(terminal.WaitingFile).Length);
    }

    [Fact]
    public async Task The_next_movement_sends_what_waited_before_it()
    {
        var household = await server.HarbourRowAsync();
        using var terminal = new Terminal(household);
        await terminal.RunAwayAsync("fill", "market-days", "20");

        var spent = await terminal.RunAsync("spend", "market-days", "20");

        Assert.Equal(ExitCode.Done, spent.Code);
        Assert.Contains("Sent what waited: fill market-days 20.", spent.Error, StringComparison.Ordinal);
        Assert.Equal(0m, await household.CashAsync("market-days"));
    }

    [Fact]
    public async Task It_keeps_the_day_on_which_it_happened()
    {
        var household = await server.HarbourRowAsync();
        using var terminal = new Terminal(household);
        await terminal.RunAsync("today");
        await terminal.RunAwayAsync("fill", "market-days", "20", "--on", "2026-10-05");

        await terminal.RunAsync("send");

        var sheet = await terminal.RunAsync("sheet", "market-days", "2026-10", "--csv");
        Assert.Contains("2026-10-05,", sheet.Out, StringComparison.Ordinal);
    }

    [Fact]
    public async Task An_answer_that_was_lost_for_good_writes_no_second_line()
    {
        var household = await server.HarbourRowAsync();
        using var terminal = new Terminal(household);
        var before = await household.LineAsync();
        terminal.Mishaps = [.. Enumerable.Repeat(Mishap.AnswerLost, 9)];
        var kept = await terminal.RunAsync("fill", "market-days", "20", "--on", "2026-11-02");
        terminal.Mishaps = [];

        var sent = await terminal.RunAsync("send");

        Assert.Equal((ExitCode.Waits, ExitCode.Done), (kept.Code, sent.Code));
        Assert.Equal((before + 1, 20m), (await household.LineAsync(), await household.CashAsync("market-days")));
    }

    [Fact]
    public async Task What_the_book_refuses_stays_with_its_reason_and_holds_nothing_back()
    {
        var household = await server.HarbourRowAsync();
        using var terminal = new Terminal(household);
        await terminal.RunAwayAsync("spend", "market-days", "5");
        await terminal.RunAwayAsync("fill", "ferry-fares", "20");

        var sent = await terminal.RunAsync("send");
        var listed = await terminal.RunAsync("waiting");
        await household.FillAsync("market-days", 5);
        var again = await terminal.RunAsync("send", "--refused");

        Assert.Equal((ExitCode.Refused, "1 sent, 1 refused, 1 left.\n"), (sent.Code, sent.Out));
        Assert.Contains("5.00 EUR is missing", listed.Out, StringComparison.Ordinal);
        Assert.Equal((ExitCode.Done, "1 sent, 0 refused, 0 left.\n"), (again.Code, again.Out));
        Assert.Equal((0m, 20m), (await household.CashAsync("market-days"), await household.CashAsync("ferry-fares")));
    }

    [Theory]
    [InlineData(200)]
    [InlineData(201)]
    [InlineData(401)]
    [InlineData(403)]
    [InlineData(404)]
    [InlineData(429)]
    [InlineData(502)]
    public async Task What_something_else_answered_in_the_servers_place_still_waits(int status)
    {
        var household = await server.HarbourRowAsync();
        using var relay = new Relay(household.Address) { Says = "<h1>Log in to the hotspot</h1>", Status = status };
        using var terminal = new Terminal(household) { Variables = { ["CASHEVENTS_URL"] = $"{relay.Address}" } };

        var kept = await terminal.RunAsync("fill", "market-days", "5");
        var dated = await terminal.RunAsync("fill", "market-days", "6", "--on", "2026-11-02");
        var sent = await terminal.RunAsync("send");
        relay.Says = null;

        Assert.Equal((ExitCode.Waits, ExitCode.Waits, ExitCode.Unreachable), (kept.Code, dated.Code, sent.Code));
        Assert.Equal("2 sent, 0 refused, 0 left.\n", (await terminal.RunAsync("send")).Out);
        Assert.Equal(11m, await household.CashAsync("market-days"));
    }

    [Fact]
    public async Task What_is_refused_at_once_does_not_wait()
    {
        var household = await server.HarbourRowAsync();
        using var terminal = new Terminal(household);

        var refused = await terminal.RunAsync("spend", "market-days", "5");

        Assert.Equal(ExitCode.Refused, refused.Code);
        Assert.Equal("Nothing waits.\n", (await terminal.RunAsync("waiting")).Out);
    }

    [Fact]
    public async Task A_name_that_was_never_heard_is_not_kept_and_the_nearest_are_offered()
    {
        var household = await server.HarbourRowAsync();
        using var terminal = new Terminal(household);
        await terminal.RunAsync("fill", "market-days", "20");

        var said = await terminal.RunAwayAsync("spend", "market-day", "5");

        Assert.Equal(ExitCode.Usage, said.Code);
        Assert.Contains("Did you mean 'market-days'?", said.Error, StringComparison.Ordinal);
        Assert.Equal("Nothing waits.\n", (await terminal.RunAsync("waiting")).Out);
    }

    [Fact]
    public async Task What_was_recorded_with_another_key_is_not_sent_with_this_one()
    {
        var (ours, theirs) = (await server.HarbourRowAsync(), await server.HarbourRowAsync());
        using var terminal = new Terminal(ours);
        await terminal.RunAwayAsync("fill", "market-days", "20");

        terminal.Variables["CASHEVENTS_KEY"] = theirs.Key;
        var sent = await terminal.RunAsync("send");
        Assert.Equal(("0 sent, 0 refused, 1 left.\n", 0m), (sent.Out, await theirs.CashAsync("market-days")));

        terminal.Variables["CASHEVENTS_KEY"] = ours.Key;
        await terminal.RunAsync("send");
        Assert.Equal(20m, await ours.CashAsync("market-days"));
    }

    [Fact]
    public async Task A_key_that_is_known_no_more_loses_nothing()
    {
        var household = await server.HarbourRowAsync();
        using var terminal = new Terminal(household);
        await terminal.RunAwayAsync("fill", "market-days", "20");
        var issued = await household.Keeper.Api.Keys.PostAsync(new KeyRequest { Name = "second", Role = Role.Keeper });
        using var second = new CashEventsClient(household.Address, issued!.Key!);
        await second.Api.Keys["keeper"].DeleteAsync();

        var sent = await terminal.RunAsync("send");
        var spent = await terminal.RunAsync("spend", "market-days", "5");

        Assert.Equal((ExitCode.Key, ExitCode.Key), (sent.Code, spent.Code));
        var listed = await terminal.RunAsync("waiting", "--csv");
        Assert.Contains("fill market-days 20", listed.Out, StringComparison.Ordinal);
        Assert.DoesNotContain("spend", listed.Out, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_line_that_a_power_cut_tore_is_passed_over()
    {
        var household = await server.HarbourRowAsync();
        using var terminal = new Terminal(household);
        await terminal.RunAwayAsync("fill", "market-days", "20");
        var whole = await File.ReadAllTextAsync(terminal.WaitingFile);
        await File.AppendAllTextAsync(terminal.WaitingFile, whole[..(whole.Length / 2)]);

        await terminal.RunAwayAsync("fill", "market-days", "1");
        var sent = await terminal.RunAsync("send");

        Assert.Equal(("2 sent, 0 refused, 0 left.\n", 21m), (sent.Out, await household.CashAsync("market-days")));
    }

    [Fact]
    public async Task A_list_that_somebody_changed_is_left_alone()
    {
        var household = await server.HarbourRowAsync();
        using var terminal = new Terminal(household);
        await terminal.RunAwayAsync("fill", "market-days", "20");
        var changed = "not JSON\n" + await File.ReadAllTextAsync(terminal.WaitingFile);
        await File.WriteAllTextAsync(terminal.WaitingFile, changed);

        var spent = await terminal.RunAsync("fill", "ferry-fares", "1");
        var again = await terminal.RunAsync("send");

        Assert.Equal((ExitCode.Machine, ExitCode.Machine), (spent.Code, again.Code));
        Assert.Equal(changed, await File.ReadAllTextAsync(terminal.WaitingFile));
        Assert.Equal(0m, await household.CashAsync("ferry-fares"));
    }

    [Fact]
    public async Task Several_at_once_lose_nothing_and_write_nothing_twice()
    {
        var household = await server.HarbourRowAsync();
        using var terminal = new Terminal(household);
        var before = await household.LineAsync();
        for (var i = 0; i < 3; i++)
            await terminal.RunAwayAsync("fill", "market-days", "1");

        var said = await Task.WhenAll(Enumerable.Range(0, 6).Select(i =>
            terminal.RunAsync(i % 2 == 0 ? ["send"] : ["fill", "market-days", "1"])));

        Assert.All(said, one => Assert.Equal(ExitCode.Done, one.Code));
        Assert.Equal((before + 6, 6m), (await household.LineAsync(), await household.CashAsync("market-days")));
    }

    [Fact]
    public async Task What_nobody_wants_any_more_is_dropped()
    {
        var household = await server.HarbourRowAsync();
        using var terminal = new Terminal(household);
        await terminal.RunAwayAsync("fill", "market-days", "20");

        Assert.Equal(ExitCode.Usage, (await terminal.RunAsync("forget", "2")).Code);
        Assert.Equal(ExitCode.Done, (await terminal.RunAsync("forget", "1")).Code);
        await terminal.RunAsync("send");

        Assert.Equal(0m, await household.CashAsync("market-days"));
    }

    [Fact]
    public async Task Only_its_user_reads_what_waits()
    {
        var household = await server.HarbourRowAsync();
        using var terminal = new Terminal(household);
        await terminal.RunAwayAsync("fill", "market-days", "20");

        Assert.Equal(UnixFileMode.UserRead | UnixFileMode.UserWrite, File.GetUnixFileMode(terminal.WaitingFile));
    }
}
