using Xunit;

namespace CashEvents.Api.Tests.Movements;

public sealed class SweepTests(SharedServer shared)
{
    [Theory]
    [InlineData("""{"from": ["market-days", "boat-insurance"], "to": "rainy-day"}""", "20.00", "30.00")]
    [InlineData("""{"from": {"compartments": ["market-days", "boat-insurance"]}, "to": "rainy-day"}""", "20.00",
        "30.00")]
    [InlineData("""{"from": {"wallet": "oilskin-wallet"}, "to": {"compartment": "rainy-day"}}""", "10.00", "20.00")]
    [InlineData("""{"from": {"purpose": "sinkingFund"}, "to": {"compartment": "rainy-day", "holding": "cash"}}""",
        "30.00")]
    [InlineData("""{"from": {"wallet": "desk-drawer"}, "to": "rainy-day"}""", "30.00")]
    [InlineData("""{"from": {"wallet": "oilskin-wallet"}, "to": "rainy-day", "leave": 12.50}""", "7.50")]
    public async Task Leftovers_move_into_one_compartment_line_by_line_in_one_entry(string body,
        params string[] amounts)
    {
        var household = await LeftoversAsync();
        var line = await household.LineAsync();

        var swept = (await household.Keeper.PostAsync("/api/sweeps", body)).MustBe(201);

        var lines = await household.LinesAsync($"after={line}");
        Assert.Equal(amounts, lines.Select(l => l.GetProperty("amount").GetRawText()));
        Assert.All(lines, l => Assert.Equal(("sweep", line + 1),
            (l.GetProperty("kind").GetString(), l.GetProperty("entryId").GetInt64())));
        Assert.Equal(lines.Select(l => l.GetProperty("line").GetInt64()), swept.Lines);
        Assert.Equal((5m + amounts.Sum(decimal.Parse)).ToString("0.00"), await household.HoldsAsync("rainy-day"));
        Assert.Equal("65.00", (await household.Keeper.GetAsync("/api/balances")).Json.GetProperty("household")
            .GetProperty("cash").GetRawText());
    }

    [Fact]
    public async Task Each_place_it_touched_is_told_once_as_it_was_left()
    {
        var household = await LeftoversAsync();

        (await household.Keeper.PostAsync("/api/sweeps",
            """{"from": {"purpose": "spending"}, "to": "rainy-day", "leave": 5.00}""")).MustBe(201).MustSay("""
            {"lines": [15, 16], "entryId": 15, "balances": [
              {"compartment": "ferry-fares", "holding": "cash", "balance": 5.00}, {"compartment": "rainy-day", "holding": "cash", "balance": 25.00},
              {"compartment": "market-days", "holding": "cash", "balance": 5.00}],
             "swept": [{"compartment": "ferry-fares", "holding": "cash", "taken": 5.00, "left": 5.00}, {"compartment": "market-days", "holding": "cash", "taken": 15.00, "left": 5.00},
               {"compartment": "bakery-van", "holding": "cash", "taken": 0.00, "left": 0.00}]}
            """);
    }

