using Xunit;

namespace CashEvents.Api.Tests.Counts;

public sealed class CountTests(SharedServer shared)
{
    [Fact]
    public async Task A_count_tells_what_was_expected_and_found_and_moves_no_money()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "64.00");

        var counted = (await household.Keeper.PostAsync("/api/counts",
            """{"compartment": "ferry-fares", "denominations": {"0.50": 2, "20": 3, "2": 1}, "witness": "partner", "description": "A coin is gone"}""")).MustBe(201);

        counted.MustSay("""
            {"lines": [12], "entryId": 12, "balances": [{"compartment": "ferry-fares", "holding": "cash", "balance": 64.00}],
             "countId": 12, "expected": 64.00, "counted": 63.00, "difference": -1.00}
            """);
        Assert.Equal("64.00", await household.HoldsAsync("ferry-fares"));
        (await household.Keeper.GetAsync("/api/lines/12")).MustHave($$"""
            {"line": 12, "entryId": 12, "kind": "count", "recordedAt": "2026-11-15T12:00:00+00:00", "by": "keeper", "hash": "{{await household.HashAsync(12)}}", "occurredOn": "2026-11-15",
             "compartment": "ferry-fares", "holding": "cash", "description": "A coin is gone", "expected": 64.00, "counted": 63.00, "difference": -1.00,
             "denominations": [{"value": 20.00, "count": 3}, {"value": 2.00, "count": 1}, {"value": 0.50, "count": 2}], "witness": "partner", "countId": 12}
            """);
    }

    [Theory]
    [InlineData("63.00", "-1.00")]
    [InlineData("65.25", "1.25")]
    public async Task A_settled_count_makes_the_balance_agree_with_the_notes(string found, string difference)
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "64.00");
        var count = await CountAsync(household, found);

        var settled = (await household.Keeper.PostAsync($"/api/counts/{count}/settlement",
            """{"reason": "Looked everywhere"}""")).MustBe(201);

        settled.MustHave(
            $$"""{"lines": [13], "entryId": 13, "balances": [{"compartment": "ferry-fares", "holding": "cash", "balance": {{found}}}]}""");
        var line = (await household.Keeper.GetAsync("/api/lines/13")).Json;
        Assert.Equal(("settlement", difference, "Looked everywhere", count),
            (line.GetProperty("kind").GetString(), line.GetProperty("difference").GetRawText(),
                line.GetProperty("description").GetString(), line.GetProperty("countId").GetInt64()));
    }

    [Fact]
    public async Task Money_found_later_to_have_moved_before_the_count_is_not_settled_twice()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "64.00");
        var count = await CountAsync(household, "60.00");
        await household.SpendAsync("ferry-fares", "3.00", on: "2026-11-10", description: "Forgotten until now");

        (await household.Keeper.PostAsync($"/api/counts/{count}/settlement", """{"reason": "The rest is gone"}"""))
            .MustBe(201);

        Assert.Equal("60.00", await household.HoldsAsync("ferry-fares"));
    }

    [Fact]
    public async Task A_count_expects_what_corrects_a_closed_month_although_posted_later_and_does_so_after_a_start()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "40.00", on: "2026-09-01");
        var wrong = (await household.SpendAsync("ferry-fares", "5.00", on: "2026-09-20")).Lines[0];
        (await household.Keeper.PostAsync("/api/months/2026-09/close", """{"reason": "as it stands"}""")).MustBe(201);
        await household.SpendAsync("ferry-fares", "1.00", on: "2026-10-02");
        (await household.Keeper.PostAsync($"/api/lines/{wrong}/reversal", """{"reason": "That ferry did not sail"}"""))
            .MustBe(201);
        await using var later = await RunningServer.StartAsync(household.Server.Database);

        foreach (var keeper in new[] { household.Keeper, household.At(later).Keeper })
        {
            var counted = (await keeper.PostAsync("/api/counts",
                """{"compartment": "ferry-fares", "total": 39.00, "occurredOn": "2026-10-31"}""")).MustBe(201).Json;
            Assert.Equal(("39.00", "0.00"),
                (counted.GetProperty("expected").GetRawText(), counted.GetProperty("difference").GetRawText()));
        }

        Assert.Equal("[]", (await household.Keeper.GetAsync("/api/months/2026-10/trail")).MustBe(200).Json
            .GetProperty("open").GetRawText());
        (await household.Keeper.PostAsync("/api/months/2026-10/close", "{}")).MustBe(201);
    }

    [Fact]
    public async Task A_count_expects_what_an_earlier_one_was_settled_for_later_and_a_server_that_starts_knows_it()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "40.00", on: "2026-11-01");
        var early = (await household.Keeper.PostAsync("/api/counts",
            """{"compartment": "ferry-fares", "total": 39.00, "occurredOn": "2026-11-02"}""")).MustBe(201).Lines[0];
        var settlement = (await household.Keeper.PostAsync($"/api/counts/{early}/settlement",
            """{"reason": "Looked everywhere", "occurredOn": "2026-11-12"}""")).MustBe(201).Lines[0];
        await using var later = await RunningServer.StartAsync(household.Server.Database);

        foreach (var (keeper, day) in new[] { (household.Keeper, 9), (household.At(later).Keeper, 10) })
        {
            var counted = (await keeper.PostAsync("/api/counts",
                $$"""{"compartment": "ferry-fares", "total": 39.00, "occurredOn": "2026-11-{{day:00}}"}"""))
                .MustBe(201).Json;
            Assert.Equal(("39.00", "0.00"),
                (counted.GetProperty("expected").GetRawText(), counted.GetProperty("difference").GetRawText()));
        }

        (await household.Keeper.PostAsync($"/api/lines/{settlement}/reversal", """{"reason": "It was a mistake"}"""))
            .MustBe(201);
        await using var last = await RunningServer.StartAsync(household.Server.Database);
        foreach (var (keeper, day) in new[] { (household.Keeper, 10), (household.At(last).Keeper, 11) })
        {
            var counted = (await keeper.PostAsync("/api/counts",
                $$"""{"compartment": "ferry-fares", "total": 39.00, "occurredOn": "2026-11-{{day:00}}"}"""))
                .MustBe(201).Json;
            Assert.Equal(("40.00", "-1.00"),
                (counted.GetProperty("expected").GetRawText(), counted.GetProperty("difference").GetRawText()));
        }
    }

    [Fact]
    public async Task A_count_that_is_typed_in_late_hides_no_difference_of_a_later_day()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "40.00", on: "2026-10-01");
        var later = (await household.Keeper.PostAsync("/api/counts",
            """{"compartment": "ferry-fares", "total": 39.00, "occurredOn": "2026-10-10"}""")).MustBe(201).Lines[0];
        (await household.Keeper.PostAsync("/api/counts",
            """{"compartment": "ferry-fares", "total": 40.00, "occurredOn": "2026-10-02"}""")).MustBe(201);

        Assert.Equal("-1.00", (await household.Keeper.GetAsync("/api/reconciliation")).MustBe(200).Json
            .GetProperty("household").GetProperty("total").GetProperty("difference").GetRawText());
        Assert.Equal(200, (await household.Keeper.GetAsync($"/api/counts/{later}/explanations")).Status);
        var refused = (await household.Keeper.PostAsync("/api/months/2026-10/close", "{}"))
            .MustBeProblem(409, "month-has-open-items");
        Assert.Equal(later, refused.GetProperty("open")[0].GetProperty("countId").GetInt64());
        (await household.Keeper.PostAsync($"/api/counts/{later + 1}/settlement", """{"reason": "Looked everywhere"}"""))
            .MustBeProblem(404, "count-not-open");
        (await household.Keeper.PostAsync($"/api/counts/{later}/settlement", """{"reason": "Looked everywhere"}"""))
            .MustBe(201);
        (await household.Keeper.PostAsync("/api/months/2026-10/close", "{}")).MustBe(201);
    }

    [Fact]
    public async Task A_count_is_settled_once()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "64.00");
        var count = await CountAsync(household, "63.00");
        (await household.Keeper.PostAsync($"/api/counts/{count}/settlement", """{"reason": "Gone"}""")).MustBe(201);

        var again = await household.WithoutWritingAsync(
            keeper => keeper.PostAsync($"/api/counts/{count}/settlement", """{"reason": "Gone"}"""));

        again.MustBeProblem(409, "count-settled");
    }

    [Fact]
    public async Task A_count_that_agrees_has_nothing_to_settle()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "64.00");
        var count = await CountAsync(household, "64.00");

        (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync($"/api/counts/{count}/settlement", """{"reason": "Gone"}""")))
            .MustBeProblem(409, "nothing-to-settle");
    }

    [Fact]
    public async Task A_later_count_of_the_same_place_stands_in_the_earlier_ones_stead()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "64.00");
        var earlier = await CountAsync(household, "60.00");
        await CountAsync(household, "63.00");

        (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync($"/api/counts/{earlier}/settlement", """{"reason": "Gone"}""")))
            .MustBeProblem(404, "count-not-open");
    }

    [Theory]
    [InlineData(404, "count-not-open", "/api/counts/999/settlement", """{"reason": "Gone"}""")]
    [InlineData(404, "count-not-open", "/api/counts/-1/settlement", """{"reason": "Gone"}""")]
    [InlineData(404, "address-unknown", "/api/counts/twelve/settlement", """{"reason": "Gone"}""")]
    [InlineData(404, "address-unknown", "/api/counts/99999999999999999999/settlement", """{"reason": "Gone"}""")]
    [InlineData(400, "malformed", "/api/counts/12/settlement", """{}""")]
    [InlineData(400, "malformed", "/api/counts/12/settlement", """{"reason": " "}""")]
    [InlineData(422, "before-count", "/api/counts/12/settlement", """{"reason": "Gone", "occurredOn": "2026-11-14"}""")]
    [InlineData(422, "after-today", "/api/counts/12/settlement", """{"reason": "Gone", "occurredOn": "2026-11-16"}""")]
    public async Task A_settlement_that_does_not_fit_is_refused(int status, string code, string address, string body)
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "64.00");
        Assert.Equal(12, await CountAsync(household, "63.00"));

        (await household.WithoutWritingAsync(keeper => keeper.PostAsync(address, body))).MustBeProblem(status, code);
    }

    [Theory]
    [InlineData(400, "malformed", "total", """{"compartment": "ferry-fares"}""")]
    [InlineData(400, "malformed", "total",
        """{"compartment": "ferry-fares", "total": 1.00, "denominations": {"1": 1}}""")]
    [InlineData(400, "malformed", "total", """{"compartment": "ferry-fares", "total": -1.00}""")]
    [InlineData(400, "malformed", "denominations.20",
        """{"compartment": "ferry-fares", "denominations": {"20": 1.5}}""")]
    [InlineData(400, "malformed", "denominations.20",
        """{"compartment": "ferry-fares", "denominations": {"20": "1"}}""")]
    [InlineData(422, "denomination-unknown", "denominations.3",
        """{"compartment": "ferry-fares", "denominations": {"3": 1}}""")]
    [InlineData(422, "denomination-unknown", "denominations.",
        """{"compartment": "ferry-fares", "denominations": {"": 1}}""")]
    [InlineData(422, "denomination-twice", "denominations.0.5",
        """{"compartment": "ferry-fares", "denominations": {"0.50": 1, "0.5": 1}}""")]
    [InlineData(422, "pieces-out-of-range", "denominations.20",
        """{"compartment": "ferry-fares", "denominations": {"20": -1}}""")]
    [InlineData(422, "pieces-out-of-range", "denominations.20",
        """{"compartment": "ferry-fares", "denominations": {"20": 9223372036854775807}}""")]
    [InlineData(422, "denominations-in-bank", "denominations",
        """{"compartment": "ferry-fares", "holding": "bank", "denominations": {"20": 1}}""")]
    [InlineData(422, "too-many-decimals", "total", """{"compartment": "ferry-fares", "total": 1.001}""")]
    [InlineData(422, "compartment-unknown", "compartment", """{"compartment": "lighthouse", "total": 1.00}""")]
    [InlineData(422, "words-too-long", "witness",
        """{"compartment": "ferry-fares", "total": 1.00, "witness": "0123456789012345678901234567890123456789012345678901234567890123456789012345678901234567890123456789012345678901234567890123456789012345678901234567890123456789012345678901234567890123456789012345678901234567890"}""")]
    public async Task A_count_that_does_not_fit_is_refused(int status, string code, string field, string body)
    {
        var household = await shared.HarbourRowAsync();

        (await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/counts", body)))
            .MustBlame(status, code, field);
    }

    private static async Task<long> CountAsync(Household household, string total) =>
        (await household.Keeper.PostAsync("/api/counts", $$"""{"compartment": "ferry-fares", "total": {{total}}}"""))
            .MustBe(201).Json.GetProperty("countId").GetInt64();
}
