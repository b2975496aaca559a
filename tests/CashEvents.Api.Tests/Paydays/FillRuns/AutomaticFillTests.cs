using System.Globalization;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CashEvents.Api.Tests.Paydays;

public sealed class AutomaticFillTests
{
    // 15 November 2026, noon in Dublin; paydays on the last bank day of each month.
    private static async Task<Household> FillingAsync(RunningServer server, string at = "06:30")
    {
        var household = await (await Household.OpenAsync(server)).PaidMonthlyAsync();
        await household.RuleAsync("ferry-fares", """{"kind": "fixed", "amount": 10.00}""");
        (await household.Keeper.PutAsync("/api/automatic-fills", $$"""{"at": "{{at}}", "from": "2026-11-15"}"""))
            .MustBe(200);
        return household;
    }

    private static Task RunDueAsync(RunningServer server) =>
        server.Services.GetRequiredService<AutomaticFillRuns>().RunDueAsync(TestContext.Current.CancellationToken);

    /// <summary>What the program wrote: payday, kind and day of each line.</summary>
    private static async Task<IEnumerable<string>> DoneAsync(Household household) =>
        (await household.LinesAsync("limit=1000&by=automatic%20fill%20runs"))
        .Select(l => $"{l.GetProperty("payday").GetString()} {l.GetProperty("kind").GetString()}"
            + (l.TryGetProperty("occurredOn", out var on) ? $" {on.GetString()}" : ""));

    private static async Task<string> NextAsync(Household household) =>
        (await household.Keeper.GetAsync("/api/automatic-fills")).MustBe(200).Json.TryGetProperty("next", out var next)
            ? next.GetProperty("runsAt").GetString()!
            : "";

    [Fact]
    public async Task A_payday_is_filled_at_its_time_and_not_before()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await FillingAsync(server);
        Assert.Equal("2026-11-30T06:30:00+00:00", await NextAsync(household));

        server.Clock.AdjustTime(new DateTimeOffset(2026, 11, 30, 6, 29, 59, TimeSpan.Zero));
        await RunDueAsync(server);
        Assert.Empty(await DoneAsync(household));

        server.Clock.AdjustTime(new DateTimeOffset(2026, 11, 30, 6, 30, 0, TimeSpan.Zero));
        await RunDueAsync(server);
        await RunDueAsync(server);
        Assert.Equal(["2026-11-30 fillRun 2026-11-30"], await DoneAsync(household));
        Assert.Equal("10.00", await household.HoldsAsync("ferry-fares"));

