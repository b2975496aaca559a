using Xunit;

namespace CashEvents.Api.Tests.Movements;

public sealed class TransferTests(SharedServer shared)
{
    [Fact]
    public async Task Cash_taken_to_the_bank_changes_its_holding_and_no_total()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("boat-insurance", "120.00");

        var moved = (await household.Keeper.PostAsync("/api/transfers", """
            {"from": {"compartment": "boat-insurance", "holding": "cash"}, "to": {"compartment": "boat-insurance", "holding": "bank"}, "amount": 80.00, "description": "Paid in at the counter"}
            """)).MustBe(201);

        moved.MustSay("""
            {"lines": [12], "entryId": 12, "balances": [{"compartment": "boat-insurance", "holding": "cash", "balance": 40.00}, {"compartment": "boat-insurance", "holding": "bank", "balance": 80.00}]}
            """);
        (await household.Keeper.GetAsync("/api/lines/12")).MustHave($$"""
            {"line": 12, "entryId": 12, "kind": "transfer", "recordedAt": "2026-11-15T12:00:00+00:00", "by": "keeper", "hash": "{{await household.HashAsync(12)}}", "occurredOn": "2026-11-15",
             "from": {"compartment": "boat-insurance", "holding": "cash"}, "to": {"compartment": "boat-insurance", "holding": "bank"}, "amount": 80.00, "description": "Paid in at the counter"}
            """);
        Assert.Equal("120.00", (await household.Keeper.GetAsync("/api/balances")).Json.GetProperty("household")
            .GetProperty("total").GetRawText());
    }

    [Fact]
    public async Task A_place_may_be_written_as_the_compartments_id_alone()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("market-days", "20.00");

        (await household.Keeper.PostAsync("/api/transfers",
            """{"from": "market-days", "to": {"compartment": "ferry-fares"}, "amount": 5.00}""")).MustBe(201);

        Assert.Equal(("15.00", "5.00"),
            (await household.HoldsAsync("market-days"), await household.HoldsAsync("ferry-fares")));
    }

    [Theory]
    [InlineData(422, "transfer-to-itself", "to", """{"from": "market-days", "to": "market-days", "amount": 1.00}""")]
    [InlineData(422, "compartment-unknown", "from.compartment",
        """{"from": "market-day", "to": "ferry-fares", "amount": 1.00}""")]
    [InlineData(422, "compartment-unknown", "to.compartment",
        """{"from": "market-days", "to": "ferry-fare", "amount": 1.00}""")]
    [InlineData(409, "not-enough", "amount", """{"from": "market-days", "to": "ferry-fares", "amount": 1.00}""")]
    [InlineData(400, "malformed", "to", """{"from": "market-days", "amount": 1.00}""")]
    [InlineData(400, "malformed", "from", """{"from": null, "to": "market-days", "amount": 1.00}""")]
    [InlineData(400, "malformed", "from", """{"from": {"holding": "cash"}, "to": "market-days", "amount": 1.00}""")]
    [InlineData(400, "malformed", "from", """{"from": "", "to": "market-days", "amount": 1.00}""")]
    [InlineData(400, "malformed", "from", """{"from": 7, "to": "market-days", "amount": 1.00}""")]
    [InlineData(400, "malformed", "from.holding",
        """{"from": {"compartment": "market-days", "holding": "pocket"}, "to": "ferry-fares", "amount": 1.00}""")]
    [InlineData(400, "malformed", "amount", """{"from": "market-days", "to": "ferry-fares", "amount": 0}""")]
    public async Task One_that_does_not_fit_is_refused(int status, string code, string field, string body)
    {
        var household = await shared.HarbourRowAsync();

        (await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/transfers", body)))
            .MustBlame(status, code, field);
    }

    [Fact]
    public async Task A_misspelt_field_of_a_place_is_answered_with_the_one_that_was_meant()
    {
        var household = await shared.HarbourRowAsync();

        var refused = await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/transfers",
                """{"from": {"compartmnet": "market-days"}, "to": "ferry-fares", "amount": 1.00}"""));

        Assert.Equal("There is no field `compartmnet` here. Did you mean `compartment`?",
            refused.MustBlame(400, "malformed", "from.compartmnet"));
    }
}
