using Xunit;

namespace CashEvents.Api.Tests.Counts;

/// <summary>A round of counts in one request: all figures, or nothing.</summary>
public sealed class CountAtOnceTests(SharedServer shared)
{
    private const string Figures = """
        {"wallet": "oilskin-wallet", "witness": "partner", "figures": [
          {"compartment": "ferry-fares", "denominations": {"20": 3}},
          {"compartment": "market-days", "total": 39.50, "description": "The purse too"}]}
        """;

    [Fact]
    public async Task All_figures_of_a_round_are_written_in_one_entry()
    {
        var household = await FilledAsync();
        var before = await household.LineAsync();

        var written = (await household.Keeper.PostAsync("/api/count-rounds", Figures, ("Idempotency-Key", "sunday")))
            .MustBe(201);
        var again = await household.Keeper.PostAsync("/api/count-rounds", Figures, ("Idempotency-Key", "sunday"));

        var id = before + 1;
        written.MustSay($$"""
            {"lines": [{{id}}, {{id + 1}}, {{id + 2}}], "entryId": {{id}}, "id": {{id}}, "counted": ["ferry-fares", "market-days"], "notCounted": ["bakery-van"], "confirmed": []}
            """);
        Assert.Equal(written.Text, again.Text);
        Assert.Equal(id + 2, await household.LineAsync());
        var round = (await household.Keeper.GetAsync(written.Headers["Location"])).MustBe(200).Json;
        Assert.Equal(["60.00 0.00", "39.50 -0.50"], round.GetProperty("compartments").EnumerateArray()
            .Where(c => c.TryGetProperty("counted", out _))
            .Select(c => $"{c.GetProperty("counted")} {c.GetProperty("difference")}"));
        var line = (await household.Keeper.GetAsync($"/api/lines/{id + 2}")).MustBe(200).Json;
        Assert.Equal(("partner", "The purse too", id), (line.GetProperty("witness").GetString(),
            line.GetProperty("description").GetString(), line.GetProperty("entryId").GetInt64()));
    }

    [Fact]
    public async Task A_round_is_opened_counted_and_closed_in_one_entry()
    {
        var household = await FilledAsync();
        var id = await household.LineAsync() + 1;
        var unfinished = Figures.Replace("\"witness\"", "\"close\": true, \"witness\"", StringComparison.Ordinal);

        (await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/count-rounds", unfinished)))
            .MustBlame(409, "count-round-unfinished", "reason");
        var written = (await household.Keeper.PostAsync("/api/count-rounds", unfinished.Replace("\"close\"",
            "\"reason\": \"The van is away\", \"close\"", StringComparison.Ordinal))).MustBe(201);

        written.MustHave($$"""
            {"lines": [{{id}}, {{id + 1}}, {{id + 2}}, {{id + 3}}], "entryId": {{id}}, "id": {{id}}, "counted": ["ferry-fares", "market-days"], "notCounted": ["bakery-van"], "confirmed": []}
            """);
        var round = (await household.Keeper.GetAsync(written.Headers["Location"])).MustBe(200).Json;
        Assert.Equal("closed", round.GetProperty("round").GetProperty("state").GetString());
    }

    [Theory]
    [InlineData("\"close\": true", "close")]
    [InlineData("\"reason\": \"The van is away\"", "reason")]
    public async Task Closing_goes_with_figures(string also, string field)
    {
        var household = await FilledAsync();

        (await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/count-rounds",
            $$"""{"wallet": "oilskin-wallet", {{also}}}"""))).MustBlame(400, "malformed", field);
    }

    [Theory]
    [InlineData("""{"compartment": "rainy-day", "total": 1.00}""", 422, "compartment-not-in-round",
        "figures[1].compartment")]
    [InlineData("""{"compartment": "market-day", "total": 1.00}""", 422, "compartment-unknown",
        "figures[1].compartment")]
    [InlineData("""{"compartment": "market-days", "total": 1.005}""", 422, "too-many-decimals", "figures[1].total")]
    [InlineData("""{"compartment": "market-days"}""", 400, "malformed", "figures[1].total")]
    [InlineData("""{"compartment": "ferry-fares", "total": 1.00}""", 400, "malformed", "figures")]
    [InlineData("null", 400, "malformed", "figures")]
    public async Task One_figure_that_is_refused_and_nothing_is_written(string second, int status, string code,
        string field)
    {
        var household = await FilledAsync();

        var refused = await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/count-rounds",
            $$"""{"wallet": "oilskin-wallet", "figures": [{"compartment": "ferry-fares", "total": 60.00}, {{second}}]}"""));

        refused.MustBlame(status, code, field);
    }

    [Fact]
    public async Task A_key_that_may_not_count_writes_none()
    {
        var household = await FilledAsync();
        var script = await household.IssueAsync("payday script", "script", """["fill"]""");

        (await household.WithoutWritingAsync(_ => script.PostAsync("/api/count-rounds", Figures)))
            .MustBeProblem(403, "not-allowed");
    }

    private async Task<Household> FilledAsync()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "60.00");
        await household.FillAsync("market-days", "40.00");
        return household;
    }
}