        var said = (await household.Keeper.GetAsync("/api/automatic-fills")).MustBe(200);
        said.MustSay("""
            {"on": true, "timeZone": "Europe/Dublin", "last": [{"payday": "2026-11-30", "line": 16, "recordedAt": "2026-11-30T06:30:00+00:00", "outcome": "filled", "fills": 10.00}],
             "bookLine": 16, "at": "06:30", "from": "2026-11-15", "next": {"payday": "2026-12-31", "runsAt": "2026-12-31T06:30:00+00:00"}}
            """);
    }

    [ThoroughFact]
    public async Task A_payday_is_filled_so_many_days_after_it_as_its_cash_is_drawn()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await FillingAsync(server);
        (await household.Keeper.PutAsync("/api/automatic-fills",
            """{"at": "06:30", "from": "2026-11-15", "daysAfter": 2}""")).MustBe(200)
            .MustHave("""{"lines": [16], "entryId": 16, "at": "06:30", "from": "2026-11-15", "daysAfter": 2}""");
        Assert.Equal("2026-12-02T06:30:00+00:00", await NextAsync(household));
        Assert.Equal(2, (await household.Keeper.GetAsync("/api/lines/16")).MustBe(200).Json
            .GetProperty("fillsDaysAfter").GetInt32());

        server.Clock.AdjustTime(new DateTimeOffset(2026, 12, 2, 6, 29, 59, TimeSpan.Zero));
        await RunDueAsync(server);
        Assert.Empty(await DoneAsync(household));
        // A day late, it is dated as it would have been in time.
        server.Clock.AdjustTime(new DateTimeOffset(2026, 12, 3, 6, 30, 0, TimeSpan.Zero));
        await RunDueAsync(server);
        await RunDueAsync(server);

        Assert.Equal(["2026-11-30 fillRun 2026-12-02"], await DoneAsync(household));
        var said = (await household.Keeper.GetAsync("/api/automatic-fills")).MustBe(200).Json;
        Assert.Equal(("2026-12-02", "2027-01-02", 2), (
            said.GetProperty("last")[0].GetProperty("occurredOn").GetString(),
            said.GetProperty("next").GetProperty("occurredOn").GetString(), said.GetProperty("daysAfter").GetInt32()));
        (await household.Keeper.PutAsync("/api/automatic-fills",
            """{"at": "06:30", "from": "2026-11-15", "daysAfter": 28}"""))
            .MustBlame(422, "days-out-of-range", "daysAfter");
    }

    [Fact]
    public async Task The_program_looks_by_itself_as_its_clock_goes_on()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await FillingAsync(server);
        server.Clock.AdjustTime(new DateTimeOffset(2026, 11, 30, 6, 30, 0, TimeSpan.Zero));

        while (!(await DoneAsync(household)).Any())
        {
            server.Clock.Advance(TimeSpan.FromMinutes(1));
            await Task.Delay(20, TestContext.Current.CancellationToken);
        }

        Assert.Equal(["2026-11-30 fillRun 2026-11-30"], await DoneAsync(household));
    }

    [ThoroughFact]
    public async Task What_was_missed_while_the_program_did_not_run_is_done_once_each_in_order()
    {
        await using var first = await RunningServer.StartAsync();
        var household = await FillingAsync(first);
        var database = first.Database;
        (await household.Keeper.PutAsync("/api/income-sources/net-mending",
            """{"label": "Net mending", "rule": "FREQ=YEARLY;BYMONTH=1;BYMONTHDAY=15", "first": "2027-01-15", "notBankDay": "next"}""")).MustBe(200);

        // Three months later two servers are started on the same books.
        await using var one = await RunningServer.StartAsync(database);
        await using var other = await RunningServer.StartAsync(database);
        foreach (var server in new[] { one, other })
        {
            server.Clock.AdjustTime(new DateTimeOffset(2027, 2, 10, 12, 0, 0, TimeSpan.Zero));
        }

        await Task.WhenAll(RunDueAsync(one), RunDueAsync(other));
        await Task.WhenAll(RunDueAsync(one), RunDueAsync(other));

        var there = household.At(one);
        Assert.Equal(["2026-11-30 fillRun 2026-11-30", "2026-12-31 fillRun 2026-12-31", "2027-01-15 paydayLeft",
            "2027-01-29 fillRun 2027-01-29"], await DoneAsync(there));
        Assert.Equal("30.00", await there.HoldsAsync("ferry-fares"));
        var left = (await there.Keeper.GetAsync("/api/automatic-fills")).MustBe(200).Json.GetProperty("last")[1];
        Assert.Equal(("2027-01-15", "left"),
            (left.GetProperty("payday").GetString(), left.GetProperty("outcome").GetString()));
        Assert.Contains("as it comes", left.GetProperty("reason").GetString(), StringComparison.Ordinal);

        // The keeper says what came.
        (await there.FillPaydayAsync("2027-01-15", ", \"pay\": 80.00")).MustBe(201);
    }

    [Fact]
    public async Task A_run_that_was_undone_or_done_by_hand_is_not_done_again_by_itself()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await FillingAsync(server);
        server.Clock.AdjustTime(new DateTimeOffset(2026, 12, 31, 5, 0, 0, TimeSpan.Zero));
        await RunDueAsync(server);
        (await household.Keeper.PostAsync("/api/lines/16/reversal", """{"reason": "The pay was late"}""")).MustBe(201);
        (await household.FillPaydayAsync("2026-12-31")).MustBe(201);
        server.Clock.AdjustTime(new DateTimeOffset(2027, 1, 2, 12, 0, 0, TimeSpan.Zero));

        await RunDueAsync(server);

        Assert.Equal(["2026-11-30 fillRun 2026-11-30"], await DoneAsync(household));
        Assert.Equal("undone", (await household.Keeper.GetAsync("/api/automatic-fills")).MustBe(200).Json
            .GetProperty("last")[0].GetProperty("outcome").GetString());
        Assert.Equal("10.00", await household.HoldsAsync("ferry-fares"));
    }

    [Fact]
    public async Task What_can_not_be_filled_is_left_with_the_reason_and_the_next_is_filled()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await FillingAsync(server);
        await household.SourceAsync("harbour-office", "FREQ=MONTHLY;BYMONTHDAY=-1", "2026-09-30", "700.00");
        Assert.False((await household.Keeper.GetAsync("/api/automatic-fills")).MustBe(200).Json.GetProperty("next")
            .TryGetProperty("note", out _));
        server.Clock.AdjustTime(new DateTimeOffset(2026, 12, 1, 12, 0, 0, TimeSpan.Zero));
        await RunDueAsync(server);
        await household.SourceAsync("harbour-office", "FREQ=MONTHLY;BYMONTHDAY=-1", "2026-09-30", "1000.00");
        server.Clock.AdjustTime(new DateTimeOffset(2026, 12, 31, 12, 0, 0, TimeSpan.Zero));

        await RunDueAsync(server);

        Assert.Equal(["2026-11-30 paydayLeft", "2026-12-31 fillRun 2026-12-31"], await DoneAsync(household));
    }

    // Clocks in Germany change on 28 March and 31 October 2027 (Directive 2000/84/EC), on the eastern coast of the
    // United States on 14 March and 7 November 2027
    // (15 U.S.C. 260a): Sundays, so that the paydays around them tell whether the household's time is kept. In Egypt
    // they jump from Friday 30 April 2027 00:00 to 01:00
    // and go back at midnight after Thursday 28 October 2027 to 23:00 (IANA time zone database, Africa/Cairo): times
    // that are not there, and twice.
    [Theory]
    [InlineData("Europe/Berlin", "06:30", "2027-03-26", "2027-03-26T05:30:00Z", "2027-03-29", "2027-03-29T04:30:00Z")]
    [ThoroughData("Europe/Berlin", "02:30", "2027-10-29", "2027-10-29T00:30:00Z", "2027-11-01", "2027-11-01T01:30:00Z")]
    [ThoroughData("America/New_York", "02:30", "2027-03-12", "2027-03-12T07:30:00Z", "2027-03-15",
        "2027-03-15T06:30:00Z")]
    [ThoroughData("America/New_York", "06:30", "2027-11-05", "2027-11-05T10:30:00Z", "2027-11-08",
        "2027-11-08T11:30:00Z")]
    [ThoroughData("Africa/Cairo", "00:30", "2027-04-30", "2027-04-29T22:00:00Z", "2027-05-03", "2027-05-02T21:30:00Z")]
    [ThoroughData("Africa/Cairo", "23:30", "2027-10-28", "2027-10-28T20:30:00Z", "2027-11-01", "2027-11-01T21:30:00Z")]
    public async Task Each_payday_is_filled_once_at_the_households_time_when_its_clocks_change(string zone, string at,
        string before, string beforeAt, string after, string afterAt)
    {
        await using var one = await RunningServer.StartAsync();
        await using var other = await RunningServer.StartAsync(one.Database);
        var household = await Household.OpenAsync(one);
        (await household.Keeper.PutAsync("/api/household",
            $$"""{"name": "Harbour Row", "currency": "EUR", "timeZone": "{{zone}}"}""")).MustBe(200);
        await household.SourceAsync("harbour-office", "FREQ=YEARLY", before, "100.00");
        await household.SourceAsync("tide-office", "FREQ=YEARLY", after, "100.00");
        await household.RuleAsync("ferry-fares", """{"kind": "fixed", "amount": 10.00}""");
        (await household.Keeper.PutAsync("/api/automatic-fills", $$"""{"at": "{{at}}", "from": "{{before}}"}"""))
            .MustBe(200);

        // Every quarter of an hour around each of the two, at both servers: no hour that comes twice fills twice.
        foreach (var now in new[] { beforeAt, afterAt }.SelectMany(
            due => Enumerable.Range(0, 7).Select(i => Instant(due).AddSeconds(-1).AddMinutes(15 * i))))
        {
            foreach (var server in new[] { one, other })
            {
                server.Clock.AdjustTime(now);
            }

            await Task.WhenAll(RunDueAsync(one), RunDueAsync(other));
            Assert.Equal(now < Instant(beforeAt) ? 0 : now < Instant(afterAt) ? 1 : 2,
                (await DoneAsync(household)).Count());
        }

        Assert.Equal([$"{before} fillRun {before}", $"{after} fillRun {after}"], await DoneAsync(household));
    }

    private static DateTimeOffset Instant(string written) =>
        DateTimeOffset.ParseExact(written, "yyyy-MM-dd'T'HH:mm:ss'Z'", CultureInfo.InvariantCulture,
            DateTimeStyles.AssumeUniversal);

    [Fact]
    public async Task Automatic_fills_are_set_changed_and_stopped()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await FillingAsync(server);

        (await household.Keeper.PutAsync("/api/automatic-fills", """{"at": "07:15", "from": "2026-12-31"}"""))
            .MustBe(200).MustHave("""{"lines": [16], "entryId": 16, "at": "07:15", "from": "2026-12-31"}""");
        (await household.Keeper.PutAsync("/api/automatic-fills", """{"at": "07:15", "from": "2026-12-31"}"""))
            .MustBe(200).MustHave("""{"lines": [], "at": "07:15", "from": "2026-12-31"}""");
        server.Clock.AdjustTime(new DateTimeOffset(2026, 12, 30, 12, 0, 0, TimeSpan.Zero));
        await RunDueAsync(server);
        Assert.Empty(await DoneAsync(household));
        (await household.Keeper.DeleteAsync("/api/automatic-fills")).MustBe(204);
        server.Clock.AdjustTime(new DateTimeOffset(2027, 1, 30, 12, 0, 0, TimeSpan.Zero));
        await RunDueAsync(server);
        Assert.Empty(await DoneAsync(household));
        (await household.Keeper.GetAsync("/api/automatic-fills")).MustBe(200)
            .MustHave("""{"on": false, "timeZone": "Europe/Dublin", "last": [], "bookLine": 17}""");
        (await household.Keeper.DeleteAsync("/api/automatic-fills")).MustBe(204);

        (await household.Keeper.PutAsync("/api/automatic-fills", """{"at": "06:30", "from": "2026-11-15"}"""))
            .MustBlame(422, "before-today", "from");
        (await household.Keeper.PutAsync("/api/automatic-fills", """{"at": "half past six", "from": "2027-11-15"}"""))
            .MustBlame(400, "malformed", "at");
        (await household.Keeper.PutAsync("/api/automatic-fills", """{"at": "06:30"}"""))
            .MustBlame(400, "malformed", "from");
        (await household.Keeper.PostAsync("/api/keys", """{"name": "automatic fill runs", "role": "member"}"""))
            .MustBlame(422, "key-name-reserved", "name");
        Assert.Equal(17, await household.LineAsync());
    }
}
