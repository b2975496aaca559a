using System.Text.Json;
using Xunit;

namespace CashEvents.Api.Tests.Plans;

/// <summary>Goals, the level contribution and the schedule, over HTTP. The day is 15 November 2026.</summary>
public sealed class SinkingFundTests(SharedServer shared)
{
    private const string Hull =
        """{"compartment": "boat-insurance", "label": "Hull insurance", "amount": 480.00, "due": "2027-04-01", "every": "P1Y", "amounts": {"2028-04-01": 520.00}}""";

    [Fact]
    public async Task A_goal_is_set_read_changed_and_given_up()
    {
        var household = await shared.HarbourRowAsync();
        const string goal = """
            "id": "hull-insurance", "compartment": "boat-insurance", "label": "Hull insurance", "amount": 480.00, "due": "2027-04-01", "every": "P1Y",
            "amounts": {"2028-04-01": 520.00}, "nextDue": "2027-04-01", "nextAmount": 480.00
            """;

        var set = (await household.Keeper.PostAsync("/api/goals", Hull)).MustBe(201);
        set.MustSay($$"""{ {{goal}}, "lines": [11], "entryId": 11}""");
        Assert.Equal("/api/goals/hull-insurance", set.Headers["Location"]);
        (await household.Keeper.GetAsync("/api/goals")).MustBe(200)
            .MustHave($$"""{"goals": [{ {{goal}} }], "bookLine": 11}""");
        (await household.Keeper.GetAsync("/api/goals/hull-insurance")).MustBe(200).MustHave($$"""{ {{goal}} }""");
        var changed = (await household.Keeper.PatchAsync("/api/goals/hull-insurance",
            """{"amount": 495.00, "amounts": {}}""")).MustBe(200).Json;
        Assert.Equal("495.00", changed.GetProperty("nextAmount").GetRawText());
        Assert.False(changed.TryGetProperty("amounts", out _));
        Assert.Empty((await household.Keeper.PatchAsync("/api/goals/hull-insurance", """{"amount": 495.00}"""))
            .MustBe(200).Lines);
        (await household.Keeper.DeleteAsync("/api/goals/hull-insurance")).MustBe(204);
        (await household.Keeper.GetAsync("/api/goals/hull-insurance")).MustBeProblem(404, "goal-unknown");
        (await household.Keeper.DeleteAsync("/api/goals/hull-insurance")).MustBeProblem(404, "goal-unknown");
    }

    [Fact]
    public async Task A_fund_that_is_behind_says_by_how_much_and_what_mends_it()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        (await household.Keeper.PostAsync("/api/goals", Hull)).MustBe(201);
        await household.FillAsync("boat-insurance", "150.00", "2026-11-15");
        await household.FillAsync("boat-insurance", "10.00", "2026-11-15", "bank");
        server.Clock.SetUtcNow(new DateTimeOffset(2027, 2, 10, 12, 0, 0, TimeSpan.Zero));

        // Five paydays from 1 December to 1 April: three are gone, and 288.00 should be there. Two are to come for the
        // 320.00 that are missing.
        var fund = (await household.Keeper.GetAsync("/api/sinking-funds")).MustBe(200);
        fund.MustHave("""
            {"sinkingFunds": [{"compartment": "boat-insurance", "label": "Boat insurance", "cash": 150.00, "bank": 10.00, "there": 160.00, "bankPercent": 0, "interestPercent": 0,
              "nextBills": [{"goal": "hull-insurance", "label": "Hull insurance", "due": "2027-04-01", "amount": 480.00, "paydays": 2, "alone": 240.00}],
              "levelContribution": 160.00, "atOnce": 0.00, "shouldBeThere": 288.00, "onTrack": false, "behind": 128.00, "mend": {"now": 128.00, "orEachPayday": 160.00}}],
             "nextPayday": "2027-03-01", "bookLine": 13,
             "note": "No payday is known to come, so contributions are counted by the first of each month: set who pays with PUT /api/income-sources/{id}."}
            """);

