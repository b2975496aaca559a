using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CashEvents.Api.Tests.Writing;

/// <summary>
/// The clock jumps ahead while the program runs: nothing is filled by itself that nobody else calls for, and what
/// people wrote meanwhile is put right.
/// </summary>
public sealed class ClockAheadTests
{
    private static readonly DateTimeOffset _yearAhead = RunningServer.Noon.AddYears(1);

    private TimeSpan _steady = TimeSpan.Zero;

    private Task<RunningServer> StartAsync(string? database = null, bool trusting = false) =>
        RunningServer.StartAsync(database, services =>
    {
        services.AddSingleton(new SteadyTime(() => _steady));
        if (trusting)
        {
            services.AddSingleton(new ClockTrust(Always: true));
        }
    });

    private static Task RunDueAsync(RunningServer server) =>
        server.Services.GetRequiredService<AutomaticFillRuns>().RunDueAsync(TestContext.Current.CancellationToken);

    /// <summary>Time goes on as it should.</summary>
    private void GoTo(RunningServer server, DateTimeOffset instant)
    {
        _steady += instant - server.Clock.GetUtcNow();
        server.Clock.AdjustTime(instant);
    }

    // Paydays on the last bank day of each month, at 06:30.
    private static async Task<Household> FillingAsync(RunningServer server)
    {
        var household = await (await Household.OpenAsync(server)).PaidMonthlyAsync();
        await household.RuleAsync("ferry-fares", """{"kind": "fixed", "amount": 10.00}""");
        (await household.Keeper.PutAsync("/api/automatic-fills", """{"at": "06:30", "from": "2026-11-15"}"""))
            .MustBe(200);
        await RunDueAsync(server);
        return household;
    }

    private static async Task<IEnumerable<string>> FilledAsync(Household household) =>
        (await household.LinesAsync("limit=1000&by=automatic%20fill%20runs"))
            .Select(l => $"{l.GetProperty("payday").GetString()} {l.GetProperty("kind").GetString()}");

    private static async Task<string[]> HeldAsync(Household household) =>
        (await household.Keeper.GetAsync("/api/automatic-fills")).MustBe(200).Json.TryGetProperty("held", out var held)
            ? [.. held.EnumerateArray().Select(h => h.GetProperty("payday").GetString()!)]
            : [];

    private static Task<Reply> CorrectAsync(Household household, string today = "2026-11-16") =>
        household.Keeper.PostAsync("/api/clock-corrections",
            $$"""{"today": "{{today}}", "reason": "The year was set wrong"}""");

    [Fact]
    public async Task A_clock_that_jumps_a_year_ahead_fills_nothing_and_the_real_payday_is_filled_when_it_comes()
    {
        await using var server = await StartAsync();
        var household = await FillingAsync(server);
        var before = await household.LineAsync();

        server.Clock.AdjustTime(_yearAhead);
        for (var minute = 0; minute < 5; minute++)
        {
            GoTo(server, server.Clock.GetUtcNow().AddMinutes(1));
            await RunDueAsync(server);
        }

        Assert.Equal(before, await household.LineAsync());
        Assert.Equal(12, (await HeldAsync(household)).Length);
        Assert.Contains("set it right",
            (await household.Keeper.GetAsync("/api/automatic-fills")).Json.GetProperty("held")[0].GetProperty("reason")
                .GetString(), StringComparison.Ordinal);

        server.Clock.AdjustTime(RunningServer.Noon.AddMinutes(6));
        await RunDueAsync(server);
        Assert.Empty(await HeldAsync(household));
        GoTo(server, new DateTimeOffset(2026, 11, 30, 6, 30, 0, TimeSpan.Zero));
        await RunDueAsync(server);
        Assert.Equal(["2026-11-30 fillRun"], await FilledAsync(household));
    }

    [ThoroughFact]
    public async Task While_the_clock_is_ahead_a_payday_that_has_come_by_steady_time_is_filled()
    {
        await using var server = await StartAsync();
        var household = await FillingAsync(server);

        server.Clock.AdjustTime(_yearAhead);
        GoTo(server, _yearAhead.AddDays(16));
        await RunDueAsync(server);

        Assert.Equal(["2026-11-30 fillRun"], await FilledAsync(household));
        Assert.Contains("2026-12-31", await HeldAsync(household));
    }

