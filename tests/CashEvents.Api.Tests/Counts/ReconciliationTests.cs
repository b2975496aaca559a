using Xunit;

namespace CashEvents.Api.Tests.Counts;

public sealed class ReconciliationTests(SharedServer shared)
{
    [Fact]
    public async Task Balances_stand_beside_what_was_counted_and_stated_wallet_by_wallet()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "64.00");
        await household.FillAsync("market-days", "20.00");
        await household.FillAsync("boat-insurance", "200.00", holding: "bank");
        (await household.Keeper.PostAsync("/api/counts",
            """{"compartment": "ferry-fares", "total": 63.00, "occurredOn": "2026-11-03"}""")).MustBe(201);
        (await household.Keeper.PostAsync("/api/counts",
            """{"compartment": "boat-insurance", "holding": "bank", "total": 200.00, "occurredOn": "2026-11-10", "description": "Statement 11"}""")).MustBe(201);
        await household.SpendAsync("ferry-fares", "8.40", on: "2026-11-05");

        (await household.Keeper.GetAsync("/api/reconciliation")).MustBe(200).MustSay("""
            {"currency": "EUR",
             "wallets": [
               {"wallet": "oilskin-wallet", "label": "Oilskin wallet", "sums": {
                 "cash": {"counted": 63.00, "movedSince": -8.40, "there": 54.60, "notCounted": 20.00, "balance": 75.60, "difference": -1.00, "oldestCount": "2026-11-03"},
                 "bank": {"counted": 0.00, "movedSince": 0.00, "there": 0.00, "notCounted": 0.00, "balance": 0.00, "difference": 0.00},
                 "total": {"counted": 63.00, "movedSince": -8.40, "there": 54.60, "notCounted": 20.00, "balance": 75.60, "difference": -1.00, "oldestCount": "2026-11-03"}}},
               {"wallet": "desk-drawer", "label": "Desk drawer", "sums": {
                 "cash": {"counted": 0.00, "movedSince": 0.00, "there": 0.00, "notCounted": 0.00, "balance": 0.00, "difference": 0.00},
                 "bank": {"counted": 200.00, "movedSince": 0.00, "there": 200.00, "notCounted": 0.00, "balance": 200.00, "difference": 0.00, "oldestCount": "2026-11-10"},
                 "total": {"counted": 200.00, "movedSince": 0.00, "there": 200.00, "notCounted": 0.00, "balance": 200.00, "difference": 0.00, "oldestCount": "2026-11-10"}}}],
             "household": {
               "cash": {"counted": 63.00, "movedSince": -8.40, "there": 54.60, "notCounted": 20.00, "balance": 75.60, "difference": -1.00, "oldestCount": "2026-11-03"},
               "bank": {"counted": 200.00, "movedSince": 0.00, "there": 200.00, "notCounted": 0.00, "balance": 200.00, "difference": 0.00, "oldestCount": "2026-11-10"},
               "total": {"counted": 263.00, "movedSince": -8.40, "there": 254.60, "notCounted": 20.00, "balance": 275.60, "difference": -1.00, "oldestCount": "2026-11-03"}},
             "neverCounted": [{"compartment": "market-days", "holding": "cash", "balance": 20.00}],
             "places": [
               {"compartment": "ferry-fares", "label": "Ferry fares", "wallet": "oilskin-wallet", "holding": "cash", "balance": 55.60, "counted": 63.00, "countId": 14, "countedOn": "2026-11-03", "movedSince": -8.40, "there": 54.60, "difference": -1.00},
               {"compartment": "market-days", "label": "Market days", "wallet": "oilskin-wallet", "holding": "cash", "balance": 20.00},
               {"compartment": "boat-insurance", "label": "Boat insurance", "wallet": "desk-drawer", "holding": "bank", "balance": 200.00, "counted": 200.00, "countId": 15, "countedOn": "2026-11-10", "movedSince": 0.00, "there": 200.00, "difference": 0.00}],
             "bookLine": 16}
            """);
    }

    [Fact]
    public async Task A_bank_part_that_disagrees_with_its_statement_is_settled_as_a_count_is()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("boat-insurance", "200.00", holding: "bank");
        var stated = (await household.Keeper.PostAsync("/api/counts",
            """{"compartment": "boat-insurance", "holding": "bank", "total": 198.50}""")).MustBe(201).Json;
        Assert.Equal("-1.50", (await BankAsync()).GetProperty("difference").GetRawText());

        (await household.Keeper.PostAsync($"/api/counts/{stated.GetProperty("countId")}/settlement",
            """{"reason": "Account fee"}""")).MustBe(201);

        Assert.Equal(("0.00", "198.50"),
            ((await BankAsync()).GetProperty("difference").GetRawText(),
                (await BankAsync()).GetProperty("balance").GetRawText()));

        async Task<System.Text.Json.JsonElement> BankAsync() =>
            (await household.Keeper.GetAsync("/api/reconciliation")).MustBe(200).Json.GetProperty("household")
                .GetProperty("bank");
    }

    [Fact]
    public async Task A_count_of_a_round_that_was_written_late_reconciles_with_what_moved_after_it()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "64.00");
        var round = (await household.Keeper.PostAsync("/api/count-rounds", """{"wallet": "oilskin-wallet"}"""))
            .MustBe(201).Json.GetProperty("id").GetInt64();
        await household.SpendAsync("ferry-fares", "8.40", on: "2026-11-15");
        (await household.Keeper.PostAsync($"/api/count-rounds/{round}/counts",
            $$"""{"compartment": "ferry-fares", "total": 64.00, "atLine": {{round}}}""")).MustBe(201);

        var place = (await household.Keeper.GetAsync("/api/reconciliation")).MustBe(200).Json.GetProperty("places")[0];

        Assert.Equal(("-8.40", "55.60", "0.00"),
            (place.GetProperty("movedSince").GetRawText(), place.GetProperty("there").GetRawText(),
                place.GetProperty("difference").GetRawText()));
    }

    [Fact]
    public async Task It_comes_as_a_sheet_and_takes_no_parameters()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "64.00");
        await household.FillAsync("rainy-day", "5.00");
        (await household.Keeper.PostAsync("/api/counts", """{"compartment": "rainy-day", "total": 4.50}"""))
            .MustBe(201);

        Assert.Equal(
            "wallet,compartment,holding,counted,countedOn,movedSince,there,balance,difference\r\noilskin-wallet,ferry-fares,cash,,,,,64.00,\r\ndesk-drawer,rainy-day,cash,4.50,2026-11-15,0.00,4.50,5.00,-0.50\r\n",
            (await household.Keeper.GetAsync("/api/reconciliation", ("Accept", "text/csv"))).MustBe(200).Text);
        (await household.Keeper.GetAsync("/api/reconciliation?on=2026-11-01")).MustBlame(400, "malformed", "on");
    }

    [Fact]
    public async Task An_empty_book_has_nothing_to_reconcile()
    {
        var household = await Household.OpenEmptyAsync(await shared.ServerAsync());

        var answer = (await household.Keeper.GetAsync("/api/reconciliation")).MustBe(200).Json;

        Assert.Empty(answer.GetProperty("places").EnumerateArray());
        Assert.False(answer.GetProperty("household").GetProperty("total").TryGetProperty("oldestCount", out _));
    }
}
