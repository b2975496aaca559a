using Xunit;

namespace CashEvents.Api.Tests.Movements;

public sealed class SpendTests(SharedServer shared)
{
    [Fact]
    public async Task A_spend_lowers_what_a_compartment_holds()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "60.00");

        var spent = (await household.Keeper.PostAsync("/api/spends",
            """{"compartment": "ferry-fares", "amount": 8.40, "description": "Return to the mainland"}""")).MustBe(201);

        spent.MustSay(
            """{"lines": [12], "entryId": 12, "balances": [{"compartment": "ferry-fares", "holding": "cash", "balance": 51.60}]}""");
    }

    [Fact]
    public async Task The_last_cent_may_be_spent()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "8.40");

        await household.SpendAsync("ferry-fares", "8.40");

        Assert.Equal("0.00", await household.HoldsAsync("ferry-fares"));
    }

    [Fact]
    public async Task More_than_is_there_is_refused_with_what_is_there_and_who_could_cover_it()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "6.40");
        await household.FillAsync("market-days", "20.00");
        await household.FillAsync("bakery-van", "2.00");
        await household.FillAsync("rainy-day", "1.99");
        await household.FillAsync("boat-insurance", "500.00", holding: "bank");

        var refused = await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/spends", """{"compartment": "ferry-fares", "amount": 8.40}"""));

        refused.MustBlame(409, "not-enough", "amount");
        refused.MustHave("""
            {"type": "/problems/not-enough", "title": "Not enough", "status": 409, "detail": "The cash of 'ferry-fares' holds 6.40 EUR: 2.00 EUR is missing. 'market-days' could give it.",
             "code": "not-enough", "errors": {"amount": ["The cash of 'ferry-fares' holds 6.40 EUR: 2.00 EUR is missing. 'market-days' could give it."]},
             "shortage": {"compartment": "ferry-fares", "holding": "cash", "available": 6.40, "missing": 2.00, "on": "2026-11-15",
               "couldGive": [{"compartment": "market-days", "available": 20.00}, {"compartment": "bakery-van", "available": 2.00}]}}
            """);
    }

    [Fact]
    public async Task What_is_missing_is_covered_from_another_compartment_in_the_same_entry()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "6.40");
        await household.FillAsync("market-days", "20.00");

        var spent = (await household.Keeper.PostAsync("/api/spends",
            """{"compartment": "ferry-fares", "amount": 8.40, "restFrom": "market-days", "description": "Return"}"""))
            .MustBe(201);

        spent.MustHave("""
            {"lines": [13, 14], "entryId": 13,
             "balances": [{"compartment": "market-days", "holding": "cash", "balance": 18.00}, {"compartment": "ferry-fares", "holding": "cash", "balance": 0.00}]}
            """);
        var lines = await household.LinesAsync("after=12");
        Assert.Equal([("transfer", "2.00", 13L), ("spend", "8.40", 13L)],
            lines.Select(l => (l.GetProperty("kind").GetString(), l.GetProperty("amount").GetRawText(),
                l.GetProperty("entryId").GetInt64())));
    }

    [Fact]
    public async Task Nothing_is_moved_from_a_cover_that_is_not_needed()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "8.40");

        var spent = await household.Keeper.PostAsync("/api/spends",
            """{"compartment": "ferry-fares", "amount": 8.40, "restFrom": "market-days"}""");

        Assert.Equal([12], spent.MustBe(201).Lines);
    }

    [Theory]
    [InlineData(409, "not-enough", "rainy-day")]
    [InlineData(422, "rest-from-itself", "ferry-fares")]
    [InlineData(422, "compartment-unknown", "lighthouse")]
    public async Task A_cover_that_can_not_cover_is_refused_and_nothing_of_the_entry_is_written(int status, string code,
        string cover)
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "6.40");
        await household.FillAsync("rainy-day", "1.99");

        var refused = await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/spends",
                $$"""{"compartment": "ferry-fares", "amount": 8.40, "restFrom": "{{cover}}"}"""));

        refused.MustBlame(status, code, "restFrom");
    }

    [Fact]
    public async Task A_spend_of_an_earlier_day_may_not_leave_a_later_day_short()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "10.00", on: "2026-11-01");
        await household.SpendAsync("ferry-fares", "8.00", on: "2026-11-10");
        await household.FillAsync("ferry-fares", "50.00", on: "2026-11-12");

        var refused = await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/spends",
                """{"compartment": "ferry-fares", "amount": 5.00, "occurredOn": "2026-11-05"}"""));

        var problem = refused.MustBeProblem(409, "not-enough");
        Assert.Equal(("2.00", "3.00", "2026-11-10"),
            (problem.GetProperty("shortage").GetProperty("available").GetRawText(),
                problem.GetProperty("shortage").GetProperty("missing").GetRawText(),
                problem.GetProperty("shortage").GetProperty("on").GetString()));
        await household.SpendAsync("ferry-fares", "2.00", on: "2026-11-05");
    }

    [Fact]
    public async Task Money_may_not_be_spent_before_it_was_there()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "10.00", on: "2026-11-05");

        var refused = await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/spends",
                """{"compartment": "ferry-fares", "amount": 1.00, "occurredOn": "2026-11-04"}"""));

        Assert.Equal("0.00", refused.MustBeProblem(409, "not-enough").GetProperty("shortage").GetProperty("available")
            .GetRawText());
    }
}