    [ThoroughFact]
    public async Task At_a_start_paydays_are_made_up_for_unless_the_book_was_silent_for_long()
    {
        await using var first = await StartAsync();
        var household = await FillingAsync(first);
        await household.FillAsync("market-days", "1.00");

        await using var later = await RunningServer.StartAsync(first.Database,
            services => services.AddSingleton(new SteadyTime(() => _steady)), at: _yearAhead);
        await RunDueAsync(later);

        Assert.Empty(await FilledAsync(household));
        Assert.Equal(12, (await HeldAsync(household.At(later))).Length);
        (await household.At(later).Keeper
            .PostAsync("/api/spends", """{"compartment": "market-days", "amount": 0.10}""")).MustBe(201);
        await using var again = await RunningServer.StartAsync(first.Database,
            services => services.AddSingleton(new SteadyTime(() => _steady)), at: _yearAhead.AddHours(1));
        await RunDueAsync(again);
        Assert.Empty(await FilledAsync(household));

        await using var trusting =
            await RunningServer.StartAsync(first.Database,
                services => services.AddSingleton(new ClockTrust(Always: true)), at: _yearAhead.AddHours(2));
        await RunDueAsync(trusting);
        Assert.Equal(12, (await FilledAsync(household)).Count());
    }

    [ThoroughFact]
    public async Task As_lived_a_year_ahead_the_clock_set_right_one_command_and_the_payday_is_filled()
    {
        // A program that believed the clock wrote the coming year's runs, and the household a spend.
        await using var server = await StartAsync(trusting: true);
        var household = await FillingAsync(server);
        await household.FillAsync("ferry-fares", "60.00");
        var right = await household.LineAsync();
        server.Clock.AdjustTime(_yearAhead);
        await RunDueAsync(server);
        (await household.Keeper.PostAsync("/api/spends", """{"compartment": "ferry-fares", "amount": 8.40}"""))
            .MustBe(201);
        var last = await household.LineAsync();
        Assert.Equal(12, (await FilledAsync(household)).Count());
        // One is undone while the clock is ahead still.
        (await household.Keeper.PostAsync($"/api/lines/{right + 1}/reversal", """{"reason": "Too early"}"""))
            .MustBe(201);

        // Another server, which believes no clock, on the next day.
        await using var other = await StartAsync(server.Database);
        GoTo(other, RunningServer.Noon.AddDays(1));
        var there = household.At(other);
        var refused = await there.Keeper.PostAsync("/api/spends", """{"compartment": "ferry-fares", "amount": 1.00}""");
        Assert.Contains("/api/clock-corrections",
            refused.MustBeProblem(503, "clock-behind").GetProperty("detail").GetString(), StringComparison.Ordinal);
        (await CorrectAsync(there, "2027-11-15")).MustBlame(422, "clock-differs", "today");

        var said = (await CorrectAsync(there)).MustBe(201);
        Assert.Equal((last + 2, right + 1, last + 1),
            (said.Lines.Single(), said.Json.GetProperty("fromLine").GetInt64(),
                said.Json.GetProperty("toLine").GetInt64()));
        var dated = said.Json.GetProperty("datedAhead").EnumerateArray().ToList();
        Assert.Equal(12, dated.Count);

        // What stands on days to come is undone, the spend amended with its day; the server that knew the old page
        // writes on too.
        foreach (var line in dated.Where(
            l => l.GetProperty("kind").GetString() == "fillRun" && l.GetProperty("line").GetInt64() != right + 1))
        {
            (await there.Keeper.PostAsync($"/api/lines/{line.GetProperty("line")}/reversal",
                """{"reason": "The clock was ahead"}""")).MustBe(201);
        }

        (await there.Keeper.PostAsync($"/api/lines/{last}/amendment",
            """{"reason": "The clock was ahead", "replacement": {"kind": "spend", "compartment": "ferry-fares", "amount": 8.40, "occurredOn": "2026-11-15"}}""")).MustBe(201);
        server.Clock.AdjustTime(RunningServer.Noon.AddDays(1));
        await household.FillAsync("market-days", "1.00");
        Assert.Equal("51.60", await there.HoldsAsync("ferry-fares"));

        GoTo(other, new DateTimeOffset(2026, 11, 30, 6, 30, 0, TimeSpan.Zero));
        await RunDueAsync(other);
        GoTo(other, new DateTimeOffset(2026, 12, 31, 6, 30, 0, TimeSpan.Zero));
        await RunDueAsync(other);
        Assert.Equal(["2026-11-30 fillRun", "2026-12-31 fillRun"], (await FilledAsync(there)).Skip(12));
        Assert.Equal("71.60", await there.HoldsAsync("ferry-fares"));
        await MustAgreeAsync(there);
    }

