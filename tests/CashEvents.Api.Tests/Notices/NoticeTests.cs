using System.Text.Json;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CashEvents.Api.Tests.Notices;

public sealed class NoticeTests
{
    // A Wednesday; weeks begin on Monday.
    private static readonly DateTimeOffset _wednesday = new(2026, 11, 11, 12, 0, 0, TimeSpan.Zero);

    private static async Task LookAsync(Household household) =>
        await household.Server.Services.GetRequiredService<NoticeWatch>()
            .LookAsync(household.Id, TestContext.Current.CancellationToken);

    /// <summary>What holds now, each as kind and title.</summary>
    private static async Task<List<string>> NoticedAsync(Household household)
    {
        await LookAsync(household);
        return [.. (await OpenAsync(household)).Select(n =>
            $"{n.GetProperty("kind").GetString()}: {n.GetProperty("title").GetString()}")];
    }

    private static async Task<List<JsonElement>> OpenAsync(Household household, string query = "") =>
        [.. (await household.Keeper.GetAsync("/api/notices" + query)).MustBe(200).Json.GetProperty("notices")
            .EnumerateArray()];

    private static async Task<string> DetailAsync(Household household, string kind) =>
        (await OpenAsync(household)).Single(n => n.GetProperty("kind").GetString() == kind).GetProperty("detail")
            .GetString()!;

    private static async Task<Household> LevelAsync(RunningServer server, string level = "20.00")
    {
        var household = await Household.OpenAsync(server);
        await household.FillAsync("market-days", "30.00");
        (await household.Keeper.PutAsync("/api/notices",
            $$$"""{"levels": {"market-days": {{{level}}}}, "countedWithin": 35}"""))
            .MustBe(200);
        return household;
    }

    [Fact]
    public async Task A_compartment_below_its_level_is_told_once_and_when_it_is_over()
    {
        await using var server = await RunningServer.StartAsync(at: _wednesday);
        var household = await LevelAsync(server);
        Assert.Empty(await NoticedAsync(household));

        await household.SpendAsync("market-days", "17.60");
        Assert.Equal(["compartmentLow: “Market days” is low"], await NoticedAsync(household));
        Assert.Equal("It holds 12.40 EUR, less than the 20.00 EUR that you set.",
            await DetailAsync(household, "compartmentLow"));
        await household.SpendAsync("market-days", "1.40");
        Assert.Equal(["compartmentLow: “Market days” is low"], await NoticedAsync(household));
        Assert.Equal("It holds 11.00 EUR, less than the 20.00 EUR that you set.",
            await DetailAsync(household, "compartmentLow"));
        await household.FillAsync("market-days", "9.00");
        Assert.Empty(await NoticedAsync(household));

        var over = Assert.Single(await OpenAsync(household, "?over=10"));
        Assert.Equal(1, over.GetProperty("number").GetInt64());
        Assert.Equal("2026-11-11T12:00:00+00:00", over.GetProperty("over").GetString());
        await household.SpendAsync("market-days", "1.00");
        await LookAsync(household);
        Assert.Equal(3, Assert.Single(await OpenAsync(household)).GetProperty("number").GetInt64());
    }

    [Fact]
    public async Task A_week_whose_money_ends_before_its_last_day_at_this_pace()
    {
        await using var server = await RunningServer.StartAsync(at: _wednesday);
        var household = await Household.OpenAsync(server);
        await household.FillAsync("market-days", "30.00", "2026-11-09");
        await household.SpendAsync("market-days", "20.00", "2026-11-10");

        Assert.Equal(["weekEndsEarly: The week's money of “Market days” will not last"],
            await NoticedAsync(household));
        Assert.Equal("At this pace it ends on Friday 13 November. The week runs until Sunday 15 November.",
            await DetailAsync(household, "weekEndsEarly"));
        await household.FillAsync("market-days", "20.00", "2026-11-11");
        Assert.Empty(await NoticedAsync(household));
        await household.SpendAsync("market-days", "30.00", "2026-11-11");
        await LookAsync(household);
        Assert.Equal("There is nothing left. The week runs until Sunday 15 November.",
            await DetailAsync(household, "weekEndsEarly"));
    }

