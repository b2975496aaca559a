using System.Text.Json;
using Xunit;

namespace CashEvents.Api.Tests.Movements;

public sealed class BatchTests(SharedServer shared)
{
    private const string Bread =
        """{"kind": "spend", "idempotencyKey": "phone-1", "compartment": "market-days", "amount": 6.20, "occurredOn": "2026-11-03", "description": "Bread and cheese"}""";
    private const string Pay =
        """{"kind": "fill", "idempotencyKey": "phone-0", "compartment": "market-days", "amount": 40.00, "occurredOn": "2026-11-02"}""";

    [Fact]
    public async Task Movements_of_every_kind_are_written_together_in_the_order_sent()
    {
        var household = await shared.HarbourRowAsync();

        var answer = (await household.Keeper.PostAsync("/api/batches", """
            {"movements": [
              {"kind": "fill", "compartment": "market-days", "amount": 40.00},
              {"compartment": "market-days", "amount": 6.20, "kind": "spend"},
              {"kind": "refund", "compartment": "market-days", "amount": 1.20},
              {"kind": "transfer", "from": "market-days", "to": "ferry-fares", "amount": 10.00},
              {"kind": "count", "compartment": "market-days", "total": 24.00},
              {"kind": "settlement", "count": 15, "reason": "Gone"},
              {"kind": "sweep", "from": {"purpose": "spending"}, "to": "rainy-day"},
              {"kind": "sweep", "from": ["bakery-van"], "to": "rainy-day"}]}
            """)).MustBe(200);

        Assert.Equal((8, 0), Tally(answer));
        Assert.Equal([201, 201, 201, 201, 201, 201, 201, 200], Statuses(answer));
        Assert.Equal(["fill", "spend", "refund", "transfer", "count", "settlement", "sweep", "sweep"],
            (await household.LinesAsync("after=10")).Select(l => l.GetProperty("kind").GetString()));
        Assert.Equal("34.00", await household.HoldsAsync("rainy-day"));
        Assert.Equal("\"18\"", answer.ETag);
    }

