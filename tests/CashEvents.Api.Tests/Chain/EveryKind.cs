using System.Collections.Immutable;
using CsCheck;
using Xunit;

namespace CashEvents.Api.Tests.Chain;

/// <summary>A book with every kind of line, most of them with all their fields.</summary>
internal static class EveryKind
{
    public static async Task<Household> WrittenAsync(SharedServer shared)
    {
        var household = await shared.HarbourRowAsync();
        var count = await MoveAndCountAsync(household);
        await HandOverAsync(household);
        await ChangeWhatThereIsAsync(household);
        await PlanAsync(household, count);
        await ReadBankStatementAsync(household);
        await WriteTheRestAsync(household);
        return household;
    }

    private static async Task<long> MoveAndCountAsync(Household household)
    {
        var keeper = household.Keeper;
        await household.FillAsync("ferry-fares", "60.00");
        await household.FillAsync("market-days", "40.00", holding: "bank");
        await household.SpendAsync("ferry-fares", "8.40");
        (await keeper.PostAsync("/api/refunds", """{"compartment": "ferry-fares", "amount": 1.00}""")).MustBe(201);
        (await keeper.PostAsync("/api/transfers", """{"from": "ferry-fares", "to": "bakery-van", "amount": 5.00}"""))
            .MustBe(201);
        (await keeper.PostAsync("/api/sweeps", """{"from": ["bakery-van"], "to": "rainy-day"}""")).MustBe(201);
        var count = (await keeper.PostAsync("/api/counts",
            """{"compartment": "ferry-fares", "denominations": {"20": 2, "0.50": 1}, "witness": "partner"}"""))
            .MustBe(201).Json.GetProperty("countId").GetInt64();
        (await keeper.PostAsync($"/api/counts/{count}/settlement", """{"reason": "Gone"}""")).MustBe(201);
        (await keeper.PostAsync("/api/exchanges",
            """{"compartment": "rainy-day", "with": "ferry-fares", "gives": {"0.20": 2, "0.10": 1}, "takes": {"0.50": 1}}""")).MustBe(201);
        (await keeper.PutAsync("/api/compartments/ferry-fares/notes",
            """{"prefer": [10, 5], "avoid": [50], "atLeast": {"5": 4}}""")).MustBe(200);
        var round = (await keeper.PostAsync("/api/count-rounds", """{"wallet": "desk-drawer", "blind": true}"""))
            .MustBe(201).Json.GetProperty("id").GetInt64();
        (await keeper.PostAsync($"/api/count-rounds/{round}/counts",
            """{"compartment": "rainy-day", "denominations": {"2": 2}, "countedAt": "2026-11-15T12:00:00Z"}"""))
            .MustBe(201);
        (await (await household.IssueAsync("partner", "member"))
            .PostAsync($"/api/count-rounds/{round}/confirmations", "{}")).MustBe(201);
        (await keeper.PostAsync($"/api/count-rounds/{round}/close", """{"reason": "The yard has the rest"}"""))
            .MustBe(201);
        return count;
    }

    private static async Task HandOverAsync(Household household)
    {
        var keeper = household.Keeper;
        (await keeper.PutAsync("/api/places/kitchen-safe",
            """{"label": "Kitchen safe", "wallets": ["oilskin-wallet"]}""")).MustBe(200);
        (await keeper.PutAsync("/api/places/boat-locker", """{"label": "Boat locker", "wallets": []}""")).MustBe(200);
        (await keeper.DeleteAsync("/api/places/boat-locker")).MustBe(204);
        (await keeper.PutAsync("/api/caution-limits", """{"cashAtHome": 500.00}""")).MustBe(200);
        var handover = (await keeper.PostAsync("/api/handovers",
            """{"compartment": "rainy-day", "amount": 2.00, "carrier": "partner"}""")).MustBe(201).Json
            .GetProperty("id");
        (await keeper.PostAsync("/api/transfers",
            """{"from": "rainy-day", "to": "ferry-fares", "amount": 0.50, "carried": true}""")).MustBe(201);
        (await keeper.PostAsync($"/api/handovers/{handover}/return", """{"denominations": {"2": 2}}""")).MustBe(201);
    }

    private static async Task ChangeWhatThereIsAsync(Household household)
    {
        var keeper = household.Keeper;
        (await keeper.PostAsync("/api/keys",
            """{"name": "payday script", "role": "script", "movements": ["fill", "transfer"], "expires": "2027-07-01"}""")).MustBe(201);
        (await keeper.DeleteAsync("/api/keys/payday%20script")).MustBe(204);
        (await keeper.PatchAsync("/api/compartments/bakery-van", """{"label": "Baker"}""")).MustBe(200);
        (await keeper.PatchAsync("/api/compartments/bakery-van", """{"wallet": "desk-drawer"}""")).MustBe(200);
        (await keeper.PatchAsync("/api/compartments/bakery-van", """{"closed": true}""")).MustBe(200);
        (await keeper.PatchAsync("/api/compartments/bakery-van", """{"closed": false}""")).MustBe(200);
        (await keeper.PostAsync("/api/wallets", """{"label": "Sea chest"}""")).MustBe(201);
        (await keeper.PatchAsync("/api/wallets/sea-chest", """{"label": "Ditty bag"}""")).MustBe(200);
        (await keeper.PatchAsync("/api/wallets/sea-chest", """{"closed": true}""")).MustBe(200);
        (await keeper.PatchAsync("/api/wallets/sea-chest", """{"closed": false}""")).MustBe(200);
    }