    [Fact]
    public async Task A_bill_that_is_not_on_track_and_when_it_is_short()
    {
        await using var server = await RunningServer.StartAsync(at: _wednesday);
        var household = await Household.OpenAsync(server);
        (await household.Keeper.PostAsync("/api/goals",
            """{"compartment": "boat-insurance", "label": "Hull insurance", "amount": 500.00, "due": "2027-04-01"}"""))
            .MustBe(201);
        Assert.Empty(await NoticedAsync(household));

        // Contributions are counted by the first of each month: of five one is gone.
        server.Clock.Advance(TimeSpan.FromDays(21));
        Assert.Equal(["billNotOnTrack: “Hull insurance” is not on track"], await NoticedAsync(household));
        Assert.Equal("100.00 EUR is missing in “Boat insurance” by now. Without it the bill of 500.00 EUR on 1 April "
            + "2027 is short.", await DetailAsync(household, "billNotOnTrack"));
        await household.FillAsync("boat-insurance", "100.00", "2026-12-02");
        Assert.Empty(await NoticedAsync(household));
    }

    [Fact]
    public async Task A_payday_tomorrow_with_what_to_draw_and_what_became_of_it()
    {
        await using var server = await RunningServer.StartAsync(at: new(2026, 11, 29, 12, 0, 0, TimeSpan.Zero));
        var household = await (await Household.OpenAsync(server)).PaidMonthlyAsync();
        await household.RuleAsync("ferry-fares", """{"kind": "fixed", "amount": 45.00}""");
        (await household.Keeper.PutAsync("/api/automatic-fills", """{"at": "06:30", "from": "2026-11-29"}"""))
            .MustBe(200);

        Assert.Equal(["paydayTomorrow: Tomorrow is payday"], await NoticedAsync(household));
        Assert.Equal("Monday 30 November. Draw 45.00 EUR: 45.00 EUR for “Ferry fares”. Ask for 2 × 20, 1 × 5.",
            await DetailAsync(household, "paydayTomorrow"));

        server.Clock.AdjustTime(new DateTimeOffset(2026, 11, 30, 6, 30, 0, TimeSpan.Zero));
        await server.Services.GetRequiredService<AutomaticFillRuns>()
            .RunDueAsync(TestContext.Current.CancellationToken);
        Assert.Equal(["paydayFilled: The payday of 30 November 2026 is filled"], await NoticedAsync(household));
        Assert.Equal("The program put 45.00 EUR into 1 compartment: 45.00 EUR is to be drawn.",
            await DetailAsync(household, "paydayFilled"));

        server.Clock.AdjustTime(new DateTimeOffset(2026, 12, 2, 6, 30, 0, TimeSpan.Zero));
        Assert.DoesNotContain(await NoticedAsync(household),
            n => n.StartsWith("paydayFilled", StringComparison.Ordinal));
        (await household.Keeper.DeleteAsync("/api/compartments/ferry-fares/fill-rule")).MustBe(204);
        server.Clock.AdjustTime(new DateTimeOffset(2026, 12, 31, 6, 30, 0, TimeSpan.Zero));
        await server.Services.GetRequiredService<AutomaticFillRuns>()
            .RunDueAsync(TestContext.Current.CancellationToken);
        Assert.Contains("paydayLeft: The payday of 31 December 2026 is left to you", await NoticedAsync(household));
    }

    [Fact]
    public async Task A_count_that_disagrees_one_that_is_overdue_and_cash_that_is_carried_for_long()
    {
        await using var server = await RunningServer.StartAsync(at: _wednesday);
        var household = await Household.OpenAsync(server);
        await household.FillAsync("market-days", "30.00");
        var count = (await household.Keeper.PostAsync("/api/counts",
            """{"compartment": "market-days", "total": 27.60, "occurredOn": "2026-11-11"}""")).MustBe(201).Json;
        Assert.Equal(["countDisagrees: The count of “Market days” disagrees"], await NoticedAsync(household));
        Assert.Equal("2.40 EUR short in cash by the count of 11 November 2026.",
            await DetailAsync(household, "countDisagrees"));
        (await household.Keeper.PostAsync($"/api/counts/{count.GetProperty("lines")[0].GetInt64()}/settlement",
            """{"reason": "Lost"}""")).MustBe(201);
        Assert.Empty(await NoticedAsync(household));

        (await household.Keeper.PostAsync("/api/handovers",
            """{"compartment": "market-days", "amount": 10.00, "carrier": "partner"}""")).MustBe(201);
        server.Clock.Advance(TimeSpan.FromDays(7));
        Assert.Empty(await NoticedAsync(household));
        server.Clock.Advance(TimeSpan.FromDays(1));
        Assert.Equal(["cashCarriedLong: partner carries cash for long"], await NoticedAsync(household));
        Assert.Equal("10.00 EUR of “Market days” since 11 November 2026.",
            await DetailAsync(household, "cashCarriedLong"));

        server.Clock.Advance(TimeSpan.FromDays(28));
        Assert.Contains("countOverdue: “Oilskin wallet” is to be counted", await NoticedAsync(household));
        Assert.Equal("The cash of “Market days” was last counted on 11 November 2026.",
            await DetailAsync(household, "countOverdue"));
        (await household.Keeper.PutAsync("/api/notices",
            """{"countedWithin": null, "carriedFor": null}""")).MustBe(200);
        Assert.DoesNotContain(await NoticedAsync(household), n => n.StartsWith("count", StringComparison.Ordinal)
            || n.StartsWith("cash", StringComparison.Ordinal));
    }

