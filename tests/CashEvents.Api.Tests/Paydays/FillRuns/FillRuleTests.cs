using Xunit;

namespace CashEvents.Api.Tests.Paydays;

public sealed class FillRuleTests(SharedServer shared)
{
    [Fact]
    public async Task Rules_are_set_whole_listed_by_rank_and_removed()
    {
        var household = await shared.HarbourRowAsync();
        await household.RuleAsync("rainy-day",
            """{"kind": "share", "share": 12.5, "ceiling": 600.00, "holding": "bank", "rank": 3}""");
        await household.RuleAsync("market-days",
            """{"kind": "fixed", "amount": 130.00, "rank": 2, "roundTo": 10.00}""");
        await household.RuleAsync("ferry-fares", """{"kind": "weekly", "rank": 2}""");
        await household.RuleAsync("boat-insurance", """{"kind": "contribution"}""");
        await household.RuleAsync("bakery-van", """{"kind": "ceiling", "ceiling": 50.00, "rank": 9}""");

        (await household.Keeper.GetAsync("/api/fill-rules")).MustBe(200).MustSay("""
            {"fillRules": [
               {"compartment": "boat-insurance", "label": "Boat insurance", "kind": "contribution", "rank": 1},
               {"compartment": "ferry-fares", "label": "Ferry fares", "kind": "weekly", "holding": "cash", "rank": 2},
               {"compartment": "market-days", "label": "Market days", "kind": "fixed", "amount": 130.00, "holding": "cash", "rank": 2, "roundTo": 10.00},
               {"compartment": "rainy-day", "label": "Rainy day", "kind": "share", "share": 12.5, "ceiling": 600.00, "holding": "bank", "rank": 3},
               {"compartment": "bakery-van", "label": "Bakery van", "kind": "ceiling", "ceiling": 50.00, "holding": "cash", "rank": 9}],
             "bookLine": 15}
            """);

        (await household.Keeper.PutAsync("/api/compartments/ferry-fares/fill-rule",
            """{"kind": "weekly", "rank": 2}""")).MustBe(200)
            .MustHave(
                """{"lines": [], "compartment": "ferry-fares", "note": "It is set like this already. Nothing was written."}""");
        (await household.Keeper.PutAsync("/api/compartments/ferry-fares/fill-rule",
            """{"kind": "weekly", "rank": 4}""")).MustBe(200)
            .MustHave("""{"lines": [16], "entryId": 16, "compartment": "ferry-fares"}""");
        (await household.Keeper.DeleteAsync("/api/compartments/market-days/fill-rule")).MustBe(204);
        (await household.Keeper.PatchAsync("/api/compartments/bakery-van", """{"closed": true}""")).MustBe(200);
        Assert.Equal(["boat-insurance 1 False", "rainy-day 3 False", "ferry-fares 4 False", "bakery-van 9 True"],
            (await household.Keeper.GetAsync("/api/fill-rules")).MustBe(200).Json
            .GetProperty("fillRules").EnumerateArray()
            .Select(r =>
                $"{r.GetProperty("compartment").GetString()} {r.GetProperty("rank").GetInt32()} "
                    + $"{r.TryGetProperty("closed", out _)}"));
        (await household.Keeper.DeleteAsync("/api/compartments/market-days/fill-rule"))
            .MustBeProblem(404, "fill-rule-unknown");
    }

    [Theory]
    [InlineData("ferry-fares", "{}", 400, "malformed", "kind")]
    [InlineData("ferry-fares", """{"kind": "daily"}""", 400, "malformed", "kind")]
    [InlineData("rainy-day", """{"kind": "weekly"}""", 422, "rule-not-for-purpose", "kind")]
    [InlineData("ferry-fares", """{"kind": "contribution"}""", 422, "rule-not-for-purpose", "kind")]
    [InlineData("boat-insurance", """{"kind": "contribution", "holding": "bank"}""", 422, "holding-not-for-rule",
        "holding")]
    [InlineData("ferry-fares", """{"kind": "fixed"}""", 422, "amount-missing", "amount")]
    [InlineData("ferry-fares", """{"kind": "weekly", "amount": 5.00}""", 422, "amount-not-for-rule", "amount")]
    [InlineData("ferry-fares", """{"kind": "fixed", "amount": 0.00}""", 422, "amount-not-positive", "amount")]
    [InlineData("ferry-fares", """{"kind": "share"}""", 422, "share-missing", "share")]
    [InlineData("ferry-fares", """{"kind": "fixed", "amount": 5.00, "share": 5}""", 422, "share-not-for-rule", "share")]
    [InlineData("ferry-fares", """{"kind": "share", "share": 100.01}""", 422, "percent-out-of-range", "share")]
    [InlineData("ferry-fares", """{"kind": "share", "share": 0.001}""", 422, "percent-out-of-range", "share")]
    [InlineData("ferry-fares", """{"kind": "ceiling"}""", 422, "ceiling-missing", "ceiling")]
    [InlineData("ferry-fares", """{"kind": "ceiling", "ceiling": -1.00}""", 422, "amount-not-positive", "ceiling")]
    [InlineData("ferry-fares", """{"kind": "weekly", "rank": 0}""", 422, "rank-out-of-range", "rank")]
    [InlineData("ferry-fares", """{"kind": "weekly", "rank": 100}""", 422, "rank-out-of-range", "rank")]
    [InlineData("ferry-fares", """{"kind": "weekly", "roundTo": 0.001}""", 422, "too-many-decimals", "roundTo")]
    [InlineData("ferry-fare", """{"kind": "weekly"}""", 422, "compartment-unknown", "compartment")]
    public async Task A_rule_that_does_not_fit_is_refused_with_the_field(string compartment, string rule, int status,
        string code, string field)
    {
        var household = await shared.HarbourRowAsync();

        (await household.WithoutWritingAsync(
            keeper => keeper.PutAsync($"/api/compartments/{compartment}/fill-rule", rule)))
            .MustBlame(status, code, field);
    }
}
