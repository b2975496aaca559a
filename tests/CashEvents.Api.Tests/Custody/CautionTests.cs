using System.Text.Json;
using Xunit;

namespace CashEvents.Api.Tests.Custody;

/// <summary>Cautions stand where they belong, each with its source, and nowhere else.</summary>
public sealed class CautionTests(SharedServer shared)
{
    private const string OverThere =
        """{"name": "Harbour Row", "currency": "USD", "timeZone": "America/New_York", "firstDayOfWeek": "sunday", "country": "US"}""";

    [Fact]
    public async Task Cash_at_home_above_the_limit_is_cautioned_where_custody_and_the_reconciliation_are_read()
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PutAsync("/api/household", OverThere)).MustBe(200);
        await household.FillAsync("ferry-fares", "200.00");
        Assert.All(await ReadAsync(household, "/api/custody", "/api/reconciliation"),
            json => Assert.False(json.TryGetProperty("cautions", out _)));

        await household.FillAsync("market-days", "0.01");

        // ISO HO 00 03, Coverage C: 200 dollars on money and bank notes.
        Assert.All(await ReadAsync(household, "/api/custody", "/api/reconciliation"), json =>
        {
            var caution = Assert.Single(json.GetProperty("cautions").EnumerateArray());
            Assert.Equal(("cash-at-home", "200.01", "200.00"),
                (caution.GetProperty("code").GetString(), caution.GetProperty("amount").GetRawText(),
                    caution.GetProperty("limit").GetRawText()));
            Assert.Contains("HO 00 03", caution.GetProperty("source").GetString());
        });
        Assert.All(await ReadAsync(household, "/api/balances", "/api/compartments", "/api/months/2026-11/trail"),
            json => Assert.DoesNotContain("caution", json.GetRawText()));

        (await household.Keeper.PutAsync("/api/caution-limits", """{"cashAtHome": 500.00}""")).MustBe(200)
            .MustSay("""{"lines": [14], "entryId": 14}""");
        (await household.Keeper.PutAsync("/api/caution-limits", """{"cashAtHome": 500.00}""")).MustBe(200)
            .MustHave("""{"lines": [], "note": "They are set like this already. Nothing was written."}""");
        var custody = (await household.Keeper.GetAsync("/api/custody")).MustBe(200).Json;
        Assert.False(custody.TryGetProperty("cautions", out _));
        Assert.Equal("""{"cashAtHome":{"amount":500.00,"source":"the household's own limit, set on line 14"}}""",
            custody.GetProperty("limits").GetRawText());
    }

    [Fact]
    public async Task What_is_carried_above_the_limit_is_cautioned_when_it_is_handed_over_and_in_custody()
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PutAsync("/api/caution-limits", """{"carried": 50.00}""")).MustBe(200);
        await household.FillAsync("ferry-fares", "30.00");
        await household.FillAsync("market-days", "30.00");

        Assert.False((await household.Keeper.PostAsync("/api/handovers",
            """{"compartment": "ferry-fares", "carrier": "partner"}""")).MustBe(201).Json
            .TryGetProperty("cautions", out _));
        var second = (await household.Keeper.PostAsync("/api/handovers",
            """{"compartment": "market-days", "carrier": "partner"}""")).MustBe(201).Json;

        Assert.Equal("60.00", second.GetProperty("cautions")[0].GetProperty("amount").GetRawText());
        Assert.Contains("'partner'", second.GetProperty("cautions")[0].GetProperty("detail").GetString());
        Assert.Equal(second.GetProperty("cautions").GetRawText(),
            (await household.Keeper.GetAsync("/api/custody")).MustBe(200).Json.GetProperty("cautions").GetRawText());
    }

    [Fact]
    public async Task A_draw_slip_that_the_bank_reports_says_so_on_screen_and_on_paper()
    {
        var household = await shared.HarbourRowAsync();
        const string reported =
            """{"amounts": {"boat-insurance": 10000.00, "ferry-fares": 1.00}, "denominations": [100, 1]}""";
        (await household.Keeper.PutAsync("/api/household", OverThere)).MustBe(200);

        var slip = (await household.Keeper.PostAsync("/api/draw-slips", reported)).MustBe(200).Json;
        var page = (await household.Keeper.PostAsync("/api/draw-slips", reported, ("Accept", "text/html")))
            .MustBe(200).Text;

        // 31 CFR 1010.311 and 31 U.S.C. 5324.
        var caution = Assert.Single(slip.GetProperty("cautions").EnumerateArray());
        Assert.Equal(("draw-reported", "10001.00", "10000.00", "31 CFR 1010.311; 31 U.S.C. 5324"),
            (caution.GetProperty("code").GetString(), caution.GetProperty("amount").GetRawText(),
                caution.GetProperty("limit").GetRawText(), caution.GetProperty("source").GetString()));
        Assert.Contains("unlawful", caution.GetProperty("detail").GetString());
        Assert.Contains("unlawful", page, StringComparison.Ordinal);

        // Notes that are in hand are not drawn.
        Assert.False((await household.Keeper.PostAsync("/api/draw-slips",
            """{"amounts": {"boat-insurance": 10000.00, "ferry-fares": 1.00}, "inHand": {"1": 1}, "denominations": [100, 1]}""")).MustBe(200).Json.TryGetProperty("cautions", out _));
        (await household.Keeper.PutAsync("/api/household",
            """{"name": "Harbour Row", "currency": "EUR", "timeZone": "Europe/Dublin", "country": "IE"}"""))
            .MustBe(200);
        Assert.False((await household.Keeper.PostAsync("/api/draw-slips",
            """{"amounts": {"boat-insurance": 10001.00}, "denominations": [100, 1]}""")).MustBe(200).Json
            .TryGetProperty("cautions", out _));
    }

    private static async Task<JsonElement[]> ReadAsync(Household household, params string[] addresses) =>
        await Task.WhenAll(addresses.Select(
            async address => (await household.Keeper.GetAsync(address)).MustBe(200).Json));
}
