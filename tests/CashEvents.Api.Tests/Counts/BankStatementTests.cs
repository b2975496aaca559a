using Xunit;

namespace CashEvents.Api.Tests.Counts;

public sealed class BankStatementTests(SharedServer shared)
{
    [Fact]
    public async Task One_figure_tells_what_is_expected_the_difference_and_the_compartments_that_make_it_up()
    {
        var household = await InBankAsync();

        (await household.Keeper.PostAsync("/api/bank-statements",
            """{"total": 612.40, "occurredOn": "2026-11-14", "description": "Quarter's end"}""")).MustBe(201)
            .MustSay("""
            {"lines": [14], "entryId": 14,
             "balances": [{"compartment": "boat-insurance", "holding": "bank", "balance": 390.00}, {"compartment": "rainy-day", "holding": "bank", "balance": 211.20}],
             "statementId": 14, "parts": [{"compartment": "boat-insurance", "amount": 400.00}, {"compartment": "rainy-day", "amount": 211.20}],
             "expected": 611.20, "counted": 612.40, "difference": 1.20}
            """);

        var answer = (await household.Keeper.GetAsync("/api/reconciliation")).MustBe(200).Json;
        Assert.Equal(
            """{"statementId":14,"statedOn":"2026-11-14","stated":612.40,"movedSince":-10.00,"there":602.40,"balance":601.20,"difference":1.20,"parts":[{"compartment":"boat-insurance","label":"Boat insurance","balance":390.00},{"compartment":"rainy-day","label":"Rainy day","balance":211.20}]}""",
            answer.GetProperty("bank").GetRawText());
        Assert.Equal(
            """{"counted":612.40,"movedSince":-10.00,"there":602.40,"notCounted":0.00,"balance":601.20,"difference":1.20,"oldestCount":"2026-11-14"}""",
            answer.GetProperty("household").GetProperty("bank").GetRawText());
        Assert.Empty(answer.GetProperty("neverCounted").EnumerateArray());
    }

    [Fact]
    public async Task A_difference_is_settled_in_a_named_compartment_and_shows_in_the_month()
    {
        var household = await InBankAsync();
        (await household.Keeper.PostAsync("/api/bank-statements", """{"total": 612.40, "occurredOn": "2026-11-14"}"""))
            .MustBe(201);
        var page = await PrintedSheet.GetAsync(household.Keeper, "/api/months/2026-11/trail");
        Assert.Contains("the bank states 612.40, expected 611.20; unsettled: 1.20", MarksOf(page, "bank statement"),
            StringComparison.Ordinal);

        (await household.Keeper.PostAsync("/api/bank-statements/14/settlement",
            """{"compartment": "rainy-day", "reason": "Interest"}""")).MustBe(201)
            .MustHave(
                """{"lines": [15], "entryId": 15, "balances": [{"compartment": "rainy-day", "holding": "bank", "balance": 212.40}]}""");

        Assert.Equal("0.00", (await household.Keeper.GetAsync("/api/reconciliation")).MustBe(200).Json
            .GetProperty("bank").GetProperty("difference").GetRawText());
        var trail = (await household.Keeper.GetAsync("/api/months/2026-11/trail")).MustBe(200).Json;
        Assert.Equal("1.20", trail.GetProperty("household").GetProperty("over").GetRawText());
        Assert.Equal("0.00", trail.GetProperty("trialBalance").GetProperty("difference").GetRawText());
        page = await PrintedSheet.GetAsync(household.Keeper, "/api/months/2026-11/trail");
        Assert.DoesNotContain("unsettled", MarksOf(page, "bank statement"), StringComparison.Ordinal);
        Assert.Equal("bank statement 14", MarksOf(page, "bank statement settlement"));
        (await household.Keeper.PostAsync("/api/lines/15/reversal", """{"reason": "It was a fill"}""")).MustBe(201);
        Assert.Equal("1.20", (await household.Keeper.GetAsync("/api/reconciliation")).MustBe(200).Json
            .GetProperty("bank").GetProperty("difference").GetRawText());
    }

    [Fact]
    public async Task A_statement_stands_in_a_batch_and_is_for_keys_that_may_count()
    {
        var household = await InBankAsync();
        var script = await household.IssueAsync("bank script", "script", """["count"]""");
        var other = await household.IssueAsync("payday script", "script", """["fill"]""");

        (await script.PostAsync("/api/batches",
            """{"mode": "eachOnItsOwn", "movements": [{"kind": "bankStatement", "total": 601.20}]}""")).MustBe(200);
        (await script.PostAsync("/api/bank-statements", """{"total": 601.20}""")).MustBe(201);
        Assert.Equal(403, (await other.PostAsync("/api/bank-statements", """{"total": 601.20}""")).Status);
        Assert.Equal(403, (await script.PostAsync("/api/bank-statements/14/settlement",
            """{"compartment": "rainy-day", "reason": "Interest"}""")).Status);
    }

    [Theory]
    [InlineData("", "{}", 400, "malformed", "total")]
    [InlineData("", """{"total": -1.00}""", 400, "malformed", "total")]
    [InlineData("", """{"total": "9,60"}""", 400, "malformed", "total")]
    [InlineData("", """{"total": 1.001}""", 422, "too-many-decimals", "total")]
    [InlineData("", """{"total": 1.00, "occurredOn": "2026-10-01"}""", 409, "nothing-in-bank", "occurredOn")]
    [InlineData("/13/settlement", """{"reason": "Interest"}""", 400, "malformed", "compartment")]
    [InlineData("/13/settlement", """{"compartment": "rainy-day"}""", 400, "malformed", "reason")]
    public async Task What_can_not_be_read_or_does_not_fit_writes_nothing(string address, string body, int status,
        string code, string field)
    {
        var household = await InBankAsync();

        (await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/bank-statements" + address, body)))
            .MustBlame(status, code, field);
    }

    [Fact]
    public async Task A_settlement_of_what_is_no_statement_is_not_found()
    {
        var household = await InBankAsync();

        (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/bank-statements/13/settlement",
                """{"compartment": "rainy-day", "reason": "Interest"}"""))).MustBeProblem(404, "statement-not-open");
    }

    /// <summary>400.00 and 211.20 in the bank, of which 10.00 leaves on the fifteenth, today.</summary>
    private async Task<Household> InBankAsync()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("boat-insurance", "400.00", holding: "bank");
        await household.FillAsync("rainy-day", "211.20", holding: "bank");
        (await household.Keeper.PostAsync("/api/spends",
            """{"compartment": "boat-insurance", "holding": "bank", "amount": 10.00}""")).MustBe(201);
        return household;
    }

    private static string MarksOf(PrintedSheet page, string kind) =>
        PrintedSheet.Rows(page.Document, "section.wallet table.lines").First(row => row[2] == kind)[7];
}
