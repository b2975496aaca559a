using Xunit;

namespace CashEvents.Api.Tests.Paydays;

public sealed class PackingTests(SharedServer shared)
{
    [Fact]
    public async Task A_stack_is_packed_exactly_where_the_largest_first_would_leave_one_without()
    {
        var household = await shared.HarbourRowAsync();

        var reply = await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/packings",
                """{"inHand": {"50": 1, "20": 3, "5": 1}, "amounts": {"market-days": 60.00, "ferry-fares": 50.00}}"""));

        reply.MustBe(200).MustSay("""
            {"exact": true, "provenBest": true,
             "compartments": [
               {"compartment": "ferry-fares", "label": "Ferry fares", "amount": 50.00, "packed": 50.00, "pieces": [{"value": 50.00, "count": 1}]},
               {"compartment": "market-days", "label": "Market days", "amount": 60.00, "packed": 60.00, "pieces": [{"value": 20.00, "count": 3}]}],
             "left": [{"value": 5.00, "count": 1}], "leftTotal": 5.00, "unmetWishes": [], "bookLine": 10}
            """);
        Assert.Equal("\"10\"", reply.ETag);
    }

    [Fact]
    public async Task Where_it_can_not_be_exact_the_nearest_is_told_and_the_fewest_pieces_to_change_at_a_shop()
    {
        var household = await shared.HarbourRowAsync();

        (await household.Keeper.PostAsync("/api/packings",
            """{"inHand": {"50": 1, "20": 1}, "amounts": {"ferry-fares": 25.00, "market-days": 40.00}}""")).MustBe(200)
            .MustHave("""
            {"exact": false, "provenBest": true,
             "compartments": [
               {"compartment": "ferry-fares", "label": "Ferry fares", "amount": 25.00, "packed": 20.00, "pieces": [{"value": 20.00, "count": 1}]},
               {"compartment": "market-days", "label": "Market days", "amount": 40.00, "packed": 50.00, "pieces": [{"value": 50.00, "count": 1}]}],
             "left": [], "leftTotal": 0.00, "unmetWishes": [], "bookLine": 10,
             "change": {"count": 1, "give": [{"value": 50.00, "count": 1}], "get": [{"value": 20.00, "count": 2}, {"value": 5.00, "count": 2}], "provenBest": true,
               "compartments": [
                 {"compartment": "ferry-fares", "label": "Ferry fares", "amount": 25.00, "packed": 25.00, "pieces": [{"value": 20.00, "count": 1}, {"value": 5.00, "count": 1}]},
                 {"compartment": "market-days", "label": "Market days", "amount": 40.00, "packed": 40.00, "pieces": [{"value": 20.00, "count": 2}]}],
               "unmetWishes": []}}
            """);
    }

    [Fact]
    public async Task A_stack_that_is_worth_too_little_says_by_how_much_and_no_change_helps()
    {
        var household = await shared.HarbourRowAsync();

        var reply = (await household.Keeper.PostAsync("/api/packings",
            """{"inHand": {"20": 1}, "amounts": {"ferry-fares": 25.00}}""")).MustBe(200).Json;

        Assert.Equal("5.00", reply.GetProperty("missing").GetRawText());
        Assert.False(reply.TryGetProperty("change", out _));
        Assert.Equal("20.00", reply.GetProperty("compartments")[0].GetProperty("packed").GetRawText());
        Assert.False((await household.Keeper.PostAsync("/api/packings",
            """{"inHand": {}, "amounts": {"ferry-fares": 25.00}}""")).MustBe(200).Json.GetProperty("exact")
            .GetBoolean());
    }

    [Fact]
    public async Task Wishes_are_kept_and_those_that_can_not_be_are_named()
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PutAsync("/api/compartments/ferry-fares/notes",
            """{"prefer": [5], "atLeast": {"2": 3}}""")).MustBe(200);
        (await household.Keeper.PutAsync("/api/compartments/market-days/notes", """{"avoid": [20]}""")).MustBe(200);

        var reply = (await household.Keeper.PostAsync("/api/packings",
            """{"inHand": {"20": 2, "10": 2, "5": 3, "2": 2, "1": 1}, "amounts": {"ferry-fares": 20.00, "market-days": 40.00}}""")).MustBe(200).Json;

        // The two twos and the one go to the ferry with three fives; the market gets its forty of two tens and a
        // twenty.
        Assert.Equal("""[{"value":5.00,"count":3},{"value":2.00,"count":2},{"value":1.00,"count":1}]""",
            reply.GetProperty("compartments")[0].GetProperty("pieces").GetRawText());
        Assert.Equal("""[{"value":20.00,"count":1},{"value":10.00,"count":2}]""",
            reply.GetProperty("compartments")[1].GetProperty("pieces").GetRawText());
        Assert.Equal(
            """[{"compartment":"ferry-fares","wish":"atLeast","value":2.00,"count":1,"detail":"'ferry-fares' is to have 1 of 2.00 EUR more."},{"compartment":"market-days","wish":"avoid","value":20.00,"count":1,"detail":"'market-days' gets 1 of 20.00 EUR, which it is to avoid."}]""",
            reply.GetProperty("unmetWishes").GetRawText());
    }

    [Fact]
    public async Task The_same_question_gets_the_same_answer()
    {
        var household = await shared.HarbourRowAsync();
        const string question =
            """{"inHand": {"50": 2, "20": 5, "10": 4, "5": 7, "2": 5, "1": 4}, "amounts": {"ferry-fares": 47.00, "market-days": 88.00, "bakery-van": 33.00, "rainy-day": 61.00, "boat-insurance": 29.00}}""";

        var once = (await household.Keeper.PostAsync("/api/packings", question)).MustBe(200);

        Assert.True(once.Json.GetProperty("exact").GetBoolean());
        Assert.Equal(once.Text, (await household.Keeper.PostAsync("/api/packings", question)).Text);
    }

    [Theory]
    [InlineData(400, "malformed", "inHand", """{"amounts": {"ferry-fares": 25.00}}""")]
    [InlineData(400, "malformed", "amounts", """{"inHand": {"20": 1}}""")]
    [InlineData(400, "malformed", "amounts", """{"inHand": {"20": 1}, "amounts": {}}""")]
    [InlineData(400, "malformed", "inHand.20", """{"inHand": {"20": 1.5}, "amounts": {"ferry-fares": 25.00}}""")]
    [InlineData(400, "malformed", "amount", """{"inHand": {"20": 1}, "amount": {"ferry-fares": 25.00}}""")]
    [InlineData(422, "denomination-unknown", "inHand.25",
        """{"inHand": {"25": 1}, "amounts": {"ferry-fares": 25.00}}""")]
    [InlineData(422, "pieces-out-of-range", "inHand.20",
        """{"inHand": {"20": -1}, "amounts": {"ferry-fares": 25.00}}""")]
    [InlineData(422, "compartment-unknown", "amounts.ferry-fare",
        """{"inHand": {"20": 1}, "amounts": {"ferry-fare": 25.00}}""")]
    [InlineData(422, "amount-not-positive", "amounts.ferry-fares",
        """{"inHand": {"20": 1}, "amounts": {"ferry-fares": 0}}""")]
    [InlineData(422, "too-many-decimals", "amounts.ferry-fares",
        """{"inHand": {"20": 1}, "amounts": {"ferry-fares": 25.001}}""")]
    [InlineData(422, "amount-too-large", "amounts.ferry-fares",
        """{"inHand": {"20": 1}, "amounts": {"ferry-fares": 100000.01}}""")]
    public async Task A_task_that_does_not_fit_is_refused(int status, string code, string field, string body)
    {
        var household = await shared.HarbourRowAsync();

        (await household.Keeper.PostAsync("/api/packings", body)).MustBlame(status, code, field);
    }

    [Fact]
    public async Task At_most_sixty_compartments_are_packed_at_a_time()
    {
        var household = await shared.HarbourRowAsync();
        string Amounts(int count) =>
            "{\"inHand\": {\"20\": 1}, \"amounts\": {"
                + string.Join(", ", Enumerable.Range(1, count).Select(i => $"\"compartment-{i}\": 5")) + "}}";

        Assert.Contains("at most 60",
            (await household.Keeper.PostAsync("/api/packings", Amounts(61))).MustBlame(400, "malformed", "amounts"));
        (await household.Keeper.PostAsync("/api/packings", Amounts(60)))
            .MustBlame(422, "compartment-unknown", "amounts.compartment-1");
    }

    [Fact]
    public async Task A_currency_whose_notes_are_not_listed_is_refused_with_the_reason()
    {
        var household = await Household.OpenEmptyAsync(await shared.ServerAsync());
        (await household.Keeper.PutAsync("/api/household",
            """{"name": "Harbour Row", "currency": "SEK", "timeZone": "Europe/Stockholm"}""")).MustBe(200);
        (await household.Keeper.PostAsync("/api/wallets", """{"label": "Oilskin wallet"}""")).MustBe(201);
        (await household.Keeper.PostAsync("/api/compartments",
            """{"label": "Ferry fares", "wallet": "oilskin-wallet", "purpose": "spending"}""")).MustBe(201);

        (await household.Keeper.PostAsync("/api/packings",
            """{"inHand": {"20": 1}, "amounts": {"ferry-fares": 25.00}}"""))
            .MustBlame(422, "denominations-unknown", "inHand");
        (await household.Keeper.PostAsync("/api/draw-slips", """{"amounts": {"ferry-fares": 25.00}}"""))
            .MustBeProblem(422, "denominations-unknown");
    }
}