    [Fact]
    public async Task The_lines_keep_what_they_say_and_are_marked_wherever_they_stand()
    {
        await using var server = await StartAsync();
        var household = await Household.OpenAsync(server);
        await household.FillAsync("ferry-fares", "60.00");
        server.Clock.AdjustTime(_yearAhead);
        await household.SpendAsync("ferry-fares", "8.40");
        var before = (await household.Keeper.GetAsync("/api/lines/12")).MustBe(200).Json;
        server.Clock.AdjustTime(RunningServer.Noon.AddDays(1));
        (await CorrectAsync(household)).MustBe(201);
        server.Clock.AdjustTime(RunningServer.Noon.AddDays(2));
        await household.FillAsync("ferry-fares", "1.00");

        var after = (await household.Keeper.GetAsync("/api/lines/12")).MustBe(200).Json;
        Assert.Equal(13, after.GetProperty("clockAhead").GetInt64());
        Assert.Equal(before.GetProperty("recordedAt").GetString(), after.GetProperty("recordedAt").GetString());
        Assert.Equal(before.GetProperty("hash").GetString(), after.GetProperty("hash").GetString());
        Assert.False((await household.Keeper.GetAsync("/api/lines/11")).MustBe(200).Json
            .TryGetProperty("clockAhead", out _));
        Assert.Equal(13, (await household.LinesAsync("after=11"))[0].GetProperty("clockAhead").GetInt64());
        Assert.EndsWith(",13", (await household.Keeper.GetAsync("/api/lines?after=11&limit=1", ("Accept", "text/csv")))
            .MustBe(200).Text.TrimEnd(), StringComparison.Ordinal);
        var said = (await household.Keeper.GetAsync("/api/lines/13")).MustBe(200).Json;
        Assert.Equal(("clockWasAhead", 12, 12, "2026-11-16"),
            (said.GetProperty("kind").GetString(), said.GetProperty("fromLine").GetInt32(),
                said.GetProperty("toLine").GetInt32(), said.GetProperty("on").GetString()));

        // Nobody knows how late such a line was written.
        var trail = (await household.Keeper.GetAsync("/api/months/2026-11/trail")).MustBe(200).Json.GetProperty("lines")
            .EnumerateArray().Single(l => l.GetProperty("line").GetProperty("line").GetInt64() == 12);
        Assert.Equal((0, 13), (trail.GetProperty("daysLate").GetInt32(),
            trail.GetProperty("line").GetProperty("clockAhead").GetInt32()));
        var page = await PrintedSheet.GetAsync(household.Keeper, "/api/months/2026-11/trail");
        Assert.Contains("clock ahead, line 13", page.Document.QuerySelector("table.lines")!.TextContent,
            StringComparison.Ordinal);
        await MustAgreeAsync(household);
    }