    [Fact]
    public async Task A_month_in_which_nothing_is_open_can_be_closed_and_is_over_when_it_is()
    {
        await using var server = await RunningServer.StartAsync(at: _wednesday);
        var household = await Household.OpenAsync(server);
        await household.FillAsync("market-days", "30.00", "2026-10-20");
        Assert.DoesNotContain(await NoticedAsync(household),
            n => n.StartsWith("monthCanBeClosed", StringComparison.Ordinal));

        (await household.Keeper.PostAsync("/api/counts",
            """{"compartment": "market-days", "total": 30.00, "occurredOn": "2026-10-31"}""")).MustBe(201);
        Assert.Equal(["monthCanBeClosed: October 2026 can be closed"], await NoticedAsync(household));
        (await household.Keeper.PostAsync("/api/months/2026-10/close", "{}")).MustBe(201);
        Assert.Empty(await NoticedAsync(household));
    }

    [Fact]
    public async Task A_chain_that_does_not_verify_is_told_once_the_day_after_at_the_latest()
    {
        await using var server = await RunningServer.StartAsync(at: _wednesday);
        var household = await Household.OpenAsync(server);
        Assert.Empty(await NoticedAsync(household));
        await Database.AskAsync(server.Database, "update cashevents.mt_events set user_name = 'nobody' where "
            + $"tenant_id = '{household.Id}' and version = 4");

        server.Clock.Advance(TimeSpan.FromDays(1));
        Assert.Equal(["chainBroken: The book was changed behind the program's back"], await NoticedAsync(household));
        Assert.StartsWith("Line 4 ", await DetailAsync(household, "chainBroken"), StringComparison.Ordinal);

        await Database.AskAsync(server.Database, "update cashevents.mt_events set user_name = 'keeper' where "
            + $"tenant_id = '{household.Id}' and version = 4");
        (await household.Keeper.GetAsync("/api/verification")).MustBe(200);
        Assert.Empty(await NoticedAsync(household));
    }

    [Fact]
    public async Task What_another_part_of_the_program_found_is_told_until_it_is_no_more()
    {
        await using var server = await RunningServer.StartAsync(at: _wednesday);
        var household = await Household.OpenAsync(server);
        var alarms = server.Services.GetRequiredService<Alarms>();
        for (var n = 0; n < 2; n++)
        {
            await alarms.RaiseAsync(household.Id, new Alarm(NoticeKind.BackupFailed, "", "The disk is full."),
                TestContext.Current.CancellationToken);
            Assert.Equal(["backupFailed: The backup failed"], await NoticedAsync(household));
        }

        await alarms.EndAsync(household.Id, NoticeKind.BackupFailed,
            cancellation: TestContext.Current.CancellationToken);
        Assert.Empty(await NoticedAsync(household));
        Assert.Equal(1, Assert.Single(await OpenAsync(household, "?over=5")).GetProperty("number").GetInt64());
    }

