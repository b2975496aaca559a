using Xunit;

namespace CashEvents.Api.Tests.Plans;

public sealed class PlanTests(SharedServer shared)
{
    [Fact]
    public async Task A_plan_holds_from_its_week_on_and_tells_what_comes_next()
    {
        var household = await shared.HarbourRowAsync();

        (await household.Keeper.PutAsync("/api/plan",
            """{"from": "2026-W44", "amounts": {"market-days": 45, "ferry-fares": 25.0}}""")).MustBe(200).MustSay("""
            {"lines": [11], "entryId": 11, "from": "2026-W44", "amounts": {"market-days": 45.00, "ferry-fares": 25.00}}
            """);
        (await household.Keeper.PutAsync("/api/plan", """{"from": "2026-11-30", "amounts": {"ferry-fares": 30.00}}"""))
            .MustBe(200);

        var plan = (await household.Keeper.GetAsync("/api/plan?week=2026-W47")).MustBe(200);
        plan.MustHave("""
            {"week": "2026-W47", "firstDay": "2026-11-16", "lastDay": "2026-11-22",
             "compartments": [
               {"compartment": "ferry-fares", "label": "Ferry fares", "amount": 25.00, "since": "2026-W44", "next": {"from": "2026-W49", "amount": 30.00}},
               {"compartment": "market-days", "label": "Market days", "amount": 45.00, "since": "2026-W44"},
               {"compartment": "bakery-van", "label": "Bakery van"}],
             "total": 70.00, "bookLine": 12}
            """);
        Assert.Equal(12, plan.BookLine);
        (await household.Keeper.GetAsync("/api/lines/11")).MustBe(200);
        var line = (await household.LinesAsync("after=10&limit=1"))[0];
        Assert.Equal(("plan", "2026-10-26", """{"ferry-fares":25.00,"market-days":45.00}"""),
            (line.GetProperty("kind").GetString(), line.GetProperty("plannedFrom").GetString(),
                line.GetProperty("amounts").GetRawText()));
    }

    [Fact]
    public async Task Setting_an_earlier_week_leaves_what_is_set_for_later_ones()
    {
        var household = await shared.HarbourRowAsync();
        await SetAsync(household, "2026-W44", "25.00");
        await SetAsync(household, "2026-W40", "20.00");

        Assert.Equal(("20.00", "2026-W40"), await FerryAsync(household, "2026-W43"));
        Assert.Equal(("25.00", "2026-W44"), await FerryAsync(household, "2026-W44"));
        Assert.Equal(("25.00", "2026-W44"), await FerryAsync(household, "2031-W01"));
        Assert.Equal((null, null), await FerryAsync(household, "2026-W39"));
    }

    [Fact]
    public async Task The_present_week_is_the_one_on_the_households_calendar()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        server.Clock.SetUtcNow(new DateTimeOffset(2027, 1, 3, 12, 0, 0, TimeSpan.Zero));