    private static async Task PlanAsync(Household household, long count)
    {
        var keeper = household.Keeper;
        (await keeper.PutAsync("/api/income-sources/harbour-office",
            """{"label": "Harbour office", "rule": "FREQ=MONTHLY;BYMONTHDAY=-1", "first": "2026-09-30", "notBankDay": "previous", "amount": 2400.00}""")).MustBe(200);
        (await keeper.PutAsync("/api/income-sources/net-mending",
            """{"label": "Net mending", "rule": "FREQ=WEEKLY", "first": "2026-09-04", "notBankDay": "next"}"""))
            .MustBe(200);
        (await keeper.DeleteAsync("/api/income-sources/net-mending")).MustBe(204);
        (await keeper.PutAsync("/api/standing-payments/nest-egg",
            """{"kind": "automaticSaving", "label": "Nest egg", "rule": "FREQ=MONTHLY", "first": "2026-09-01", "notBankDay": "next", "amount": 150.00}""")).MustBe(200);
        (await keeper.DeleteAsync("/api/standing-payments/nest-egg")).MustBe(204);
        (await keeper.PutAsync("/api/household",
            """{"name": "Harbour Row", "currency": "EUR", "timeZone": "Europe/Dublin", "country": "IE", "smallestNote": 5.00, "largestNote": 50.00}""")).MustBe(200);
        (await keeper.PostAsync("/api/goals",
            """{"compartment": "boat-insurance", "label": "Hull", "amount": 480.00, "due": "2027-04-01", "every": "P1Y", "amounts": {"2029-04-01": 520.00}}""")).MustBe(201);
        await household.FillAsync("boat-insurance", "480.00");
        (await keeper.PostAsync("/api/spends",
            """{"compartment": "boat-insurance", "amount": 480.00, "goal": "hull"}""")).MustBe(201);
        (await keeper.DeleteAsync("/api/goals/hull")).MustBe(204);
        (await keeper.PutAsync("/api/saving-plans/rainy-day", """{"amounts": [1.50, 2.00, 3.00], "seed": -7}"""))
            .MustBe(200);
        (await keeper.PostAsync("/api/saving-plans/rainy-day/steps", "{}")).MustBe(201);
        (await keeper.PostAsync($"/api/counts/{count}/set-aside", """{"denomination": 20.00, "to": "rainy-day"}"""))
            .MustBe(201);
        (await keeper.PutAsync("/api/sinking-funds/boat-insurance", """{"bankPercent": 60, "interestPercent": 2.75}"""))
            .MustBe(200);
        (await keeper.PutAsync("/api/compartments/market-days/fill-rule",
            """{"kind": "share", "share": 12.5, "ceiling": 400.00, "roundTo": 5.00, "rank": 2}""")).MustBe(200);
        (await keeper.PutAsync("/api/compartments/ferry-fares/fill-rule", """{"kind": "fixed", "amount": 40.00}"""))
            .MustBe(200);
        (await keeper.DeleteAsync("/api/compartments/ferry-fares/fill-rule")).MustBe(204);
        (await keeper.PostAsync("/api/fill-runs", """{"payday": "2026-10-30"}""")).MustBe(201);
        (await keeper.PutAsync("/api/automatic-fills", """{"at": "06:30", "from": "2026-12-01", "daysAfter": 2}"""))
            .MustBe(200);
        (await keeper.DeleteAsync("/api/automatic-fills")).MustBe(204);
    }

    private static async Task ReadBankStatementAsync(Household household)
    {
        var keeper = household.Keeper;
        var statement = (await keeper.PostAsync("/api/bank-statements", """{"total": 41.20}""")).MustBe(201).Json
            .GetProperty("statementId");
        (await keeper.PostAsync($"/api/bank-statements/{statement}/settlement",
            """{"compartment": "market-days", "reason": "Interest"}""")).MustBe(201);
    }

    // Kinds that the household comes to by no request of its own on one day: they are written as they are.
    private static async Task WriteTheRestAsync(Household household)
    {
        var day = new DateOnly(2026, 11, 15);
        var fares = new Part("ferry-fares", Holding.Cash);
        var october = Month.Of(new DateOnly(2026, 10, 1));
        var written = await household.Server.Writer.WriteAsync(
            new WriteRequest(household.Id, "keeper", [new EntryRequest(new Writes(
            new Reversed(new Correction(13, new DateOnly(2026, 10, 31)), MovementKind.Spend,
                [new Posting(fares, new Money(840))], day, "Paid by the neighbour"),
            new PlanSet(new DateOnly(2026, 11, 16),
                ImmutableSortedDictionary<string, Money>.Empty.Add("market-days", new Money(4000))
                    .Add("bakery-van", new Money(1250)).Add("ferry-fares", Money.Zero)),
            new MonthClosed(october, [new ClosingFigure(fares, "oilskin-wallet", Money.Zero),
                new ClosingFigure(new Part("rainy-day", Holding.Bank), "desk-drawer", new Money(-1))], "No count"),
            new PaydayLeft(new DateOnly(2026, 11, 13), "The nets pay as they come"),
            new ClockWasAhead(11, 12, day, "The year was set wrong"),
            new MonthReopened(october, "Too early")))]));
        Assert.Null(written.Outcomes.Single().Refusal);
    }

    /// <summary>Writes lines as they are given.</summary>
    private sealed record Writes(params IBookEvent[] Lines) : ICommand
    {
        public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today) => Lines;
    }
}
