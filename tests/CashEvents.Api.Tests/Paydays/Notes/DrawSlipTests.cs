using Xunit;

namespace CashEvents.Api.Tests.Paydays;

public sealed class DrawSlipTests(SharedServer shared)
{
    private const string Draw =
        """{"amounts": {"market-days": 60.00, "ferry-fares": 45.00}, "inHand": {"20": 1, "2": 2}, "denominations": [5, 10, 50, 20]}""";

    [Fact]
    public async Task A_slip_asks_for_the_fewest_notes_and_uses_those_in_hand_first()
    {
        var household = await shared.HarbourRowAsync();

        var slip = await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/draw-slips", Draw));

        // 85.00 in four notes: 20, 20, 20 and 20 would leave 5.00; 50 + 20 + 10 + 5 is four too, but makes 45.00 and
        // 60.00 of five notes only.
        var json = slip.MustBe(200).Json;
        Assert.Equal(("105.00", "20.00", "85.00"),
            (json.GetProperty("total").GetRawText(), json.GetProperty("fromHand").GetRawText(),
                json.GetProperty("draw").GetRawText()));
        Assert.Equal(json.GetProperty("ask").EnumerateArray().Sum(p => p.GetProperty("count").GetInt32()),
            json.GetProperty("pieces").GetInt32());
        Assert.Equal(85.00m, json.GetProperty("ask").EnumerateArray()
            .Sum(p => p.GetProperty("value").GetDecimal() * p.GetProperty("count").GetInt32()));
        Assert.Equal(4, json.GetProperty("pieces").GetInt32());
        Assert.All(json.GetProperty("compartments").EnumerateArray(), c =>
        {
            Assert.Equal(c.GetProperty("amount").GetRawText(), c.GetProperty("packed").GetRawText());
            Assert.Equal(c.GetProperty("amount").GetDecimal(),
                c.GetProperty("pieces").EnumerateArray()
                    .Sum(p => p.GetProperty("value").GetDecimal() * p.GetProperty("count").GetInt32()));
        });
        Assert.Equal("""[{"value":2.00,"count":2}]""", json.GetProperty("left").GetRawText());
        Assert.True(json.GetProperty("provenBest").GetBoolean());
        Assert.Equal("\"10\"", slip.ETag);
    }

    [Fact]
    public async Task Without_denominations_the_bank_gives_every_note_and_coin_but_the_note_that_is_no_longer_issued()
    {
        var household = await shared.HarbourRowAsync();

        var slip = (await household.Keeper.PostAsync("/api/draw-slips", """{"amounts": {"boat-insurance": 1000.99}}"""))
            .MustBe(200).Json;

        Assert.Equal(
            """[{"value":200.00,"count":5},{"value":0.50,"count":1},{"value":0.20,"count":2},{"value":0.05,"count":1},{"value":0.02,"count":2}]""", slip.GetProperty("ask").GetRawText());
    }

