using Xunit;

namespace CashEvents.Api.Tests.Movements;

public sealed class ReversalTests(SharedServer shared)
{
    private const string Twice = """{"reason": "Written down twice"}""";

    [Fact]
    public async Task A_reversal_takes_the_line_back_and_both_name_each_other()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "64.00");
        await household.SpendAsync("ferry-fares", "8.40", description: "Return");

        var reply = await household.Keeper.PostAsync("/api/lines/12/reversal", Twice);

        reply.MustBe(201).MustHave(
            """{"lines": [13], "entryId": 13, "balances": [{"compartment": "ferry-fares", "holding": "cash", "balance": 64.00}]}""");
        Assert.Equal(("/api/lines/13", "\"13\""), (reply.Headers["Location"], reply.ETag));
        (await household.Keeper.GetAsync("/api/lines/13")).MustHave($$"""
            {"line": 13, "entryId": 13, "kind": "reversal", "recordedAt": "2026-11-15T12:00:00+00:00", "by": "keeper", "hash": "{{await household.HashAsync(13)}}", "occurredOn": "2026-11-03",
             "description": "Written down twice", "reverses": 12, "changes": [{"compartment": "ferry-fares", "holding": "cash", "change": 8.40}]}
            """);
        Assert.Equal(13, (await household.Keeper.GetAsync("/api/lines/12")).Json.GetProperty("reversedBy").GetInt64());
        (await household.Keeper.GetAsync("/api/compartments/ferry-fares/tracker?month=2026-11")).MustSay("""
            {"compartment": "ferry-fares", "label": "Ferry fares", "month": "2026-11", "openingBalance": 0.00,
             "rows": [
               {"line": 11, "date": "2026-11-01", "kind": "fill", "holding": "cash", "description": "", "amount": 64.00, "balance": 64.00},
               {"line": 12, "date": "2026-11-03", "kind": "spend", "holding": "cash", "description": "Return", "amount": -8.40, "balance": 55.60, "reversedBy": 13},
               {"line": 13, "date": "2026-11-03", "kind": "reversal", "holding": "cash", "description": "Written down twice", "amount": 8.40, "balance": 64.00, "reverses": 12}],
             "closingBalance": 64.00, "bookLine": 13}
            """);
    }

    [Fact]
    public async Task A_line_is_reversed_once_on_whichever_server()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "64.00");
        (await household.Keeper.PostAsync("/api/lines/11/reversal", Twice)).MustBe(201);
        await using var other = await RunningServer.StartAsync(household.Server.Database);

        Assert.Contains("line 12",
            (await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/lines/11/reversal", Twice)))
                .MustBeProblem(409, "line-corrected").GetProperty("detail").GetString());
        (await household.At(other).Keeper.PostAsync("/api/lines/11/reversal", Twice))
            .MustBeProblem(409, "line-corrected");
        (await household.At(other).Keeper.PostAsync("/api/lines/12/reversal", Twice))
            .MustBeProblem(409, "line-is-reversal");
    }

    [Fact]
    public async Task What_has_been_spent_can_not_be_taken_back_and_the_answer_says_when_and_how_much_is_missing()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "50.00", on: "2026-11-01");
        await household.SpendAsync("ferry-fares", "48.00", on: "2026-11-05");
        await household.FillAsync("ferry-fares", "60.00", on: "2026-11-10");
        await household.FillAsync("rainy-day", "100.00", on: "2026-11-01");

        var problem = (await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/lines/11/reversal", Twice)))
            .MustBeProblem(409, "not-enough");

        Assert.StartsWith("Without line 11 the cash of 'ferry-fares' would close 2026-11-05 at -48.00 EUR",
            problem.GetProperty("detail").GetString());
        Assert.Equal(
            """{"compartment":"ferry-fares","holding":"cash","available":-48.00,"missing":48.00,"on":"2026-11-05","couldGive":[{"compartment":"rainy-day","available":100.00}]}""", problem.GetProperty("shortage").GetRawText());
    }

    [Fact]
    public async Task With_its_settlement_reversed_a_count_can_be_settled_again()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "64.00");
        (await household.Keeper.PostAsync("/api/counts", """{"compartment": "ferry-fares", "total": 60.00}"""))
            .MustBe(201);
        (await household.Keeper.PostAsync("/api/counts/12/settlement", """{"reason": "Gone"}""")).MustBe(201);

        (await household.Keeper.PostAsync("/api/lines/13/reversal", """{"reason": "It was under the lining"}"""))
            .MustBe(201);

        Assert.Equal("64.00", await household.HoldsAsync("ferry-fares"));
        Assert.Equal(12, (await household.Keeper.GetAsync("/api/lines/14")).Json.GetProperty("countId").GetInt64());
        (await household.Keeper.PostAsync("/api/counts/12/settlement", """{"reason": "Gone after all"}""")).MustBe(201);
        Assert.Equal("60.00", await household.HoldsAsync("ferry-fares"));
    }

    [Fact]
    public async Task A_line_of_a_closed_month_is_reversed_today_and_names_its_day()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "64.00", on: "2026-10-01");
        await household.SpendAsync("ferry-fares", "8.40", on: "2026-10-20");
        (await household.Keeper.PostAsync("/api/months/2026-10/close", """{"reason": "Not counted"}""")).MustBe(201);

        (await household.Keeper.PostAsync("/api/lines/12/reversal", Twice)).MustBe(201);

        var line = (await household.Keeper.GetAsync("/api/lines/14")).Json;
        Assert.Equal(("2026-11-15", "2026-10-20"),
            (line.GetProperty("occurredOn").GetString(), line.GetProperty("closedDay").GetString()));
        Assert.Equal("55.60", (await household.Keeper.GetAsync(
            "/api/compartments/ferry-fares/tracker?month=2026-10")).Json.GetProperty("closingBalance").GetRawText());
        Assert.Equal("64.00", await household.HoldsAsync("ferry-fares"));
    }

    [Fact]
    public async Task A_repeated_request_is_written_once_and_a_key_is_good_for_one_line()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "64.00");
        await household.FillAsync("ferry-fares", "64.00");

        var first = (await household.Keeper.PostAsync("/api/lines/11/reversal", Twice, ("Idempotency-Key", "phone-1")))
            .MustBe(201);
        var again = (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/lines/11/reversal", Twice, ("Idempotency-Key", "phone-1")))).MustBe(201);

        Assert.Equal(first.Text, again.Text);
        (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/lines/12/reversal", Twice, ("Idempotency-Key", "phone-1"))))
            .MustBeProblem(422, "idempotency-key-reused");
    }

    [Fact]
    public async Task A_book_that_has_moved_on_is_not_written()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "64.00");

        (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/lines/11/reversal", Twice, ("If-Match", "\"10\""))))
            .MustBeProblem(412, "book-moved-on");
        (await household.Keeper.PostAsync("/api/lines/11/reversal", Twice, ("If-Match", "\"11\""))).MustBe(201);
    }

    [Theory]
    [InlineData(404, "line-unknown", "/api/lines/999/reversal", Twice)]
    [InlineData(404, "line-unknown", "/api/lines/0/reversal", Twice)]
    [InlineData(404, "line-unknown", "/api/lines/-1/reversal", Twice)]
    [InlineData(404, "line-unknown", "/api/lines/9223372036854775807/reversal", Twice)]
    [InlineData(404, "address-unknown", "/api/lines/twelve/reversal", Twice)]
    [InlineData(409, "line-moves-nothing", "/api/lines/1/reversal", Twice)]
    [InlineData(409, "line-moves-nothing", "/api/lines/10/reversal", Twice)]
    [InlineData(400, "malformed", "/api/lines/11/reversal", "{}")]
    [InlineData(400, "malformed", "/api/lines/11/reversal", """{"reason": " "}""")]
    [InlineData(400, "malformed", "/api/lines/11/reversal", """{"reason": "Twice", "line": 11}""")]
    [InlineData(400, "malformed", "/api/lines/11/reversal", "null")]
    public async Task What_does_not_fit_is_refused(int status, string code, string address, string body)
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "64.00");

        (await household.WithoutWritingAsync(keeper => keeper.PostAsync(address, body))).MustBeProblem(status, code);
    }
}
