using Xunit;

namespace CashEvents.Api.Tests.Months;

public sealed class BalancesTests(SharedServer shared)
{
    [Fact]
    public async Task They_tell_compartments_wallets_and_household_with_the_currencys_decimals()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "64");
        await household.FillAsync("market-days", "0.1");
        await household.FillAsync("boat-insurance", "40");
        await household.FillAsync("boat-insurance", "200", holding: "bank");
        await household.SpendAsync("ferry-fares", "8.4");

        (await household.Keeper.GetAsync("/api/balances")).MustBe(200).MustSay("""
            {"line": 15, "currency": "EUR",
             "compartments": [
               {"compartment": "ferry-fares", "label": "Ferry fares", "wallet": "oilskin-wallet", "purpose": "spending", "cash": 55.60, "bank": 0.00, "total": 55.60},
               {"compartment": "market-days", "label": "Market days", "wallet": "oilskin-wallet", "purpose": "spending", "cash": 0.10, "bank": 0.00, "total": 0.10},
               {"compartment": "bakery-van", "label": "Bakery van", "wallet": "oilskin-wallet", "purpose": "spending", "cash": 0.00, "bank": 0.00, "total": 0.00},
               {"compartment": "boat-insurance", "label": "Boat insurance", "wallet": "desk-drawer", "purpose": "sinkingFund", "cash": 40.00, "bank": 200.00, "total": 240.00},
               {"compartment": "rainy-day", "label": "Rainy day", "wallet": "desk-drawer", "purpose": "saving", "cash": 0.00, "bank": 0.00, "total": 0.00}],
             "wallets": [
               {"wallet": "oilskin-wallet", "label": "Oilskin wallet", "cash": 55.70, "bank": 0.00, "total": 55.70},
               {"wallet": "desk-drawer", "label": "Desk drawer", "cash": 40.00, "bank": 200.00, "total": 240.00}],
             "household": {"name": "Harbour Row", "cash": 95.70, "bank": 200.00, "total": 295.70}}
            """);
    }

    [Fact]
    public async Task A_compartment_moved_to_another_wallet_takes_its_money_along()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "64.00");

        (await household.Keeper.PatchAsync("/api/compartments/ferry-fares", """{"wallet": "desk-drawer"}"""))
            .MustBe(200);

        var wallets = (await household.Keeper.GetAsync("/api/balances")).Json.GetProperty("wallets");
        Assert.Equal(("0.00", "64.00"),
            (wallets[0].GetProperty("cash").GetRawText(), wallets[1].GetProperty("cash").GetRawText()));
    }

    [Fact]
    public async Task A_new_book_has_nothing_to_tell_but_its_line()
    {
        var household = await Household.OpenEmptyAsync(await shared.ServerAsync());

        (await household.Keeper.GetAsync("/api/balances")).MustBe(200).MustHave("""
            {"line": 2, "compartments": [], "wallets": [], "household": {"name": "Harbour Row", "cash": 0, "bank": 0, "total": 0}}
            """);
    }
}
