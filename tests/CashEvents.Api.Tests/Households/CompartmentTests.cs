using Xunit;

namespace CashEvents.Api.Tests.Households;

public sealed class CompartmentTests(SharedServer shared)
{
    private const string VetVisits = """{"label": "Vet visits", "wallet": "desk-drawer", "purpose": "sinkingFund"}""";

    [Fact]
    public async Task A_compartment_is_taken_into_use()
    {
        var household = await shared.HarbourRowAsync();

        var opened = (await household.Keeper.PostAsync("/api/compartments", VetVisits)).MustBe(201);

        opened.MustSay("""
            {"id": "vet-visits", "label": "Vet visits", "wallet": "desk-drawer", "purpose": "sinkingFund", "closed": false,
             "cash": 0.00, "bank": 0.00, "total": 0.00, "lines": [11], "entryId": 11}
            """);
        Assert.Equal("/api/compartments/vet-visits", opened.Headers["Location"]);
    }

    [Fact]
    public async Task It_is_read_alone_and_in_the_list_with_what_it_holds()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("boat-insurance", "40.00");
        await household.FillAsync("boat-insurance", "200.5", holding: "bank");
        const string boat =
            """{"id": "boat-insurance", "label": "Boat insurance", "wallet": "desk-drawer", "purpose": "sinkingFund", "closed": false, "cash": 40.00, "bank": 200.50, "total": 240.50}""";

        (await household.Keeper.GetAsync("/api/compartments/boat-insurance")).MustBe(200).MustSay(boat);
        var list = (await household.Keeper.GetAsync("/api/compartments")).MustBe(200).Json;

        Assert.Equal(["ferry-fares", "market-days", "bakery-van", "boat-insurance", "rainy-day"],
            list.GetProperty("compartments").EnumerateArray().Select(c => c.GetProperty("id").GetString()));
        Assert.Equal("240.50", list.GetProperty("compartments")[3].GetProperty("total").GetRawText());
        Assert.Equal(12, list.GetProperty("line").GetInt64());
    }

    [Fact]
    public async Task It_is_relabelled_moved_and_closed_in_one_entry_and_keeps_its_id()
    {
        var household = await shared.HarbourRowAsync();

        var changed = (await household.Keeper.PatchAsync("/api/compartments/ferry-fares",
            """{"label": "Ferry and bus fares", "wallet": "desk-drawer", "closed": true}""")).MustBe(200);

        changed.MustHave("""
            {"id": "ferry-fares", "label": "Ferry and bus fares", "wallet": "desk-drawer", "purpose": "spending", "closed": true,
             "cash": 0.00, "bank": 0.00, "total": 0.00, "lines": [11, 12, 13], "entryId": 11}
            """);
        Assert.Equal(["compartmentRelabelled", "compartmentMoved", "compartmentClosed"],
            (await household.LinesAsync("after=10")).Select(l => l.GetProperty("kind").GetString()));
    }

    [Fact]
    public async Task A_change_that_changes_nothing_writes_nothing()
    {
        var household = await shared.HarbourRowAsync();

        var same = await household.WithoutWritingAsync(
            keeper => keeper.PatchAsync("/api/compartments/ferry-fares",
                """{"label": "Ferry fares", "closed": false}"""));

        Assert.Empty(same.MustBe(200).Lines);
    }

    [Fact]
    public async Task One_that_holds_money_can_not_be_closed()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "0.01", holding: "bank");

        var refused = await household.WithoutWritingAsync(
            keeper => keeper.PatchAsync("/api/compartments/ferry-fares", """{"label": "Old fares", "closed": true}"""));

        Assert.Contains("0.01 EUR in the bank", refused.MustBlame(409, "compartment-not-empty", "closed"));
        Assert.Contains("\"Ferry fares\"", (await household.Keeper.GetAsync("/api/compartments/ferry-fares")).Text);
    }

    [Fact]
    public async Task A_closed_one_takes_no_money_until_it_is_reopened()
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PatchAsync("/api/compartments/ferry-fares", """{"closed": true}""")).MustBe(200);

        var refused = await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 1.00}"""));

        refused.MustBlame(409, "compartment-closed", "compartment");
        Assert.DoesNotContain("ferry-fares", (await household.Keeper.GetAsync("/api/balances")).Text);
        Assert.Contains("ferry-fares", (await household.Keeper.GetAsync("/api/compartments")).Text);
        (await household.Keeper.PatchAsync("/api/compartments/ferry-fares", """{"closed": false}""")).MustBe(200);
        await household.FillAsync("ferry-fares", "1.00");
    }

    [Fact]
    public async Task A_misspelt_one_is_not_found_and_the_right_one_suggested()
    {
        var household = await shared.HarbourRowAsync();

        foreach (var reply in new[]
        {
            await household.Keeper.GetAsync("/api/compartments/fery-fares"),
            await household.Keeper.GetAsync("/api/compartments/fery-fares/tracker"),
            await household.WithoutWritingAsync(
                keeper => keeper.PatchAsync("/api/compartments/fery-fares", """{"closed": true}""")),
        })
        {
            Assert.Equal("ferry-fares",
                reply.MustBeProblem(404, "compartment-unknown").GetProperty("suggestions")[0].GetString());
        }
    }

    [Theory]
    [InlineData(409, "compartment-taken", "label",
        """{"label": "Ferry-fares", "wallet": "desk-drawer", "purpose": "saving"}""")]
    [InlineData(422, "wallet-unknown", "wallet",
        """{"label": "Vet visits", "wallet": "desk-draw", "purpose": "saving"}""")]
    [InlineData(422, "label-without-letters", "label",
        """{"label": "...", "wallet": "desk-drawer", "purpose": "saving"}""")]
    [InlineData(400, "malformed", "purpose", """{"label": "Vet visits", "wallet": "desk-drawer"}""")]
    [InlineData(400, "malformed", "purpose", """{"label": "Vet visits", "wallet": "desk-drawer", "purpose": "fun"}""")]
    [InlineData(400, "malformed", "purpose",
        """{"label": "Vet visits", "wallet": "desk-drawer", "purpose": "Saving"}""")]
    [InlineData(400, "malformed", "purpose",
        """{"label": "Vet visits", "wallet": "desk-drawer", "purpose": "saving, spending"}""")]
    [InlineData(400, "malformed", "purpose",
        """{"label": "Vet visits", "wallet": "desk-drawer", "purpose": " saving"}""")]
    [InlineData(400, "malformed", "purpose", """{"label": "Vet visits", "wallet": "desk-drawer", "purpose": 1}""")]
    [InlineData(400, "malformed", "wallet", """{"label": "Vet visits", "purpose": "saving"}""")]
    public async Task One_that_does_not_fit_is_refused(int status, string code, string field, string body)
    {
        var household = await shared.HarbourRowAsync();

        (await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/compartments", body)))
            .MustBlame(status, code, field);
    }

    [Theory]
    [InlineData(400, "malformed", "$", """{}""")]
    [InlineData(422, "wallet-unknown", "wallet", """{"wallet": "lighthouse"}""")]
    [InlineData(422, "words-missing", "label", """{"label": " "}""")]
    [InlineData(400, "malformed", "closed", """{"closed": "yes"}""")]
    [InlineData(400, "malformed", "purpose", """{"purpose": "saving"}""")]
    public async Task A_change_that_does_not_fit_is_refused(int status, string code, string field, string body)
    {
        var household = await shared.HarbourRowAsync();

        (await household.WithoutWritingAsync(keeper => keeper.PatchAsync("/api/compartments/ferry-fares", body)))
            .MustBlame(status, code, field);
    }
}
