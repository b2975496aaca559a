using Xunit;

namespace CashEvents.Api.Tests.Movements;

public sealed class AmendmentTests(SharedServer shared)
{
    private static string Spend(string amount) =>
        $$$"""{"reason": "Read the ticket again", "replacement": {"kind": "spend", "compartment": "ferry-fares", "amount": {{{amount}}}}}""";

    [Fact]
    public async Task Reversal_and_replacement_are_one_entry_and_the_line_names_both()
    {
        var household = await FerryAsync();

        var reply = await household.Keeper.PostAsync("/api/lines/12/amendment", Spend("8.90"));

        reply.MustBe(201).MustHave(
            """{"lines": [13, 14], "entryId": 13, "balances": [{"compartment": "ferry-fares", "holding": "cash", "balance": 55.10}]}""");
        var amended = (await household.Keeper.GetAsync("/api/lines/12")).Json;
        Assert.Equal((13, 14), (amended.GetProperty("reversedBy").GetInt64(),
            amended.GetProperty("amendedBy").GetInt64()));
        (await household.Keeper.GetAsync("/api/lines/14")).MustHave($$"""
            {"line": 14, "entryId": 13, "kind": "spend", "recordedAt": "2026-11-15T12:00:00+00:00", "by": "keeper", "hash": "{{await household.HashAsync(14)}}", "occurredOn": "2026-11-03",
             "compartment": "ferry-fares", "holding": "cash", "amount": 8.90, "amends": 12}
            """);
        (await household.Keeper.GetAsync("/api/compartments/ferry-fares/tracker?month=2026-11")).MustSay("""
            {"compartment": "ferry-fares", "label": "Ferry fares", "month": "2026-11", "openingBalance": 0.00,
             "rows": [
               {"line": 11, "date": "2026-11-01", "kind": "fill", "holding": "cash", "description": "", "amount": 64.00, "balance": 64.00},
               {"line": 12, "date": "2026-11-03", "kind": "spend", "holding": "cash", "description": "Return", "amount": -8.40, "balance": 55.60, "reversedBy": 13, "amendedBy": 14},
               {"line": 13, "date": "2026-11-03", "kind": "reversal", "holding": "cash", "description": "Read the ticket again", "amount": 8.40, "balance": 64.00, "reverses": 12},
               {"line": 14, "date": "2026-11-03", "kind": "spend", "holding": "cash", "description": "", "amount": -8.90, "balance": 55.10, "amends": 12}],
             "closingBalance": 55.10, "bookLine": 14}
            """);
    }

    [Fact]
    public async Task A_sweep_in_the_stead_of_a_line_is_named_by_its_first_line_on_whichever_server()
    {
        var household = await FerryAsync();
        await household.FillAsync("market-days", "5.00");

        (await household.Keeper.PostAsync("/api/lines/12/amendment",
            """{"reason": "It was the sweep", "replacement": {"kind": "sweep", "from": ["market-days", "ferry-fares"], "to": "rainy-day"}}""")).MustBe(201);

        Assert.Equal(15, (await household.Keeper.GetAsync("/api/lines/12")).Json.GetProperty("amendedBy").GetInt64());
        await using var other = await RunningServer.StartAsync(household.Server.Database);
        foreach (var keeper in new[] { household.Keeper, household.At(other).Keeper })
        {
            Assert.Contains("amend line 15",
                (await keeper.PostAsync("/api/lines/14/amendment", Spend("1.00"))).MustBeProblem(409, "line-corrected")
                    .GetProperty("detail").GetString());
        }

        (await household.At(other).Keeper.PostAsync("/api/lines/16/reversal", """{"reason": "Not that one"}"""))
            .MustBe(201);
    }

    [Fact]
    public async Task A_wrong_reversal_stays_and_what_stands_in_its_stead_says_why()
    {
        var household = await FerryAsync();
        (await household.Keeper.PostAsync("/api/lines/12/reversal", """{"reason": "Twice"}""")).MustBe(201);

        (await household.Keeper.PostAsync("/api/lines/13/amendment", Spend("8.40"))).MustBe(201).MustHave(
            """{"lines": [14], "entryId": 14, "balances": [{"compartment": "ferry-fares", "holding": "cash", "balance": 55.60}]}""");

        var line = (await household.Keeper.GetAsync("/api/lines/14")).Json;
        Assert.Equal((13, "Read the ticket again", "2026-11-03"),
            (line.GetProperty("amends").GetInt64(), line.GetProperty("reason").GetString(),
                line.GetProperty("occurredOn").GetString()));
        Assert.Equal(14, (await household.Keeper.GetAsync("/api/lines/13")).Json.GetProperty("amendedBy").GetInt64());
    }

    [Fact]
    public async Task The_entry_is_written_whole_or_not_at_all()
    {
        var household = await FerryAsync();

        var reply = await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/lines/12/amendment", Spend("64.01")));

        Assert.Contains("holds 64.00 EUR", reply.MustBlame(409, "not-enough", "replacement.amount"));
        Assert.Equal("55.60", await household.HoldsAsync("ferry-fares"));
    }

