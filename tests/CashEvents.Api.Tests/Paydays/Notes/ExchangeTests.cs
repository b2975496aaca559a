using System.Text.Json;
using Xunit;

namespace CashEvents.Api.Tests.Paydays;

public sealed class ExchangeTests(SharedServer shared)
{
    [Fact]
    public async Task Notes_are_counted_exchanged_and_known()
    {
        var household = await CountedAsync();

        var reply = (await household.Keeper.PostAsync("/api/exchanges",
            """{"compartment": "ferry-fares", "with": "market-days", "gives": {"20": 1}, "takes": {"10": 1, "5": 2}, "description": "Small notes"}""")).MustBe(201);

        reply.MustSay("""
            {"lines": [15], "entryId": 15, "balances": [{"compartment": "ferry-fares", "holding": "cash", "balance": 40.00}, {"compartment": "market-days", "holding": "cash", "balance": 60.00}]}
            """);
        (await household.Keeper.GetAsync("/api/compartments/ferry-fares/notes")).MustBe(200).MustHave("""
            {"compartment": "ferry-fares", "label": "Ferry fares", "prefer": [], "avoid": [], "atLeast": [],
             "known": {"countId": 13, "countedOn": "2026-11-15", "pieces": [{"value": 20.00, "count": 1}, {"value": 10.00, "count": 1}, {"value": 5.00, "count": 2}], "total": 40.00}}
            """);
        var line = (await household.LinesAsync("after=14"))[0];
        Assert.Equal(
            ("exchange", "ferry-fares", "market-days", """[{"value":20.00,"count":1}]""",
                """[{"value":10.00,"count":1},{"value":5.00,"count":2}]""", "Small notes"),
            (line.GetProperty("kind").GetString(), line.GetProperty("compartment").GetString(),
                line.GetProperty("with").GetString(), line.GetProperty("gives").GetRawText(),
                line.GetProperty("takes").GetRawText(), line.GetProperty("description").GetString()));
        Assert.Equal(15, (await household.LinesAsync("compartment=market-days"))[^1].GetProperty("line").GetInt64());
    }

    [Fact]
    public async Task Known_notes_are_no_longer_shown_once_cash_is_spent_until_the_next_count()
    {
        var household = await CountedAsync();
        await household.SpendAsync("ferry-fares", "5.00", on: "2026-11-15");

        Assert.False((await household.Keeper.GetAsync("/api/compartments/ferry-fares/notes")).MustBe(200).Json
            .TryGetProperty("known", out _));
        (await household.Keeper.PostAsync("/api/counts",
            """{"compartment": "ferry-fares", "denominations": {"10": 3, "5": 1}}""")).MustBe(201);
        Assert.Equal("35.00", (await household.Keeper.GetAsync("/api/compartments/ferry-fares/notes")).MustBe(200).Json
            .GetProperty("known").GetProperty("total").GetRawText());
    }

    [Fact]
    public async Task What_is_known_is_what_a_replay_of_the_lines_gives()
    {
        var household = await CountedAsync();
        (await household.Keeper.PostAsync("/api/exchanges",
            """{"compartment": "ferry-fares", "with": "market-days", "gives": {"20": 1}, "takes": {"10": 2}}"""))
            .MustBe(201);
        (await household.Keeper.PutAsync("/api/compartments/ferry-fares/notes", """{"prefer": [5]}""")).MustBe(200);

        var (replayed, read) = (await household.Server.Books.ReplayAsync(household.Id),
            await household.Server.Books.ReadAsync(household.Id));
        Assert.NotNull(read.NotesOf("ferry-fares"));
        Assert.Equal(JsonSerializer.Serialize(replayed, BookJson.Options),
            JsonSerializer.Serialize(read, BookJson.Options));
    }

    [Fact]
    public async Task A_member_exchanges_in_a_batch_and_an_exchange_can_be_rehearsed()
    {
        var household = await CountedAsync();
        var partner = await household.IssueAsync("partner", "member");
        const string exchange =
            """{"kind": "exchange", "compartment": "ferry-fares", "with": "market-days", "gives": {"20": 1}, "takes": {"10": 2}}""";

        await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/rehearsals", $$"""{"suppose": [{"record": {{exchange}}}]}"""));
        (await partner.PostAsync("/api/batches", $$"""{"movements": [{{exchange}}]}""")).MustBe(200);

        Assert.Equal("exchange", (await household.LinesAsync("kind=exchange")).Single().GetProperty("kind")
            .GetString());
    }

    [Fact]
    public async Task An_exchange_is_not_reversed_but_exchanged_back()
    {
        var household = await CountedAsync();
        (await household.Keeper.PostAsync("/api/exchanges",
            """{"compartment": "ferry-fares", "with": "market-days", "gives": {"20": 1}, "takes": {"10": 2}}"""))
            .MustBe(201);

        var refused = (await household.Keeper.PostAsync("/api/lines/15/reversal", """{"reason": "Wrong"}"""))
            .MustBeProblem(409, "line-moves-nothing");

        Assert.Contains("exchange the notes back", refused.GetProperty("detail").GetString());
        (await household.Keeper.PostAsync("/api/exchanges",
            """{"compartment": "ferry-fares", "with": "market-days", "gives": {"10": 2}, "takes": {"20": 1}}"""))
            .MustBe(201);
    }

    [Theory]
    [InlineData(400, "malformed", "with", """{"compartment": "ferry-fares", "gives": {"20": 1}, "takes": {"10": 2}}""")]
    [InlineData(400, "malformed", "gives",
        """{"compartment": "ferry-fares", "with": "market-days", "takes": {"10": 2}}""")]
    [InlineData(400, "malformed", "takes",
        """{"compartment": "ferry-fares", "with": "market-days", "gives": {"20": 1}}""")]
    [InlineData(422, "exchange-unequal", "takes",
        """{"compartment": "ferry-fares", "with": "market-days", "gives": {"20": 1}, "takes": {"10": 1}}""")]
    [InlineData(422, "same-compartment", "with",
        """{"compartment": "ferry-fares", "with": "ferry-fares", "gives": {"20": 1}, "takes": {"10": 2}}""")]
    [InlineData(422, "compartment-unknown", "with",
        """{"compartment": "ferry-fares", "with": "market-day", "gives": {"20": 1}, "takes": {"10": 2}}""")]
    [InlineData(422, "denomination-unknown", "gives.25",
        """{"compartment": "ferry-fares", "with": "market-days", "gives": {"25": 1}, "takes": {"10": 2}}""")]
    [InlineData(409, "notes-not-there", "gives",
        """{"compartment": "ferry-fares", "with": "market-days", "gives": {"10": 2}, "takes": {"20": 1}}""")]
    [InlineData(409, "not-enough", "takes",
        """{"compartment": "ferry-fares", "with": "bakery-van", "gives": {"20": 1}, "takes": {"10": 2}}""")]
    public async Task An_exchange_that_does_not_fit_is_refused(int status, string code, string field, string body)
    {
        var household = await CountedAsync();

        (await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/exchanges", body)))
            .MustBlame(status, code, field);
    }

    private async Task<Household> CountedAsync()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "40.00");
        await household.FillAsync("market-days", "60.00");
        (await household.Keeper.PostAsync("/api/counts",
            """{"compartment": "ferry-fares", "denominations": {"20": 2}}""")).MustBe(201);
        (await household.Keeper.PostAsync("/api/counts",
            """{"compartment": "market-days", "denominations": {"10": 5, "5": 2}}""")).MustBe(201);
        return household;
    }
}