        Assert.Equal("2026-W53", (await household.Keeper.GetAsync("/api/plan")).MustBe(200).Json.GetProperty("week")
            .GetString());
        (await household.Keeper.PutAsync("/api/household",
            """{"name": "Harbour Row", "currency": "EUR", "timeZone": "Pacific/Auckland"}""")).MustBe(200);
        Assert.Equal("2027-W01", (await household.Keeper.GetAsync("/api/plan")).MustBe(200).Json.GetProperty("week")
            .GetString());
    }

    [Fact]
    public async Task The_same_plan_again_writes_nothing_and_says_so()
    {
        var household = await shared.HarbourRowAsync();
        await SetAsync(household, "2026-W44", "25.00");

        var again = await household.WithoutWritingAsync(
            keeper => keeper.PutAsync("/api/plan", """{"from": "2026-W44", "amounts": {"ferry-fares": 25}}"""));

        Assert.Empty(again.MustBe(200).Lines);
        Assert.Contains("Nothing was written", again.Json.GetProperty("note").GetString());
    }

    [Fact]
    public async Task A_repeated_request_gets_the_first_ones_answer()
    {
        var household = await shared.HarbourRowAsync();
        const string plan = """{"from": "2026-W44", "amounts": {"ferry-fares": 25.00}}""";

        var first = (await household.Keeper.PutAsync("/api/plan", plan, ("Idempotency-Key", "winter plan")))
            .MustBe(200);
        await SetAsync(household, "2026-W44", "26.00");
        var again = await household.WithoutWritingAsync(
            keeper => keeper.PutAsync("/api/plan", plan, ("Idempotency-Key", "winter plan")));

        Assert.Equal(first.Text, again.MustBe(200).Text);
        (await household.Keeper.PutAsync("/api/plan", """{"from": "2026-W45", "amounts": {"ferry-fares": 25.00}}""",
            ("Idempotency-Key", "winter plan"))).MustBlame(422, "idempotency-key-reused", "Idempotency-Key");
    }

    [Fact]
    public async Task Where_weeks_start_on_Sunday_a_plan_is_told_by_first_days_even_one_set_when_it_was_Monday()
    {
        var household = await shared.HarbourRowAsync();
        await SetAsync(household, "2026-W40", "20.00");
        await SetAsync(household, "2026-W44", "25.00");
        (await household.Keeper.PutAsync("/api/household",
            """{"name": "Harbour Row", "currency": "EUR", "timeZone": "Europe/Dublin", "firstDayOfWeek": "sunday"}"""))
            .MustBe(200);
        await SetAsync(household, "2026-11-01", "27.00");

        var plan = (await household.Keeper.GetAsync("/api/plan?week=2026-10-25")).MustBe(200).Json;

        Assert.Equal(
            """{"compartment":"ferry-fares","label":"Ferry fares","amount":20.00,"since":"2026-10-04","next":{"from":"2026-11-01","amount":27.00}}""",
            plan.GetProperty("compartments")[0].GetRawText());
        Assert.Contains("2026-10-25",
            (await household.Keeper.GetAsync("/api/plan?week=2026-W44"))
                .MustBlame(422, "week-starts-elsewhere", "week"));
    }

    [Fact]
    public async Task The_plan_of_a_closed_month_stays()
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PostAsync("/api/months/2026-10/close", """{"reason": "Nothing happened yet"}"""))
            .MustBe(201);

        var mend = (await household.WithoutWritingAsync(
            keeper => keeper.PutAsync("/api/plan", """{"from": "2026-W44", "amounts": {"ferry-fares": 25.00}}""")))
            .MustBlame(409, "month-closed", "from");

        Assert.Contains("2026-W45", mend);
        await SetAsync(household, "2026-W45", "25.00");
    }

    [Theory]
    [InlineData(400, "malformed", "from", """{"amounts": {"ferry-fares": 25.00}}""")]
    [InlineData(400, "malformed", "from", """{"from": "W44", "amounts": {"ferry-fares": 25.00}}""")]
    [InlineData(400, "malformed", "amounts", """{"from": "2026-W44"}""")]
    [InlineData(400, "malformed", "amounts", """{"from": "2026-W44", "amounts": {}}""")]
    [InlineData(400, "malformed", "amounts", """{"from": "2026-W44", "amounts": 25.00}""")]
    [InlineData(400, "malformed", "amounts.ferry-fares",
        """{"from": "2026-W44", "amounts": {"ferry-fares": "25,00"}}""")]
    [InlineData(400, "malformed", "amounts.ferry-fares", """{"from": "2026-W44", "amounts": {"ferry-fares": null}}""")]
    [InlineData(400, "malformed", "amounts.ferry-fares",
        """{"from": "2026-W44", "amounts": {"ferry-fares": 25.00, "ferry-fares": 26.00}}""")]
    [InlineData(400, "malformed", "form", """{"form": "2026-W44", "amounts": {"ferry-fares": 25.00}}""")]
    [InlineData(422, "week-unknown", "from", """{"from": "2025-W53", "amounts": {"ferry-fares": 25.00}}""")]
    [InlineData(422, "week-starts-elsewhere", "from", """{"from": "2026-11-15", "amounts": {"ferry-fares": 25.00}}""")]
    [InlineData(422, "compartment-unknown", "amounts.ferry-fare",
        """{"from": "2026-W44", "amounts": {"ferry-fare": 25.00}}""")]
    [InlineData(422, "compartment-not-for-spending", "amounts.rainy-day",
        """{"from": "2026-W44", "amounts": {"ferry-fares": 25.00, "rainy-day": 5.00}}""")]
    [InlineData(422, "amount-negative", "amounts.ferry-fares",
        """{"from": "2026-W44", "amounts": {"ferry-fares": -1.00}}""")]
    [InlineData(422, "too-many-decimals", "amounts.ferry-fares",
        """{"from": "2026-W44", "amounts": {"ferry-fares": 25.001}}""")]
    [InlineData(422, "amount-too-large", "amounts.ferry-fares",
        """{"from": "2026-W44", "amounts": {"ferry-fares": 10000000000}}""")]
    public async Task A_plan_that_does_not_fit_is_refused_whole(int status, string code, string field, string body)
    {
        var household = await shared.HarbourRowAsync();

        var mend = (await household.WithoutWritingAsync(keeper => keeper.PutAsync("/api/plan", body)))
            .MustBlame(status, code, field);

        Assert.Equal(body.Contains("26.00", StringComparison.Ordinal),
            mend.Contains("written twice", StringComparison.Ordinal));
    }

    [Theory]
    [InlineData(400, "malformed", "week", "week=W47")]
    [InlineData(400, "malformed", "week", "week=")]
    [InlineData(400, "malformed", "weak", "weak=2026-W47")]
    [InlineData(422, "week-unknown", "week", "week=2026-W54")]
    [InlineData(422, "week-starts-elsewhere", "week", "week=2026-11-15")]
    public async Task A_question_that_can_not_be_answered_is_refused(int status, string code, string parameter,
        string query)
    {
        var household = await shared.HarbourRowAsync();

        (await household.Keeper.GetAsync($"/api/plan?{query}")).MustBlame(status, code, parameter);
    }

    private static async Task SetAsync(Household household, string from, string ferry) =>
        (await household.Keeper.PutAsync("/api/plan",
            $$"""{"amounts": {"ferry-fares": {{ferry}} }, "from": "{{from}}"}""")).MustBe(200);

    private static async Task<(string? Amount, string? Since)> FerryAsync(Household household, string week)
    {
        var ferry = (await household.Keeper.GetAsync($"/api/plan?week={week}")).MustBe(200).Json
            .GetProperty("compartments")[0];
        return (ferry.TryGetProperty("amount", out var amount)
            ? amount.GetRawText()
            : null, ferry.TryGetProperty("since", out var since) ? since.GetString() : null);
    }
}