    [Fact]
    public async Task A_repeated_request_is_written_once_and_other_contents_need_another_key()
    {
        var household = await FerryAsync();

        var first = (await household.Keeper.PostAsync("/api/lines/12/amendment", Spend("8.90"),
            ("Idempotency-Key", "phone-1"))).MustBe(201);
        var again = (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/lines/12/amendment", Spend("8.90"), ("Idempotency-Key", "phone-1"))))
            .MustBe(201);

        Assert.Equal(first.Text, again.Text);
        (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/lines/12/amendment", Spend("8.91"), ("Idempotency-Key", "phone-1"))))
            .MustBeProblem(422, "idempotency-key-reused");
    }

    [Fact]
    public async Task A_script_needs_the_replacements_kind_on_its_key_too()
    {
        var household = await FerryAsync();
        var script = await household.IssueAsync("ticket reader", "script", """["amendment", "spend"]""");

        var refused = await household.WithoutWritingAsync(
            _ => script.PostAsync("/api/lines/12/amendment",
                """{"reason": "Wrong", "replacement": {"kind": "fill", "compartment": "ferry-fares", "amount": 1.00}}"""));

        Assert.Contains("not fill", refused.MustBeProblem(403, "not-allowed").GetProperty("detail").GetString());
        (await script.PostAsync("/api/lines/12/amendment", Spend("8.90"))).MustBe(201);
    }

    [Theory]
    [InlineData(400, "malformed", "reason",
        """{"replacement": {"kind": "spend", "compartment": "ferry-fares", "amount": 1.00}}""")]
    [InlineData(400, "malformed", "replacement", """{"reason": "Wrong"}""")]
    [InlineData(400, "malformed", "replacement", """{"reason": "Wrong", "replacement": null}""")]
    [InlineData(400, "malformed", "replacement.kind", """{"reason": "Wrong", "replacement": {}}""")]
    [InlineData(400, "malformed", "replacement.kind", """{"reason": "Wrong", "replacement": {"kind": "gift"}}""")]
    [InlineData(400, "malformed", "replacement.amount",
        """{"reason": "Wrong", "replacement": {"kind": "spend", "compartment": "ferry-fares"}}""")]
    [InlineData(400, "malformed", "replacement.ammount",
        """{"reason": "Wrong", "replacement": {"kind": "spend", "compartment": "ferry-fares", "ammount": 1.00}}""")]
    [InlineData(400, "malformed", "replacement.amount",
        """{"reason": "Wrong", "replacement": {"kind": "spend", "compartment": "ferry-fares", "amount": "1,00"}}""")]
    [InlineData(400, "malformed", "replacement.idempotencyKey",
        """{"reason": "Wrong", "replacement": {"kind": "spend", "compartment": "ferry-fares", "amount": 1.00, "idempotencyKey": "phone-1"}}""")]
    [InlineData(422, "replacement-unfit", "replacement.kind",
        """{"reason": "Wrong", "replacement": {"kind": "count", "compartment": "ferry-fares", "total": 1.00}}""")]
    [InlineData(422, "replacement-unfit", "replacement.kind",
        """{"reason": "Wrong", "replacement": {"kind": "settlement", "count": 12, "reason": "Gone"}}""")]
    [InlineData(422, "too-many-decimals", "replacement.amount",
        """{"reason": "Wrong", "replacement": {"kind": "spend", "compartment": "ferry-fares", "amount": 1.001}}""")]
    [InlineData(422, "after-today", "replacement.occurredOn",
        """{"reason": "Wrong", "replacement": {"kind": "spend", "compartment": "ferry-fares", "amount": 1.00, "occurredOn": "2026-11-16"}}""")]
    [InlineData(422, "compartment-unknown", "replacement.to.compartment",
        """{"reason": "Wrong", "replacement": {"kind": "transfer", "from": "ferry-fares", "to": "market-day", "amount": 1.00}}""")]
    [InlineData(422, "words-too-long", "reason",
        """{"reason": "01234567890123456789012345678901234567890123456789012345678901234567890123456789012345678901234567890123456789012345678901234567890123456789012345678901234567890123456789012345678901234567890123456789x", "replacement": {"kind": "spend", "compartment": "ferry-fares", "amount": 1.00}}""")]
    public async Task What_does_not_fit_is_refused_and_named(int status, string code, string field, string body)
    {
        var household = await FerryAsync();

        (await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/lines/12/amendment", body)))
            .MustBlame(status, code, field);
    }

    [Fact]
    public async Task There_is_no_line_beyond_the_last()
    {
        var household = await FerryAsync();

        (await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/lines/13/amendment", Spend("1.00"))))
            .MustBeProblem(404, "line-unknown");
    }

    private async Task<Household> FerryAsync()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "64.00");
        await household.SpendAsync("ferry-fares", "8.40", description: "Return");
        return household;
    }
}