    [Theory]
    [InlineData("2026-11-15T12:00:00Z", "60.00")]
    [InlineData("2026-11-16T11:59:59Z", "60.00")]
    [ThoroughData("2026-11-16T12:00:00Z", "51.60")]
    [ThoroughData("2026-11-17T12:00:00Z", "52.60")]
    [ThoroughData("2028-01-01T00:00:00Z", "52.60")]
    public async Task At_an_instant_they_count_as_written_just_before_the_line_that_tells_of_them(string at,
        string held)
    {
        await using var server = await StartAsync();
        var household = await Household.OpenAsync(server);
        await household.FillAsync("ferry-fares", "60.00");
        server.Clock.AdjustTime(_yearAhead);
        await household.SpendAsync("ferry-fares", "8.40");
        server.Clock.AdjustTime(RunningServer.Noon.AddDays(1));
        (await CorrectAsync(household)).MustBe(201);
        server.Clock.AdjustTime(RunningServer.Noon.AddDays(2));
        await household.FillAsync("ferry-fares", "1.00");

        var there = (await household.Keeper.GetAsync($"/api/balances?at={at}")).MustBe(200).Json
            .GetProperty("compartments").EnumerateArray()
            .Single(c => (c.TryGetProperty("id", out var id) ? id : c.GetProperty("compartment")).GetString()
                == "ferry-fares").GetProperty("cash").GetRawText();

        Assert.Equal(held, there);
    }

    [Fact]
    public async Task What_is_sent_together_with_it_is_written_after_it_and_refused_before_it()
    {
        await using var server = await StartAsync();
        var household = await Household.OpenAsync(server);
        server.Clock.AdjustTime(_yearAhead);
        await household.FillAsync("ferry-fares", "60.00");
        server.Clock.AdjustTime(RunningServer.Noon.AddDays(1));

        var sent = await Task.WhenAll(
            Enumerable.Range(0, 20).Select(
                i => i == 10
                    ? CorrectAsync(household)
                    : household.Keeper.PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 1.00}""")));

        Assert.Equal(201, sent[10].Status);
        Assert.All(sent, reply =>
            Assert.True(reply.Status == 201
                || (reply.Status == 503 && reply.Text.Contains("clock-behind", StringComparison.Ordinal)), reply.Text));
        Assert.Equal(11 + sent.Count(r => r.Status == 201), await household.LineAsync());
        await household.FillAsync("ferry-fares", "1.00");
        await MustAgreeAsync(household);
    }

    [Fact]
    public async Task Only_a_keeper_says_it_and_only_of_lines_stamped_later_than_now()
    {
        await using var server = await StartAsync();
        var household = await Household.OpenAsync(server);
        var partner = await household.IssueAsync("partner", "member");

        (await partner.PostAsync("/api/clock-corrections",
            """{"today": "2026-11-15", "reason": "The year was set wrong"}""")).MustBeProblem(403, "not-allowed");
        (await CorrectAsync(household, "2026-11-15")).MustBeProblem(409, "clock-not-ahead");
        (await household.Keeper.PostAsync("/api/clock-corrections", """{"reason": "The year was set wrong"}"""))
            .MustBlame(400, "malformed", "today");
        Assert.Equal(11, await household.LineAsync());

        server.Clock.AdjustTime(_yearAhead);
        await household.FillAsync("ferry-fares", "60.00");
        server.Clock.AdjustTime(RunningServer.Noon.AddDays(1));
        (await CorrectAsync(household)).MustBe(201);
        (await CorrectAsync(household)).MustBeProblem(409, "clock-not-ahead");
    }

    /// <summary>
    /// What is read of paydays is what the lines give one by one, and everything beside the lines too.
    /// </summary>
    private static async Task MustAgreeAsync(Household household)
    {
        var services = household.Server.Services;
        var replayed = await services.GetRequiredService<BookReader>()
            .ReplayAsync(household.Id, cancellation: TestContext.Current.CancellationToken);
        Assert.Equal(replayed.FillRuns.ToList(),
            (await services.GetRequiredService<FillRunReader>()
                .ReadAsync(household.Id, TestContext.Current.CancellationToken)).ToList());
        Assert.False((await services.GetRequiredService<Rebuilder>()
            .RebuildAsync(household.Id, cancellation: TestContext.Current.CancellationToken)).Switched);
        Assert.True((await household.Keeper.GetAsync("/api/verification")).MustBe(200).Json.GetProperty("agrees")
            .GetBoolean());
    }
}