    [Fact]
    public async Task All_or_nothing_writes_nothing_when_one_is_refused_and_says_which()
    {
        var household = await shared.HarbourRowAsync();

        var refused = await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/batches", $$"""
            {"mode": "allOrNothing", "movements": [{{Pay}}, {"kind": "spend", "compartment": "market-day", "amount": 3.00}, {{Bread}}]}
            """));

        var answers = refused.MustBeProblem(409, "batch-refused").GetProperty("answers");
        Assert.Equal(["not-written-with-others", "compartment-unknown", "not-written-with-others"],
            answers.EnumerateArray().Select(a => a.GetProperty("problem").GetProperty("code").GetString()));
        // The keys of what was not written are free.
        (await household.Keeper.PostAsync("/api/batches", $$"""{"movements": [{{Pay}}, {{Bread}}]}""")).MustBe(200);
        Assert.Equal("33.80", await household.HoldsAsync("market-days"));
    }

    [Fact]
    public async Task Each_on_its_own_writes_what_it_can()
    {
        var household = await shared.HarbourRowAsync();

        var answer = (await household.Keeper.PostAsync("/api/batches", $$"""
            {"mode": "eachOnItsOwn", "movements": [{{Bread}}, {{Pay}}, {"kind": "spend", "compartment": "market-day", "amount": 3.00}, {"kind": "spend", "compartment": "market-days", "amount": 30.00}]}
            """)).MustBe(200);

        Assert.Equal((2, 2), Tally(answer));
        Assert.Equal([409, 201, 422, 201], Statuses(answer));
        var first = answer.Json.GetProperty("answers")[0];
        Assert.Equal(("phone-1", "not-enough", "6.20"),
            (first.GetProperty("idempotencyKey").GetString(),
                first.GetProperty("problem").GetProperty("code").GetString(),
                first.GetProperty("problem").GetProperty("shortage").GetProperty("missing").GetRawText()));
        Assert.Equal("10.00", await household.HoldsAsync("market-days"));
    }

    [Fact]
    public async Task The_fields_at_fault_are_named_by_their_place_in_the_list_whatever_refuses_them()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("market-days", "40.00");
        (await household.Keeper.PostAsync("/api/fills", """{"compartment": "market-days", "amount": 1.00}""",
            ("Idempotency-Key", "phone-0"))).MustBe(201);
        string Batch(string mode) => $$"""
            {"mode": "{{mode}}", "movements": [
              {{Bread}},
              {"kind": "spend", "compartment": "market-day", "amount": 3.00},
              {"kind": "spend", "compartment": "market-days", "amount": 300.00},
              {"kind": "transfer", "from": "market-days", "to": "ferry-fare", "amount": 1.00},
              {"kind": "fill", "compartment": "market-days", "amount": 1.00, "occurredOn": "2026-11-16"},
              {"kind": "settlement", "count": 4, "reason": "Gone"},
              {{Pay}}]}
            """;
        string[] fields = ["movements[1].compartment", "movements[2].amount", "movements[3].to.compartment",
            "movements[4].occurredOn", "movements[5]", "movements[6].idempotencyKey"];

        var whole = (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/batches", Batch("allOrNothing")))).MustBeProblem(409, "batch-refused");
        var each = (await household.Keeper.PostAsync("/api/batches", Batch("eachOnItsOwn"))).MustBe(200).Json;

        Assert.Equal(fields, Fields(whole));
        Assert.Equal(fields, whole.GetProperty("answers").EnumerateArray()
            .SelectMany(a => Fields(a.GetProperty("problem"))));
        Assert.Equal(fields, each.GetProperty("answers").EnumerateArray().Where(a => a.TryGetProperty("problem", out _))
            .SelectMany(a => Fields(a.GetProperty("problem"))));
        Assert.Equal([201, 422, 409, 422, 422, 404, 422],
            each.GetProperty("answers").EnumerateArray().Select(a => a.GetProperty("status").GetInt32()));
    }

    [Theory]
    [InlineData("allOrNothing")]
    [InlineData("eachOnItsOwn")]
    public async Task A_batch_sent_again_is_answered_alike_and_written_once(string mode)
    {
        var household = await shared.HarbourRowAsync();
        var batch = $$"""{"mode": "{{mode}}", "movements": [{{Pay}}, {{Bread}}]}""";

        var first = (await household.Keeper.PostAsync("/api/batches", batch)).MustBe(200);
        var again = (await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/batches", batch)))
            .MustBe(200);

        Assert.Equal((first.Text, first.ETag), (again.Text, again.ETag));
        Assert.Equal("33.80", await household.HoldsAsync("market-days"));
    }

    [Fact]
    public async Task A_batch_sent_again_with_more_in_it_writes_only_what_is_new()
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PostAsync("/api/batches", $$"""{"movements": [{{Pay}}]}""")).MustBe(200);

        var again = (await household.Keeper.PostAsync("/api/batches", $$"""{"movements": [{{Pay}}, {{Bread}}]}"""))
            .MustBe(200);

        Assert.Equal((2, 0), Tally(again));
        Assert.Equal(12, await household.LineAsync());
    }

    [Fact]
    public async Task A_movement_first_sent_alone_and_then_in_a_batch_under_the_same_key_is_written_once()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("market-days", "40.00");
        var alone = (await household.Keeper.PostAsync("/api/spends",
            """{"compartment": "market-days", "amount": 6.20, "occurredOn": "2026-11-03", "description": "Bread and cheese"}""", ("Idempotency-Key", "phone-1"))).MustBe(201);

        var batch = (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/batches", $$"""{"movements": [{{Bread}}]}"""))).MustBe(200);

        Assert.Equal(alone.Text, batch.Json.GetProperty("answers")[0].GetProperty("answer").GetRawText());
    }

    [Fact]
    public async Task A_movement_twice_in_one_batch_under_the_same_key_is_written_once()
    {
        var household = await shared.HarbourRowAsync();

        var answer = (await household.Keeper.PostAsync("/api/batches", $$"""{"movements": [{{Pay}}, {{Pay}}]}"""))
            .MustBe(200);

        Assert.Equal(answer.Json.GetProperty("answers")[0].GetRawText(),
            answer.Json.GetProperty("answers")[1].GetRawText());
        Assert.Equal("40.00", await household.HoldsAsync("market-days"));
    }

    [Fact]
    public async Task One_key_for_two_different_movements_is_refused()
    {
        var household = await shared.HarbourRowAsync();
        var other = Pay.Replace("40.00", "41.00", StringComparison.Ordinal);

        var refused = await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/batches", $$"""{"movements": [{{Pay}}, {{other}}]}"""));

        Assert.Equal("idempotency-key-reused",
            refused.MustBeProblem(409, "batch-refused").GetProperty("answers")[1].GetProperty("problem")
                .GetProperty("code").GetString());
    }

    [Fact]
    public async Task Faults_of_form_are_all_named_at_once_by_their_place_in_the_list()
    {
        var household = await shared.HarbourRowAsync();

        var refused = await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/batches", """
            {"mode": "eachOnItsOwn", "movements": [
              {"kind": "fill", "compartment": "market-days", "amount": 40.00},
              {"kind": "fill", "compartment": "market-days", "amount": -1.00},
              {"kind": "settlement", "reason": "Gone"},
              {"kind": "spend", "compartment": "market-days", "amount": 1.00, "idempotencyKey": "clé"}]}
            """));

        Assert.Equal(
            ["movements[1].amount", "movements[2].count", "movements[3].idempotencyKey"],
            refused.MustBeProblem(400, "malformed").GetProperty("errors").EnumerateObject().Select(e => e.Name)
                .Order());
    }

    [Theory]
    [InlineData("movements", """{}""")]
    [InlineData("movements", """{"movements": null}""")]
    [InlineData("movements", """{"movements": []}""")]
    [InlineData("movements", """{"movements": [null]}""")]
    [InlineData("movements", """{"movements": {"kind": "fill"}}""")]
    [InlineData("mode",
        """{"mode": "most", "movements": [{"kind": "fill", "compartment": "market-days", "amount": 1.00}]}""")]
    [InlineData("movements[0].kind",
        """{"movements": [{"kind": "theft", "compartment": "market-days", "amount": 1.00}]}""")]
    [InlineData("movements[0].kind", """{"movements": [{"compartment": "market-days", "amount": 1.00}]}""")]
    [InlineData("movements[0].kind", """{"movements": [{"kind": 7, "compartment": "market-days", "amount": 1.00}]}""")]
    [InlineData("movements[1].ammount",
        """{"movements": [{"kind": "fill", "compartment": "market-days", "amount": 1.00}, {"kind": "fill", "compartment": "market-days", "ammount": 1.00}]}""")]
    [InlineData("movements[0].amount",
        """{"movements": [{"kind": "fill", "compartment": "market-days", "amount": "1,00"}]}""")]
    [InlineData("movements[0].to.compartmnet",
        """{"movements": [{"kind": "transfer", "from": "market-days", "to": {"compartmnet": "ferry-fares"}, "amount": 1.00}]}""")]
    public async Task A_batch_that_can_not_be_read_is_refused(string field, string body)
    {
        var household = await shared.HarbourRowAsync();

        (await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/batches", body)))
            .MustBlame(400, "malformed", field);
    }

    [Fact]
    public async Task A_misspelt_field_of_a_movement_is_answered_with_the_one_that_was_meant()
    {
        var household = await shared.HarbourRowAsync();

        var refused = await household.Keeper.PostAsync("/api/batches",
            """{"movements": [{"kind": "spend", "compartment": "market-days", "ammount": 1.00}]}""");

        Assert.Contains("Did you mean `amount`?", refused.MustBlame(400, "malformed", "movements[0].ammount"));
    }

    [Fact]
    public async Task A_thousand_movements_fit_and_one_more_does_not()
    {
        var household = await shared.HarbourRowAsync();
        string Batch(int count) =>
            $$"""{"movements": [{{string.Join(',', Enumerable.Repeat("""{"kind": "fill", "compartment": "market-days", "amount": 0.01}""", count))}}]}""";

        (await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/batches", Batch(1001))))
            .MustBlame(400, "malformed", "movements");
        var answer = (await household.Keeper.PostAsync("/api/batches", Batch(1000))).MustBe(200);

        Assert.Equal((1000, 0), Tally(answer));
        Assert.Equal("10.00", await household.HoldsAsync("market-days"));
        Assert.Equal(1010, await household.LineAsync());
    }

    [Fact]
    public async Task The_header_for_a_single_request_is_refused_since_each_movement_has_its_own_key()
    {
        var household = await shared.HarbourRowAsync();

        (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/batches", $$"""{"movements": [{{Pay}}]}""", ("Idempotency-Key", "batch"))))
            .MustBlame(400, "malformed", "Idempotency-Key");
    }

    private static IEnumerable<string> Fields(JsonElement problem) =>
        problem.TryGetProperty("errors", out var errors) ? errors.EnumerateObject().Select(e => e.Name) : [];

    private static (int Written, int Refused) Tally(Reply reply) =>
        (reply.Json.GetProperty("written").GetInt32(), reply.Json.GetProperty("refused").GetInt32());

    private static IEnumerable<int> Statuses(Reply reply) =>
        reply.Json.GetProperty("answers").EnumerateArray().Select(a => a.GetProperty("status").GetInt32());
}
