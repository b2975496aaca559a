using Xunit;

namespace CashEvents.Api.Tests.Paydays;

public sealed class StandingPaymentTests(SharedServer shared)
{
    private const string Rent =
        """{"kind": "fixedBill", "label": "Quay rent", "rule": "FREQ=MONTHLY;BYMONTHDAY=3", "first": "2026-09-03", "notBankDay": "next", "amount": 640}""";

    [Fact]
    public async Task Bills_and_savings_are_set_listed_replaced_and_ended()
    {
        var household = await shared.HarbourRowAsync();

        (await household.Keeper.PutAsync("/api/standing-payments/quay-rent", Rent)).MustBe(200)
            .MustSay("""{"lines": [11], "entryId": 11, "payment": "quay-rent"}""");
        (await household.Keeper.PutAsync("/api/standing-payments/nest-egg",
            Rent.Replace("fixedBill", "automaticSaving", StringComparison.Ordinal)
                .Replace("640", "150.00", StringComparison.Ordinal))).MustBe(200);
        (await household.Keeper.PutAsync("/api/standing-payments/quay-rent",
            Rent.Replace("640", "655", StringComparison.Ordinal))).MustBe(200);
        (await household.Keeper.GetAsync("/api/standing-payments")).MustBe(200).MustHave("""
            {"standingPayments": [
               {"payment": "nest-egg", "kind": "automaticSaving", "label": "Quay rent", "rule": "FREQ=MONTHLY;BYMONTHDAY=3", "first": "2026-09-03", "notBankDay": "next", "amount": 150.00},
               {"payment": "quay-rent", "kind": "fixedBill", "label": "Quay rent", "rule": "FREQ=MONTHLY;BYMONTHDAY=3", "first": "2026-09-03", "notBankDay": "next", "amount": 655.00}],
             "bookLine": 13}
            """);
        (await household.Keeper.DeleteAsync("/api/standing-payments/quay-rent")).MustBe(204);
        (await household.WithoutWritingAsync(keeper => keeper.DeleteAsync("/api/standing-payments/quay-rent")))
            .MustBeProblem(404, "standing-payment-unknown");

        var lines = await household.LinesAsync("after=10");
        Assert.Equal(["standingPaymentSet", "standingPaymentSet", "standingPaymentSet", "standingPaymentEnded"],
            lines.Select(l => l.GetProperty("kind").GetString()));
        Assert.Equal(("nest-egg", "automaticSaving", "150.00"),
            (lines[1].GetProperty("payment").GetString(), lines[1].GetProperty("paymentKind").GetString(),
                lines[1].GetProperty("amount").GetRawText()));
        Assert.Equal("quay-rent", lines[3].GetProperty("payment").GetString());
    }

    [Fact]
    public async Task What_is_set_already_is_not_written_again()
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PutAsync("/api/standing-payments/quay-rent", Rent)).MustBe(200);

        Assert.Contains("Nothing was written",
            (await household.WithoutWritingAsync(keeper => keeper.PutAsync("/api/standing-payments/quay-rent", Rent)))
                .MustBe(200).Json.GetProperty("note").GetString());
    }

    [Theory]
    [InlineData("quay-rent", "\"kind\": \"fixedBill\", ", "", 400, "malformed", "kind")]
    [InlineData("quay-rent", "fixedBill", "rent", 400, "malformed", "kind")]
    [InlineData("quay-rent", ", \"amount\": 640", "", 400, "malformed", "amount")]
    [InlineData("quay-rent", "640", "-640", 422, "amount-not-positive", "amount")]
    [InlineData("quay-rent", "2026-09-03", "2026-09-04", 422, "first-not-in-rule", "first")]
    [InlineData("quay-rent", "BYMONTHDAY=3", "BYMONTHDAY=33", 422, "rule-unreadable", "rule")]
    [InlineData("Quay-Rent", "640", "640", 422, "id-unreadable", "id")]
    public async Task A_payment_that_does_not_fit_is_refused_with_the_field_and_the_mend(string id, string right,
        string wrong, int status, string code, string field)
    {
        var household = await shared.HarbourRowAsync();

        (await household.WithoutWritingAsync(
            keeper => keeper.PutAsync($"/api/standing-payments/{id}",
                Rent.Replace(right, wrong, StringComparison.Ordinal)))).MustBlame(status, code, field);
    }
}
