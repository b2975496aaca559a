using Xunit;

namespace CashEvents.Api.Tests.Paydays;

public sealed class IncomeSourceTests(SharedServer shared)
{
    private const string Office =
        """{"label": "Harbour office", "rule": "FREQ=MONTHLY;BYMONTHDAY=-1", "first": "2026-09-30", "notBankDay": "previous", "amount": 2400}""";
    private const string Nets =
        """{"label": "Net mending", "rule": "rrule:freq=weekly;interval=2;byday=fr", "first": "2026-09-04", "notBankDay": "next"}""";

    [Fact]
    public async Task Sources_are_set_listed_replaced_and_ended()
    {
        var household = await shared.HarbourRowAsync();

        (await household.Keeper.PutAsync("/api/income-sources/net-mending", Nets)).MustBe(200)
            .MustSay("""{"lines": [11], "entryId": 11, "source": "net-mending"}""");
        (await household.Keeper.PutAsync("/api/income-sources/harbour-office", Office)).MustBe(200);
        var sources = (await household.Keeper.GetAsync("/api/income-sources")).MustBe(200);
        sources.MustHave("""
            {"incomeSources": [
               {"source": "harbour-office", "label": "Harbour office", "rule": "FREQ=MONTHLY;BYMONTHDAY=-1", "first": "2026-09-30", "notBankDay": "previous", "amount": 2400.00},
               {"source": "net-mending", "label": "Net mending", "rule": "FREQ=WEEKLY;INTERVAL=2;BYDAY=FR", "first": "2026-09-04", "notBankDay": "next"}],
             "bookLine": 12}
            """);
        Assert.Equal(12, sources.BookLine);

        (await household.Keeper.PutAsync("/api/income-sources/harbour-office",
            Office.Replace("2400", "2450.50", StringComparison.Ordinal))).MustBe(200);
        (await household.Keeper.DeleteAsync("/api/income-sources/net-mending")).MustBe(204);
        (await household.Keeper.GetAsync("/api/income-sources")).MustBe(200).MustHave("""
            {"incomeSources": [{"source": "harbour-office", "label": "Harbour office", "rule": "FREQ=MONTHLY;BYMONTHDAY=-1", "first": "2026-09-30", "notBankDay": "previous", "amount": 2450.50}], "bookLine": 14}
            """);
        var lines = await household.LinesAsync("after=10");
        Assert.Equal(["incomeSourceSet", "incomeSourceSet", "incomeSourceSet", "incomeSourceEnded"],
            lines.Select(l => l.GetProperty("kind").GetString()));
        Assert.Equal(
            ("harbour-office", "Harbour office", "FREQ=MONTHLY;BYMONTHDAY=-1", "2026-09-30", "previous", "2450.50"),
            (lines[2].GetProperty("source").GetString(), lines[2].GetProperty("label").GetString(),
                lines[2].GetProperty("rule").GetString(), lines[2].GetProperty("first").GetString(),
                lines[2].GetProperty("notBankDay").GetString(), lines[2].GetProperty("amount").GetRawText()));
    }

    [Fact]
    public async Task What_is_set_already_is_not_written_again_and_a_repeated_request_gets_the_first_answer()
    {
        var household = await shared.HarbourRowAsync();
        var first = (await household.Keeper.PutAsync("/api/income-sources/harbour-office", Office,
            ("Idempotency-Key", "office"))).MustBe(200);

        var again = await household.WithoutWritingAsync(
            keeper => keeper.PutAsync("/api/income-sources/harbour-office", Office));
        var repeated = await household.WithoutWritingAsync(
            keeper => keeper.PutAsync("/api/income-sources/harbour-office", Office, ("Idempotency-Key", "office")));

        Assert.Empty(again.MustBe(200).Lines);
        Assert.Contains("Nothing was written", again.Json.GetProperty("note").GetString());
        Assert.Equal(first.Text, repeated.MustBe(200).Text);
        (await household.Keeper.PutAsync("/api/income-sources/other", Office, ("Idempotency-Key", "office")))
            .MustBlame(422, "idempotency-key-reused", "Idempotency-Key");
    }

    [Theory]
    [InlineData("harbour-office", "amount\": 2400", "amount\": 0", 422, "amount-not-positive", "amount")]
    [InlineData("harbour-office", "amount\": 2400", "amount\": 1.001", 422, "too-many-decimals", "amount")]
    [InlineData("harbour-office", "amount\": 2400", "amount\": \"2400,00\"", 400, "malformed", "amount")]
    [InlineData("harbour-office", "\"label\": \"Harbour office\", ", "", 400, "malformed", "label")]
    [InlineData("harbour-office", "\"rule\": \"FREQ=MONTHLY;BYMONTHDAY=-1\", ", "", 400, "malformed", "rule")]
    [InlineData("harbour-office", "\"first\": \"2026-09-30\", ", "", 400, "malformed", "first")]
    [InlineData("harbour-office", "\"notBankDay\": \"previous\", ", "", 400, "malformed", "notBankDay")]
    [InlineData("harbour-office", "previous", "before", 400, "malformed", "notBankDay")]
    [InlineData("harbour-office", "2026-09-30", "2026-09-31", 400, "malformed", "first")]
    [InlineData("harbour-office", "2026-09-30", "2026-09-29", 422, "first-not-in-rule", "first")]
    [InlineData("harbour-office", "2026-09-30", "1999-09-30", 422, "bank-days-unknown", "first")]
    [InlineData("harbour-office", "MONTHLY", "HOURLY", 422, "rule-unreadable", "rule")]
    [InlineData("Harbour%20office", "2400", "2400", 422, "id-unreadable", "id")]
    public async Task A_source_that_does_not_fit_is_refused_with_the_field_and_the_mend(string id, string right,
        string wrong, int status, string code, string field)
    {
        var household = await shared.HarbourRowAsync();

        (await household.WithoutWritingAsync(
            keeper => keeper.PutAsync($"/api/income-sources/{id}",
                Office.Replace(right, wrong, StringComparison.Ordinal)))).MustBlame(status, code, field);
    }

    [Fact]
    public async Task One_that_is_not_there_cant_be_ended()
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PutAsync("/api/income-sources/harbour-office", Office)).MustBe(200);

        var problem = (await household.WithoutWritingAsync(
            keeper => keeper.DeleteAsync("/api/income-sources/harbor-office")))
            .MustBeProblem(404, "income-source-unknown");

        Assert.Equal("""["harbour-office"]""", problem.GetProperty("suggestions").GetRawText());
    }
}