    [Fact]
    public async Task It_comes_by_itself_after_a_line_and_with_a_new_day_and_is_heard_in_the_feed_without_a_number()
    {
        await using var server = await RunningServer.StartAsync(at: _wednesday);
        var household = await LevelAsync(server);
        await using var feed = await Listener.ListenAsync(household.Keeper);
        await household.SpendAsync("market-days", "17.60");

        Assert.Equal("spend", Assert.NotNull(await feed.NextAsync()).Kind);
        var (id, kind, data) = Assert.NotNull(await feed.NextAsync());
        Assert.Equal("notice", kind);
        Assert.Equal("compartmentLow", data.GetProperty("kind").GetString());
        Assert.False(data.TryGetProperty("over", out _));
        Assert.Equal($"{Household.SetUpLines + 2}", feed.Heard);
        _ = id;

        server.Clock.Advance(TimeSpan.FromDays(40));
        Assert.Equal("countOverdue", Assert.NotNull(await feed.NextAsync()).Data.GetProperty("kind").GetString());
        await household.FillAsync("market-days", "20.00", "2026-12-20");
        Assert.Equal("fill", Assert.NotNull(await feed.NextAsync()).Kind);
        (_, kind, data) = Assert.NotNull(await feed.NextAsync());
        Assert.Equal(("notice", "compartmentLow"), (kind, data.GetProperty("kind").GetString()));
        Assert.True(data.TryGetProperty("over", out _));
    }

    [Fact]
    public async Task Of_two_servers_one_tells_it_once_and_it_is_heard_at_both()
    {
        await using var one = await RunningServer.StartAsync(at: _wednesday);
        await using var other = await RunningServer.StartAsync(one.Database, at: _wednesday);
        var household = await LevelAsync(one);
        await using var here = await Listener.ListenAsync(household.Keeper);
        await using var there = await Listener.ListenAsync(household.At(other).Keeper);
        for (var n = 0; n < 5; n++)
        {
            await household.SpendAsync("market-days", "12.00");
            await Task.WhenAll(LookAsync(household), LookAsync(household.At(other)));
            await household.FillAsync("market-days", "12.00");
            await Task.WhenAll(LookAsync(household), LookAsync(household.At(other)));
        }

        foreach (var listener in new[] { here, there })
        {
            for (var n = 0; n < 10; n++)
            {
                var said = Assert.NotNull(await listener.NextAsync());
                while (said.Kind != "notice")
                {
                    said = Assert.NotNull(await listener.NextAsync());
                }

                Assert.Equal((n / 2 * 2) + 1, said.Data.GetProperty("number").GetInt64());
                Assert.Equal(n % 2 == 1, said.Data.TryGetProperty("over", out _));
            }
        }
    }

    [Fact]
    public async Task What_holds_is_worked_out_anew_where_what_was_told_is_lost()
    {
        await using var server = await RunningServer.StartAsync(at: _wednesday);
        var household = await LevelAsync(server, "40.00");
        var told = await NoticedAsync(household);
        Assert.NotEmpty(told);
        await Database.AskAsync(server.Database,
            "delete from cashevents.notice; delete from cashevents.notice_look");

        Assert.Equal(told, await NoticedAsync(household));
    }

    [Fact]
    public async Task A_keeper_says_what_is_told_and_everybody_reads_it()
    {
        await using var server = await RunningServer.StartAsync(at: _wednesday);
        var household = await Household.OpenAsync(server);
        var other = await LevelAsync(server, "40.00");
        await LookAsync(other);
        var viewer = await household.IssueAsync("wall display", "viewer");
        (await viewer.GetAsync("/api/notices")).MustBe(200).MustSay(
            """{"settings": {"levels": {}, "countedWithin": 35, "carriedFor": 7, "silent": []}, "notices": []}""");
        (await viewer.PutAsync("/api/notices", "{}")).MustBeProblem(403, "not-allowed");
        (await household.Keeper.PutAsync("/api/notices", """{"levels": {"market-day": 1.00}}"""))
            .MustBeProblem(422, "compartment-unknown");
        (await household.Keeper.PutAsync("/api/notices", """{"levels": {"market-days": 1.005}}"""))
            .MustBeProblem(422, "too-many-decimals");
        (await household.Keeper.PutAsync("/api/notices", """{"countedWithin": 0}""")).MustBeProblem(400, "malformed");
        (await household.Keeper.PutAsync("/api/notices", """{"silent": ["tooLoud"]}"""))
            .MustBeProblem(400, "malformed");

        (await household.Keeper.PutAsync("/api/notices",
            """{"levels": {"market-days": 20}, "countedWithin": 10, "silent": ["compartmentLow"]}""")).MustBe(200);
        Assert.Empty(await NoticedAsync(household));
        (await household.Keeper.PutAsync("/api/notices", """{"levels": {"market-days": 20}}""")).MustBe(200);
        Assert.Equal(["compartmentLow: “Market days” is low"], await NoticedAsync(household));
    }
}