    [Fact]
    public async Task What_was_brought_forward_is_swept_and_the_fresh_notes_are_told_to_be_left()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "10.00", on: "2026-11-01");
        await household.FillAsync("market-days", "4.00", on: "2026-11-01");
        await household.FillAsync("ferry-fares", "60.00", on: "2026-11-10");
        await household.FillAsync("market-days", "30.00", on: "2026-11-10");
        await household.SpendAsync("ferry-fares", "2.60", on: "2026-11-12");
        await household.SpendAsync("market-days", "5.00", on: "2026-11-12");
        const string old = """{"from": {"purpose": "spending"}, "to": "rainy-day", "take": "broughtForward"}""";

        var swept = (await household.Keeper.PostAsync("/api/sweeps", old, ("Idempotency-Key", "leftovers")))
            .MustBe(201);

        Assert.Single(swept.Lines);
        Assert.Equal(
            """[{"compartment":"ferry-fares","holding":"cash","taken":7.40,"left":60.00},{"compartment":"market-days","holding":"cash","taken":0.00,"left":29.00},{"compartment":"bakery-van","holding":"cash","taken":0.00,"left":0.00}]""", swept.Json.GetProperty("swept").GetRawText());
        Assert.Equal(swept.Text, (await household.Keeper.PostAsync("/api/sweeps", old,
            ("Idempotency-Key", "leftovers"))).MustBe(201).Text);
        var again = (await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/sweeps", old)))
            .MustBe(200).Json;
        Assert.Equal(["60.00", "29.00", "0.00"],
            again.GetProperty("swept").EnumerateArray().Select(s => s.GetProperty("left").GetRawText()));

        // A batch, a rehearsal and a server that loads the book know it too.
        await household.FillAsync("ferry-fares", "1.00", on: "2026-11-14");
        const string since =
            """{"kind": "sweep", "from": ["ferry-fares"], "to": "rainy-day", "take": "broughtForward", "freshFrom": "2026-11-14"}""";
        var supposed = (await household.Keeper.PostAsync("/api/rehearsals",
            $$"""{"suppose": [{"record": {{since}}}]}""")).MustBe(200).Text;
        Assert.Contains("67.40", supposed, StringComparison.Ordinal);
        (await household.Keeper.PostAsync("/api/batches", $$"""{"movements": [{{since}}]}""")).MustBe(200);
        Assert.Equal(("1.00", "67.40"),
            (await household.HoldsAsync("ferry-fares"), await household.HoldsAsync("rainy-day")));
        var (whole, replayed) = (await household.Server.Books.ReadWholeAsync(household.Id),
            await household.Server.Books.ReplayAsync(household.Id));
        Assert.Equal(3, whole.CameIn.Count);
        Assert.All(replayed.CameIn,
            part => Assert.Equal((Days(part.Value.Filled), Days(part.Value.Moved)),
                (Days(whole.CameIn[part.Key].Filled), Days(whole.CameIn[part.Key].Moved))));

        static string Days(DailyBalances balances) => string.Join(' ', balances.Days);
    }

    [Fact]
    public async Task Bank_leftovers_stay_in_the_bank_unless_another_holding_is_named()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("market-days", "7.00", holding: "bank");
        await household.FillAsync("ferry-fares", "3.00");

        (await household.Keeper.PostAsync("/api/sweeps",
            """{"from": {"wallet": "oilskin-wallet"}, "holding": "bank", "to": "rainy-day"}""")).MustBe(201);

        Assert.Equal(("0.00", "7.00", "3.00"),
            (await household.HoldsAsync("rainy-day"), await household.HoldsAsync("rainy-day", "bank"),
                await household.HoldsAsync("ferry-fares")));
    }

    [Theory]
    [InlineData("""{"from": {"purpose": "spending"}, "to": "rainy-day"}""")]
    [InlineData("""{"from": ["ferry-fares"], "to": "rainy-day", "leave": 0}""")]
    public async Task With_nothing_to_sweep_nothing_is_written_and_nothing_is_wrong(string body)
    {
        var household = await shared.HarbourRowAsync();

        var swept = (await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/sweeps", body))).MustBe(200);

        Assert.Empty(swept.Lines);
        Assert.Contains("Nothing to sweep", swept.Json.GetProperty("note").GetString());
        Assert.False(swept.Json.TryGetProperty("entryId", out _));
    }

    [Fact]
    public async Task A_sweep_of_an_earlier_day_takes_no_more_than_later_days_can_spare()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "10.00", on: "2026-11-01");
        await household.SpendAsync("ferry-fares", "8.00", on: "2026-11-10");

        (await household.Keeper.PostAsync("/api/sweeps",
            """{"from": ["ferry-fares"], "to": "rainy-day", "occurredOn": "2026-11-05"}""")).MustBe(201);

        Assert.Equal(("0.00", "2.00"),
            (await household.HoldsAsync("ferry-fares"), await household.HoldsAsync("rainy-day")));
    }

    [Theory]
    [InlineData(422, "sweep-into-itself", "from[1]", """{"from": ["ferry-fares", "rainy-day"], "to": "rainy-day"}""")]
    [InlineData(422, "compartment-twice", "from[1]", """{"from": ["ferry-fares", "ferry-fares"], "to": "rainy-day"}""")]
    [InlineData(422, "compartment-unknown", "from[0]", """{"from": ["fery-fares"], "to": "rainy-day"}""")]
    [InlineData(422, "compartment-unknown", "to.compartment", """{"from": ["ferry-fares"], "to": "rainy-days"}""")]
    [InlineData(422, "wallet-unknown", "from.wallet", """{"from": {"wallet": "oilskin"}, "to": "rainy-day"}""")]
    [InlineData(422, "too-many-decimals", "leave",
        """{"from": {"purpose": "spending"}, "to": "rainy-day", "leave": 1.005}""")]
    [InlineData(400, "malformed", "leave", """{"from": {"purpose": "spending"}, "to": "rainy-day", "leave": -1.00}""")]
    [InlineData(400, "malformed", "from",
        """{"from": {"purpose": "spending", "wallet": "oilskin-wallet"}, "to": "rainy-day"}""")]
    [InlineData(400, "malformed", "from", """{"from": {}, "to": "rainy-day"}""")]
    [InlineData(400, "malformed", "from", """{"from": [], "to": "rainy-day"}""")]
    [InlineData(400, "malformed", "from", """{"from": [null], "to": "rainy-day"}""")]
    [InlineData(400, "malformed", "from", """{"to": "rainy-day"}""")]
    [InlineData(400, "malformed", "from", """{"from": "ferry-fares", "to": "rainy-day"}""")]
    [InlineData(400, "malformed", "from.purpose", """{"from": {"purpose": "fun"}, "to": "rainy-day"}""")]
    [InlineData(400, "malformed", "from[0]", """{"from": [7], "to": "rainy-day"}""")]
    [InlineData(400, "malformed", "to", """{"from": {"purpose": "spending"}}""")]
    [InlineData(400, "malformed", "take", """{"from": {"purpose": "spending"}, "to": "rainy-day", "take": "some"}""")]
    [InlineData(422, "fresh-from-not-for-all", "freshFrom",
        """{"from": {"purpose": "spending"}, "to": "rainy-day", "freshFrom": "2026-11-01"}""")]
    [InlineData(422, "fresh-from-after-sweep", "freshFrom",
        """{"from": {"purpose": "spending"}, "to": "rainy-day", "take": "broughtForward", "freshFrom": "2026-11-16"}""")]
    public async Task One_that_does_not_fit_is_refused(int status, string code, string field, string body)
    {
        var household = await LeftoversAsync();

        (await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/sweeps", body)))
            .MustBlame(status, code, field);
    }

    private async Task<Household> LeftoversAsync()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "10.00");
        await household.FillAsync("market-days", "20.00");
        await household.FillAsync("boat-insurance", "30.00");
        await household.FillAsync("rainy-day", "5.00");
        return household;
    }
}