        await household.FillAsync("boat-insurance", "128.00", "2027-02-10");
        var mended = await FundAsync(household, "boat-insurance");
        Assert.True(mended.GetProperty("onTrack").GetBoolean());
        Assert.False(mended.TryGetProperty("mend", out _));
        Assert.Equal("96.00", mended.GetProperty("levelContribution").GetRawText());
    }

    [Fact]
    public async Task When_the_bill_is_paid_the_next_occurrence_takes_over_and_comes_back_when_the_spend_is_undone()
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PostAsync("/api/goals", Hull)).MustBe(201);
        await household.FillAsync("boat-insurance", "500.00");

        var paid = (await household.Keeper.PostAsync("/api/spends",
            """{"compartment": "boat-insurance", "amount": 478.20, "goal": "hull-insurance"}""")).MustBe(201);

        Assert.Equal(("2028-04-01", "520.00"), await NextAsync(household));
        var line = (await household.Keeper.GetAsync($"/api/lines/{paid.Lines[0]}")).MustBe(200).Json;
        Assert.Equal(("spend", "hull-insurance", "2027-04-01"),
            (line.GetProperty("kind").GetString(), line.GetProperty("goal").GetString(),
                line.GetProperty("due").GetString()));
        (await household.Keeper.PostAsync($"/api/lines/{paid.Lines[0]}/reversal", """{"reason": "Paid twice"}"""))
            .MustBe(201);
        Assert.Equal(("2027-04-01", "480.00"), await NextAsync(household));
        var (kept, replayed) = (await household.Server.Books.ReadAsync(household.Id),
            await household.Server.Books.ReplayAsync(household.Id));
        Assert.Equal(JsonSerializer.Serialize(replayed.Goals), JsonSerializer.Serialize(kept.Goals));
    }

    [Fact]
    public async Task The_schedule_comes_as_JSON_and_as_CSV_with_interest_and_both_parts()
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PutAsync("/api/sinking-funds/boat-insurance",
            """{"bankPercent": 50, "interestPercent": 12}""")).MustBe(200)
            .MustHave(
                """{"lines": [11], "entryId": 11, "compartment": "boat-insurance", "bankPercent": 50, "interestPercent": 12}""");
        (await household.Keeper.PostAsync("/api/goals",
            """{"compartment": "boat-insurance", "label": "Slipway fee", "amount": 100.00, "due": "2027-02-01"}"""))
            .MustBe(201);

        // One percent a month on half of it: 0.16 + 0.33 of interest by the third payday, so that 33.17 three times
        // would be 0.01 too much.
        var fund = await FundAsync(household, "boat-insurance?to=2027-02-28");
        Assert.Equal("33.17", fund.GetProperty("levelContribution").GetRawText());
        Assert.Equal("33.17", fund.GetProperty("nextBills")[0].GetProperty("alone").GetRawText());
        var csv = (await household.Keeper.GetAsync("/api/sinking-funds/boat-insurance?to=2027-02-28",
            ("Accept", "text/csv"))).MustBe(200);
        Assert.Equal("text/csv", csv.ContentType);
        Assert.Equal(
            """
            on,contribution,toCash,toBank,interest,bills,billsTotal,cash,bank,balance
            2026-12-01,33.17,16.59,16.58,0.00,,0,16.59,16.58,33.17
            2027-01-01,33.17,16.59,16.58,0.16,,0,33.18,33.32,66.50
            2027-02-01,33.17,16.59,16.58,0.33,slipway-fee,100.00,0.00,0.00,0.00

            """.ReplaceLineEndings("\r\n"), csv.Text);
        Assert.Equal(3, fund.GetProperty("schedule").GetArrayLength());
    }

    [Fact]
    public async Task Contributions_are_counted_by_the_households_own_paydays_and_are_what_a_fill_run_puts_in()
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PostAsync("/api/goals",
            """{"compartment": "boat-insurance", "label": "Slipway fee", "amount": 100.00, "due": "2026-12-13"}"""))
            .MustBe(201);
        (await household.Keeper.PostAsync("/api/goals",
            """{"compartment": "boat-insurance", "label": "Winter cover", "amount": 8.00, "due": "2026-11-19"}"""))
            .MustBe(201);
        await household.SourceAsync("harbour-office", "FREQ=WEEKLY;BYDAY=FR", "2026-11-06", "500.00");

        // Four Fridays from the 20th of November to the 11th of December; the winter cover is due before the first.
        var fund = await FundAsync(household, "boat-insurance");
        Assert.Equal(("25.00", "8.00", 4),
            (fund.GetProperty("levelContribution").GetRawText(), fund.GetProperty("atOnce").GetRawText(),
                fund.GetProperty("nextBills")[1].GetProperty("paydays").GetInt32()));
        Assert.Equal("2026-11-20",
            (await household.Keeper.GetAsync("/api/sinking-funds")).MustBe(200).Json.GetProperty("nextPayday")
                .GetString());
        Assert.False(fund.TryGetProperty("note", out _));

        await household.RuleAsync("boat-insurance", """{"kind": "contribution"}""");
        var dry = (await household.FillPaydayAsync("2026-11-20", ", \"dryRun\": true")).MustBe(200).Json;
        Assert.Equal("33.00", dry.GetProperty("compartments")[0].GetProperty("wanted").GetRawText());
    }

    [ThoroughFact]
    public async Task A_payday_today_counts_until_it_is_filled()
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PostAsync("/api/goals",
            """{"compartment": "boat-insurance", "label": "Slipway fee", "amount": 100.00, "due": "2026-11-30"}"""))
            .MustBe(201);
        await household.SourceAsync("harbour-office", "FREQ=WEEKLY", "2026-11-16", "500.00");
        await household.RuleAsync("boat-insurance", """{"kind": "contribution"}""");
        await household.RuleAsync("rainy-day", """{"kind": "fixed", "amount": 1.00}""");
        Assert.Equal("33.34", (await FundAsync(household, "boat-insurance")).GetProperty("levelContribution")
            .GetRawText());

        await using var tomorrow = await RunningServer.StartAsync((await shared.ServerAsync()).Database);
        tomorrow.Clock.SetUtcNow(new DateTimeOffset(2026, 11, 16, 12, 0, 0, TimeSpan.Zero));
        var there = household.At(tomorrow);
        Assert.Equal("33.34", (await FundAsync(there, "boat-insurance")).GetProperty("levelContribution").GetRawText());
        (await there.FillPaydayAsync("2026-11-16")).MustBe(201);
        Assert.Equal("33.33", (await FundAsync(there, "boat-insurance")).GetProperty("levelContribution").GetRawText());
    }

    [Theory]
    [InlineData(400, "malformed", "compartment", """{"label": "Hull", "amount": 480.00, "due": "2027-04-01"}""")]
    [InlineData(400, "malformed", "label",
        """{"compartment": "boat-insurance", "amount": 480.00, "due": "2027-04-01"}""")]
    [InlineData(400, "malformed", "amount",
        """{"compartment": "boat-insurance", "label": "Hull", "due": "2027-04-01"}""")]
    [InlineData(400, "malformed", "due", """{"compartment": "boat-insurance", "label": "Hull", "amount": 480.00}""")]
    [InlineData(400, "malformed", "due",
        """{"compartment": "boat-insurance", "label": "Hull", "amount": 480.00, "due": "April"}""")]
    [InlineData(400, "malformed", "amounts.April",
        """{"compartment": "boat-insurance", "label": "Hull", "amount": 480.00, "due": "2027-04-01", "amounts": {"April": 1.00}}""")]
    [InlineData(422, "compartment-unknown", "compartment",
        """{"compartment": "boat", "label": "Hull", "amount": 480.00, "due": "2027-04-01"}""")]
    [InlineData(422, "compartment-not-a-sinking-fund", "compartment",
        """{"compartment": "rainy-day", "label": "Hull", "amount": 480.00, "due": "2027-04-01"}""")]
    [InlineData(422, "amount-not-positive", "amount",
        """{"compartment": "boat-insurance", "label": "Hull", "amount": -1.00, "due": "2027-04-01"}""")]
    [InlineData(422, "too-many-decimals", "amount",
        """{"compartment": "boat-insurance", "label": "Hull", "amount": 1.001, "due": "2027-04-01"}""")]
    [InlineData(422, "due-before-today", "due",
        """{"compartment": "boat-insurance", "label": "Hull", "amount": 480.00, "due": "2026-11-14"}""")]
    [InlineData(422, "period-unreadable", "every",
        """{"compartment": "boat-insurance", "label": "Hull", "amount": 480.00, "due": "2027-04-01", "every": "yearly"}""")]
    [InlineData(422, "not-due", "amounts.2027-04-02",
        """{"compartment": "boat-insurance", "label": "Hull", "amount": 480.00, "due": "2027-04-01", "amounts": {"2027-04-02": 1.00}}""")]
    public async Task A_goal_that_does_not_fit_is_refused(int status, string code, string field, string body)
    {
        var household = await shared.HarbourRowAsync();

        (await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/goals", body)))
            .MustBlame(status, code, field);
    }

    [Theory]
    [InlineData(400, "malformed", "bankPercent", """{"interestPercent": 1}""")]
    [InlineData(400, "malformed", "bankPercent", """{"bankPercent": 1.5}""")]
    [InlineData(422, "percent-out-of-range", "bankPercent", """{"bankPercent": 101}""")]
    [InlineData(422, "percent-out-of-range", "interestPercent", """{"bankPercent": 1, "interestPercent": -1}""")]
    public async Task Terms_that_do_not_fit_are_refused(int status, string code, string field, string body)
    {
        var household = await shared.HarbourRowAsync();

        (await household.WithoutWritingAsync(keeper => keeper.PutAsync("/api/sinking-funds/boat-insurance", body)))
            .MustBlame(status, code, field);
    }

    [Theory]
    [InlineData(400, "malformed", "to", "to=2026-11-14")]
    [InlineData(400, "malformed", "to", "to=2031-11-16")]
    [InlineData(400, "malformed", "nextPayday", "nextPayday=2026-12-01")]
    public async Task A_question_that_can_not_be_answered_is_refused(int status, string code, string parameter,
        string query)
    {
        var household = await shared.HarbourRowAsync();

        (await household.Keeper.GetAsync($"/api/sinking-funds/boat-insurance?{query}"))
            .MustBlame(status, code, parameter);
    }

    [Fact]
    public async Task Only_a_sinking_fund_has_a_schedule()
    {
        var household = await shared.HarbourRowAsync();

        (await household.Keeper.GetAsync("/api/sinking-funds/rainy-day"))
            .MustBeProblem(404, "compartment-not-a-sinking-fund");
        (await household.Keeper.GetAsync("/api/sinking-funds/boat")).MustBeProblem(404, "compartment-unknown");
    }

    private static async Task<JsonElement> FundAsync(Household household, string address) =>
        (await household.Keeper.GetAsync($"/api/sinking-funds/{address}")).MustBe(200).Json;

    private static async Task<(string? Due, string Amount)> NextAsync(Household household)
    {
        var goal = (await household.Keeper.GetAsync("/api/goals/hull-insurance")).MustBe(200).Json;
        return (goal.GetProperty("nextDue").GetString(), goal.GetProperty("nextAmount").GetRawText());
    }
}
