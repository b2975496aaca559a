using Xunit;

namespace CashEvents.Api.Tests.Movements;

public sealed class RefundTests(SharedServer shared)
{
    [Fact]
    public async Task A_refund_raises_what_a_compartment_holds()
    {
        var household = await shared.HarbourRowAsync();

        var refunded = (await household.Keeper.PostAsync("/api/refunds",
            """{"compartment": "market-days", "holding": "bank", "amount": 4.80, "description": "Cracked jar taken back"}""")).MustBe(201);

        refunded.MustSay(
            """{"lines": [11], "entryId": 11, "balances": [{"compartment": "market-days", "holding": "bank", "balance": 4.80}]}""");
        Assert.Equal("refund", (await household.Keeper.GetAsync("/api/lines/11")).Json.GetProperty("kind").GetString());
    }

    [Theory]
    [InlineData(422, "compartment-unknown", "compartment", """{"compartment": "lighthouse", "amount": 1.00}""")]
    [InlineData(422, "after-today", "occurredOn",
        """{"compartment": "market-days", "amount": 1.00, "occurredOn": "2026-12-01"}""")]
    [InlineData(400, "malformed", "amount", """{"compartment": "market-days", "amount": -4.80}""")]
    [InlineData(400, "malformed", "restFrom",
        """{"compartment": "market-days", "amount": 4.80, "restFrom": "ferry-fares"}""")]
    public async Task One_that_does_not_fit_is_refused(int status, string code, string field, string body)
    {
        var household = await shared.HarbourRowAsync();

        (await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/refunds", body)))
            .MustBlame(status, code, field);
    }
}