    [Fact]
    public async Task Wishes_come_before_the_fewest_notes_and_those_that_can_not_be_met_are_named()
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PutAsync("/api/compartments/ferry-fares/notes",
            """{"avoid": [50, 20], "atLeast": {"5": 4}}""")).MustBe(200);
        (await household.Keeper.PutAsync("/api/compartments/market-days/notes", """{"prefer": [10]}""")).MustBe(200);
        (await household.Keeper.PutAsync("/api/compartments/rainy-day/notes",
            """{"atLeast": {"100": 1}, "avoid": [10]}""")).MustBe(200);

        var slip = (await household.Keeper.PostAsync("/api/draw-slips",
            """{"amounts": {"ferry-fares": 50.00, "market-days": 40.00, "rainy-day": 10.00}, "denominations": [50, 20, 10, 5]}""")).MustBe(200).Json;

        Assert.Equal(
            ["""[{"value":10.00,"count":3},{"value":5.00,"count":4}]""", """[{"value":10.00,"count":4}]""",
                """[{"value":5.00,"count":2}]"""],
            slip.GetProperty("compartments").EnumerateArray().Select(c => c.GetProperty("pieces").GetRawText()));
        Assert.Equal(
            """[{"compartment":"rainy-day","wish":"atLeast","value":100.00,"count":1,"detail":"'rainy-day' is to have 1 of 100.00 EUR more."}]""",
            slip.GetProperty("unmetWishes").GetRawText());
    }

    [Fact]
    public async Task An_amount_that_the_notes_can_not_make_up_is_refused_with_the_nearest()
    {
        var household = await shared.HarbourRowAsync();

        var mend = (await household.Keeper.PostAsync("/api/draw-slips",
            """{"amounts": {"ferry-fares": 40.00, "market-days": 42.00}, "denominations": [20, 5]}"""))
            .MustBlame(422, "amount-not-in-notes", "amounts.market-days");

        Assert.Contains("40.00 EUR", mend);
    }

    [Fact]
    public async Task A_slip_comes_as_a_sheet_too()
    {
        var household = await shared.HarbourRowAsync();
        (await household.FillAsync("ferry-fares", "1.00")).MustBe(201);

        var csv = (await household.Keeper.PostAsync("/api/draw-slips",
            """{"amounts": {"ferry-fares": 45.00}, "inHand": {"20": 1, "2": 1}, "denominations": [20, 5]}""",
            ("Accept", "text/csv"))).MustBe(200);

        Assert.Equal(
            "sheet,compartment,value,count,amount\r\nask,,20.00,1,20.00\r\nask,,5.00,1,5.00\r\npack,ferry-fares,20.00,2,40.00\r\npack,ferry-fares,5.00,1,5.00\r\nleft,,2.00,1,2.00\r\n", csv.Text);
    }

    [Fact]
    public async Task A_slip_prints_what_to_ask_for_and_what_goes_where()
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PutAsync("/api/compartments/ferry-fares/notes", """{"atLeast": {"100": 1}}"""))
            .MustBe(200);

        var page = PrintedSheet.Of(
            await household.Keeper.PostAsync("/api/draw-slips",
                """{"amounts": {"market-days": 60.00, "ferry-fares": 45.00}, "inHand": {"20": 1, "2": 2}, "denominations": [20, 5]}""", ("Accept", "text/html")));

        Assert.Equal("Harbour Row: draw slip", page.Document.Title);
        Assert.Equal([["20.00", "4", "80.00"], ["5.00", "1", "5.00"]], PrintedSheet.Rows(page.Document, "table.ask"));
        Assert.Equal(["total", "5", "85.00"], PrintedSheet.Cells(page.Document, "table.ask tfoot tr").Single());
        Assert.Equal([["Ferry fares", "2", "1", "45.00"], ["Market days", "3", "–", "60.00"]],
            PrintedSheet.Rows(page.Document, "table.packing"));
        Assert.Equal(["total", "5", "1", "105.00"],
            PrintedSheet.Cells(page.Document, "table.packing tfoot tr").Single());
        Assert.Equal("2 of 2.00", page.Document.QuerySelector("p.left")!.TextContent);
        Assert.Equal("Ferry fares is to have 1 of 100.00 EUR more.",
            page.Document.QuerySelector("p.unmet")!.TextContent);
    }

    [Fact]
    public async Task A_slip_with_enough_in_hand_asks_for_nothing()
    {
        var household = await shared.HarbourRowAsync();
        const string draw = """{"amounts": {"ferry-fares": 45.00}, "inHand": {"20": 2, "5": 2}}""";

        var slip = (await household.Keeper.PostAsync("/api/draw-slips", draw)).MustBe(200).Json;

        Assert.Equal(("0.00", 0, "[]"),
            (slip.GetProperty("draw").GetRawText(), slip.GetProperty("pieces").GetInt32(),
                slip.GetProperty("ask").GetRawText()));
        Assert.Contains("what is in hand is enough",
            PrintedSheet.Of(await household.Keeper.PostAsync("/api/draw-slips", draw,
                ("Accept", "text/html"))).Document.Body!.TextContent);
    }

    [Theory]
    [InlineData(400, "malformed", "amounts", """{"denominations": [20]}""")]
    [InlineData(400, "malformed", "denominations", """{"amounts": {"ferry-fares": 40.00}, "denominations": []}""")]
    [InlineData(400, "malformed", "denominations[0]",
        """{"amounts": {"ferry-fares": 40.00}, "denominations": ["a twenty"]}""")]
    [InlineData(422, "denomination-unknown", "denominations[1]",
        """{"amounts": {"ferry-fares": 40.00}, "denominations": [20, 25]}""")]
    [InlineData(422, "denomination-twice", "denominations[1]",
        """{"amounts": {"ferry-fares": 40.00}, "denominations": [20, 20.00]}""")]
    [InlineData(422, "compartment-unknown", "amounts.ferry-fare", """{"amounts": {"ferry-fare": 40.00}}""")]
    public async Task A_slip_that_does_not_fit_is_refused(int status, string code, string field, string body)
    {
        var household = await shared.HarbourRowAsync();

        (await household.Keeper.PostAsync("/api/draw-slips", body)).MustBlame(status, code, field);
    }
}
