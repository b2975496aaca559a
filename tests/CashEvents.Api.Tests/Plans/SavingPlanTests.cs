using Xunit;

namespace CashEvents.Api.Tests.Plans;

/// <summary>Saving steps and notes set aside, over HTTP. The day is 15 November 2026.</summary>
public sealed class SavingPlanTests(SharedServer shared)
{
    [Fact]
    public async Task A_plan_tells_the_next_step_and_the_total_and_doing_a_step_is_a_fill()
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PutAsync("/api/saving-plans/rainy-day",
            """{"first": 1.00, "growth": 1.00, "count": 52}""")).MustBe(200).MustSay("""
            {"compartment": "rainy-day", "stepCount": 52, "stepsDone": 0, "doneTotal": 0.00, "total": 1378.00, "every": "P1W",
             "next": {"number": 1, "due": "2026-11-15", "amount": 1.00, "done": false}, "lines": [11], "entryId": 11}
            """);

        var first = (await household.Keeper.PostAsync("/api/saving-plans/rainy-day/steps", "{}",
            ("Idempotency-Key", "week 1"))).MustBe(201);
        first.MustHave(
            """{"lines": [12], "entryId": 12, "balances": [{"compartment": "rainy-day", "holding": "cash", "balance": 1.00}]}""");
        Assert.Equal(first.Text, (await household.Keeper.PostAsync("/api/saving-plans/rainy-day/steps", "{}",
            ("Idempotency-Key", "week 1"))).MustBe(201).Text);
        (await household.Keeper.PostAsync("/api/saving-plans/rainy-day/steps",
            """{"holding": "bank", "occurredOn": "2026-11-14", "description": "Early"}""")).MustBe(201);

        (await household.Keeper.GetAsync("/api/saving-plans")).MustBe(200).MustHave("""
            {"savingPlans": [{"compartment": "rainy-day", "stepCount": 52, "stepsDone": 2, "doneTotal": 3.00, "total": 1378.00, "every": "P1W",
             "next": {"number": 3, "due": "2026-11-29", "amount": 3.00, "done": false}}], "bookLine": 13}
            """);
        Assert.Equal(("1.00", "2.00"),
            (await household.HoldsAsync("rainy-day"), await household.HoldsAsync("rainy-day", "bank")));
        var line = (await household.Keeper.GetAsync("/api/lines/13")).MustBe(200).Json;
        Assert.Equal(("fill", 11, 2),
            (line.GetProperty("kind").GetString(), line.GetProperty("savingPlan").GetInt64(),
                line.GetProperty("step").GetInt32()));
    }

    [Fact]
    public async Task Any_open_step_is_done_from_a_compartment_by_a_transfer_or_from_outside_by_a_fill()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("market-days", "9.00");
        (await household.Keeper.PutAsync("/api/saving-plans/rainy-day",
            """{"first": 1.00, "growth": 1.00, "count": 52}""")).MustBe(200);

        (await household.Keeper.PostAsync("/api/saving-plans/rainy-day/steps",
            """{"number": 3, "from": "market-days"}""")).MustBe(201).MustHave("""
            {"lines": [13], "entryId": 13, "balances": [{"compartment": "market-days", "holding": "cash", "balance": 6.00}, {"compartment": "rainy-day", "holding": "cash", "balance": 3.00}]}
            """);
        (await household.Keeper.PostAsync("/api/saving-plans/rainy-day/steps", """{"number": 5}""")).MustBe(201);

        var line = (await household.Keeper.GetAsync("/api/lines/13")).MustBe(200).Json;
        Assert.Equal(("transfer", 12, 3),
            (line.GetProperty("kind").GetString(), line.GetProperty("savingPlan").GetInt64(),
                line.GetProperty("step").GetInt32()));
        var plan = (await household.Keeper.GetAsync("/api/saving-plans/rainy-day")).MustBe(200).Json;
        Assert.Equal((2, "8.00", 1),
            (plan.GetProperty("stepsDone").GetInt32(), plan.GetProperty("doneTotal").GetRawText(),
                plan.GetProperty("next").GetProperty("number").GetInt32()));
        Assert.Equal([3, 5], plan.GetProperty("steps").EnumerateArray().Where(s => s.GetProperty("done").GetBoolean())
            .Select(s => s.GetProperty("number").GetInt32()));

        (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/saving-plans/rainy-day/steps", """{"number": 3}""")))
            .MustBlame(409, "saving-step-done", "number");
        (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/saving-plans/rainy-day/steps", """{"number": 53}""")))
            .MustBlame(422, "step-unknown", "number");
        (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/saving-plans/rainy-day/steps",
                """{"number": 7, "from": "market-days"}"""))).MustBlame(409, "not-enough", "from");
        (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/saving-plans/rainy-day/steps", """{"from": {"holding": "cash"}}""")))
            .MustBlame(400, "malformed", "from");
        (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/saving-plans/rainy-day/steps",
                """{"from": {"compartment": "rainy-day", "holding": "bank"}}""")))
                .MustBlame(422, "step-from-itself", "from");
        (await household.Keeper.PostAsync("/api/lines/13/reversal", """{"reason": "Needed for the market"}"""))
            .MustBe(201);
        Assert.Equal((1, "9.00"),
            ((await household.Keeper.GetAsync("/api/saving-plans/rainy-day")).Json.GetProperty("stepsDone").GetInt32(),
                await household.HoldsAsync("market-days")));
        var (kept, replayed) = (await household.Server.Books.ReadAsync(household.Id),
            await household.Server.Books.ReplayAsync(household.Id));
        Assert.Equal(replayed.SavingPlans["rainy-day"].Done, kept.SavingPlans["rainy-day"].Done);
    }

    [Fact]
    public async Task A_key_needs_the_right_for_the_line_that_a_step_writes()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("market-days", "9.00");
        (await household.Keeper.PutAsync("/api/saving-plans/rainy-day", """{"first": 1.00, "count": 52}"""))
            .MustBe(200);
        var fills = await household.IssueAsync("payday script", "script", """["fill"]""");
        var moves = await household.IssueAsync("saving script", "script", """["transfer"]""");

        (await fills.PostAsync("/api/saving-plans/rainy-day/steps", "{}")).MustBe(201);
        (await moves.PostAsync("/api/saving-plans/rainy-day/steps", """{"from": "market-days"}""")).MustBe(201);
        (await household.WithoutWritingAsync(
            _ => fills.PostAsync("/api/saving-plans/rainy-day/steps", """{"from": "market-days"}""")))
            .MustBeProblem(403, "not-allowed");
        (await household.WithoutWritingAsync(_ => moves.PostAsync("/api/saving-plans/rainy-day/steps", "{}")))
            .MustBeProblem(403, "not-allowed");
    }

    [Fact]
    public async Task A_shuffled_list_keeps_its_order_and_comes_to_the_same_total()
    {
        var household = await shared.HarbourRowAsync();
        const string listed =
            """{"amounts": [5.00, 10.00, 20.00, 2.50], "seed": 7, "every": "P1M", "from": "2026-12-31"}""";
        (await household.Keeper.PutAsync("/api/saving-plans/rainy-day", listed)).MustBe(200);

        var plan = (await household.Keeper.GetAsync("/api/saving-plans/rainy-day")).MustBe(200).Json;
        (await household.Keeper.PutAsync("/api/saving-plans/rainy-day", listed)).MustBe(200);
        var again = (await household.Keeper.GetAsync("/api/saving-plans/rainy-day")).MustBe(200).Json;

        Assert.Equal("37.50", plan.GetProperty("total").GetRawText());
        Assert.Equal(plan.GetProperty("steps").GetRawText(), again.GetProperty("steps").GetRawText());
        var steps = plan.GetProperty("steps").EnumerateArray().ToList();
        Assert.Equal(["10.00", "2.50", "20.00", "5.00"],
            steps.Select(s => s.GetProperty("amount").GetRawText()).Order(StringComparer.Ordinal));
        Assert.Equal(["2026-12-31", "2027-01-31", "2027-02-28", "2027-03-31"],
            steps.Select(s => s.GetProperty("due").GetString()));
    }

    [Fact]
    public async Task Every_note_of_one_value_in_a_count_goes_to_saving_in_one_call_and_only_once()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "48.00");
        var count = (await household.Keeper.PostAsync("/api/counts",
            """{"compartment": "ferry-fares", "denominations": {"10": 3, "5": 3, "1": 3}}""")).MustBe(201).Json
            .GetProperty("countId").GetInt64();
        const string fives = """{"denomination": 5.00, "to": "rainy-day"}""";

        (await household.Keeper.PostAsync($"/api/counts/{count}/set-aside", fives)).MustBe(201).MustHave("""
            {"lines": [13], "entryId": 13, "balances": [{"compartment": "ferry-fares", "holding": "cash", "balance": 33.00}, {"compartment": "rainy-day", "holding": "cash", "balance": 15.00}]}
            """);
        var again = (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync($"/api/counts/{count}/set-aside", fives))).MustBe(200);
        Assert.Contains("set aside already", again.Json.GetProperty("note").GetString());
        (await household.Keeper.PostAsync("/api/lines/13/reversal", """{"reason": "Needed for the ferry"}"""))
            .MustBe(201);
        (await household.Keeper.PostAsync($"/api/counts/{count}/set-aside", fives)).MustBe(201);
        var (kept, replayed) = (await household.Server.Books.ReadAsync(household.Id),
            await household.Server.Books.ReplayAsync(household.Id));
        Assert.Equal(replayed.CashCount("ferry-fares")!.SetAside, kept.CashCount("ferry-fares")!.SetAside);
    }

    [Theory]
    [InlineData(400, "malformed", "denomination", """{"to": "rainy-day"}""")]
    [InlineData(400, "malformed", "to", """{"denomination": 5.00}""")]
    [InlineData(422, "compartment-unknown", "to", """{"denomination": 5.00, "to": "rain"}""")]
    [InlineData(422, "compartment-not-for-saving", "to", """{"denomination": 5.00, "to": "market-days"}""")]
    [InlineData(422, "denomination-not-counted", "denomination", """{"denomination": 20.00, "to": "rainy-day"}""")]
    public async Task What_can_not_be_set_aside_is_refused(int status, string code, string field, string body)
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "15.00");
        var count = (await household.Keeper.PostAsync("/api/counts",
            """{"compartment": "ferry-fares", "denominations": {"5": 3}}""")).MustBe(201).Json.GetProperty("countId")
            .GetInt64();

        (await household.WithoutWritingAsync(keeper => keeper.PostAsync($"/api/counts/{count}/set-aside", body)))
            .MustBlame(status, code, field);
        (await household.Keeper.PostAsync("/api/counts/11/set-aside", """{"denomination": 5.00, "to": "rainy-day"}"""))
            .MustBeProblem(404, "count-unknown");
    }

    [Theory]
    [InlineData(400, "malformed", "$", "{}")]
    [InlineData(400, "malformed", "count", """{"first": 1.00, "count": 1.5}""")]
    [InlineData(422, "steps-out-of-range", "count", """{"first": 1.00}""")]
    [InlineData(422, "too-many-decimals", "growth", """{"first": 1.00, "growth": 0.001, "count": 3}""")]
    [InlineData(422, "steps-twice", "amounts", """{"first": 1.00, "amounts": [1.00]}""")]
    public async Task A_plan_that_does_not_fit_is_refused(int status, string code, string field, string body)
    {
        var household = await shared.HarbourRowAsync();

        (await household.WithoutWritingAsync(keeper => keeper.PutAsync("/api/saving-plans/rainy-day", body)))
            .MustBlame(status, code, field);
        (await household.Keeper.GetAsync("/api/saving-plans/rainy-day")).MustBeProblem(404, "saving-plan-unknown");
        (await household.Keeper.PostAsync("/api/saving-plans/rainy-day/steps", "{}"))
            .MustBeProblem(404, "saving-plan-unknown");
    }
}
