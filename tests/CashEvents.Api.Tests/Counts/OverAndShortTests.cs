using Xunit;

namespace CashEvents.Api.Tests.Counts;

public sealed class OverAndShortTests(SharedServer shared)
{
    [Fact]
    public async Task Settled_differences_are_added_up_by_compartment_key_and_month()
    {
        var household = await shared.HarbourRowAsync();
        var partner = await household.IssueAsync("partner", "member");
        await household.FillAsync("ferry-fares", "64.00", on: "2026-10-01");
        await household.FillAsync("market-days", "40.00", on: "2026-10-01");
        var ferry = await SettleAsync(household.Keeper, "ferry-fares", "63.00", "2026-10-20");
        var market = await SettleAsync(partner, "market-days", "40.50", "2026-11-02");
        var again = await SettleAsync(household.Keeper, "ferry-fares", "62.75", "2026-11-09");

        (await household.Keeper.GetAsync("/api/over-and-short")).MustBe(200).MustSay($$$"""
            {"from": "2025-11-16", "to": "2026-11-15", "currency": "EUR",
             "differences": [
               {"line": {{{ferry}}}, "countId": {{{ferry - 1}}}, "occurredOn": "2026-10-20", "compartment": "ferry-fares", "holding": "cash", "by": "keeper", "reason": "Looked everywhere", "difference": -1.00, "net": -1.00, "gross": 1.00, "compartmentNet": -1.00, "compartmentGross": 1.00},
               {"line": {{{market}}}, "countId": {{{market - 1}}}, "occurredOn": "2026-11-02", "compartment": "market-days", "holding": "cash", "by": "partner", "reason": "Looked everywhere", "difference": 0.50, "net": -0.50, "gross": 1.50, "compartmentNet": 0.50, "compartmentGross": 0.50},
               {"line": {{{again}}}, "countId": {{{again - 1}}}, "occurredOn": "2026-11-09", "compartment": "ferry-fares", "holding": "cash", "by": "keeper", "reason": "Looked everywhere", "difference": -0.25, "net": -0.75, "gross": 1.75, "compartmentNet": -1.25, "compartmentGross": 1.25}],
             "compartments": [
               {"compartment": "ferry-fares", "label": "Ferry fares", "sums": {"settlements": 2, "over": 0.00, "short": 1.25, "net": -1.25, "gross": 1.25},
                "chart": {"mean": -0.63, "meanMovingRange": 0.75, "lower": -2.62, "upper": 1.37, "outside": [], "note": "Limits of fewer than 20 differences move a good deal with each further one."}},
               {"compartment": "market-days", "label": "Market days", "sums": {"settlements": 1, "over": 0.50, "short": 0.00, "net": 0.50, "gross": 0.50}}],
             "keys": [{"by": "keeper", "sums": {"settlements": 2, "over": 0.00, "short": 1.25, "net": -1.25, "gross": 1.25}}, {"by": "partner", "sums": {"settlements": 1, "over": 0.50, "short": 0.00, "net": 0.50, "gross": 0.50}}],
             "months": [
               {"month": "2026-10", "sums": {"settlements": 1, "over": 0.00, "short": 1.00, "net": -1.00, "gross": 1.00}, "net": -1.00, "gross": 1.00},
               {"month": "2026-11", "sums": {"settlements": 2, "over": 0.50, "short": 0.25, "net": 0.25, "gross": 0.75}, "net": -0.75, "gross": 1.75}],
             "sums": {"settlements": 3, "over": 0.50, "short": 1.25, "net": -0.75, "gross": 1.75}, "bookLine": {{{again}}},
             "chart": {"mean": -0.25, "meanMovingRange": 1.13, "lower": -3.24, "upper": 2.74, "outside": [], "note": "Limits of fewer than 20 differences move a good deal with each further one."}}
            """);
    }

    [Fact]
    public async Task A_settlement_that_was_reversed_is_left_out_and_days_narrow_the_report()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "64.00", on: "2026-10-01");
        var undone = await SettleAsync(household.Keeper, "ferry-fares", "60.00", "2026-10-20");
        (await household.Keeper.PostAsync($"/api/lines/{undone}/reversal", """{"reason": "It was in the lining"}"""))
            .MustBe(201);
        var first = await SettleAsync(household.Keeper, "ferry-fares", "63.00", "2026-10-21");
        var second = await SettleAsync(household.Keeper, "ferry-fares", "62.00", "2026-11-09");

        Assert.Equal([first, second], await LinesAsync(""));
        Assert.Equal([first], await LinesAsync("?from=2026-10-21&to=2026-11-08"));
        Assert.Equal([second], await LinesAsync("?from=2026-10-22"));
        Assert.Empty(await LinesAsync("?to=2026-10-20"));

        async Task<long[]> LinesAsync(string query) =>
            [.. (await household.Keeper.GetAsync("/api/over-and-short" + query)).MustBe(200).Json
                .GetProperty("differences").EnumerateArray().Select(d => d.GetProperty("line").GetInt64())];
    }

    [Fact]
    public async Task A_difference_outside_the_limits_is_named_and_drawn_black()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "100.00", on: "2026-10-01");
        var found = 100.00m;
        var lines = new List<long>();
        for (var day = 1; day <= 20; day++)
        {
            found += day == 18 ? -9.00m : day % 2 == 0 ? 0.10m : -0.10m;
            lines.Add(await SettleAsync(household.Keeper, "ferry-fares", $"{found:0.00}", $"2026-10-{day:00}"));
        }

        var chart = (await household.Keeper.GetAsync("/api/over-and-short")).MustBe(200).Json.GetProperty("chart");
        Assert.Equal([lines[17]], chart.GetProperty("outside").EnumerateArray().Select(l => l.GetInt64()));
        Assert.False(chart.TryGetProperty("note", out _));

        var page = PrintedSheet.Of(await household.Keeper.GetAsync("/api/over-and-short", ("Accept", "text/html")));
        Assert.Equal("Harbour Row: over and short", page.Document.Title);
        var figure = Assert.Single(page.Document.QuerySelectorAll("figure.chart"));
        Assert.Equal($"line {lines[17]}", PrintedSheet.Words(Assert.Single(figure.QuerySelectorAll("g.outside"))));
        Assert.Equal(19, figure.QuerySelectorAll("path.mark").Length);
        Assert.Contains($"Outside: line {lines[17]} with −9.00.", figure.QuerySelector("desc")!.TextContent);
        var row = PrintedSheet.Rows(page.Document, "table.compartments").Single();
        Assert.Equal(["Ferry fares", "20", "0.90", "10.00", "−9.10", "10.90"], row[..6]);
        Assert.Equal([Minus("mean"), Minus("lower"), Minus("upper")], row[6..]);
        Assert.Equal(["2026-10", "20", "0.90", "10.00", "−9.10", "10.90", "−9.10", "10.90"],
            PrintedSheet.Rows(page.Document, "table.months").Single());
        Assert.Equal(20, PrintedSheet.Rows(page.Document, "table.differences").Count);

        string Minus(string name) => chart.GetProperty(name).GetRawText().Replace('-', '−');
    }

    [Fact]
    public async Task Each_compartment_with_two_differences_has_a_chart_beside_that_of_all()
    {
        var household = await shared.HarbourRowAsync();
        foreach (var (compartment, found) in new[] { ("ferry-fares", "63.00"), ("ferry-fares", "62.00"),
            ("market-days", "39.00"), ("market-days", "40.00"), ("rainy-day", "1.00") })
        {
            await SettleAsync(household.Keeper, compartment, found, "2026-11-09");
        }

        var page = PrintedSheet.Of(await household.Keeper.GetAsync("/api/over-and-short", ("Accept", "text/html")));

        Assert.Equal(["All compartments", "Ferry fares", "Market days"],
            page.Document.QuerySelectorAll("figcaption").Select(PrintedSheet.Words));
        Assert.Equal([["keeper", "5", "104.00", "1.00", "103.00", "105.00"]],
            PrintedSheet.Rows(page.Document, "table.keys"));
    }

    [Fact]
    public async Task It_comes_as_a_sheet_too()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "64.00");
        var line = await SettleAsync(household.Keeper, "ferry-fares", "63.00", "2026-11-09");

        Assert.Equal(
            "occurredOn,line,count,compartment,holding,by,reason,difference,net,gross,compartmentNet,"
                + "compartmentGross\r\n"
                + $"2026-11-09,{line},{line - 1},ferry-fares,cash,keeper,Looked everywhere,"
                + "-1.00,-1.00,1.00,-1.00,1.00\r\n",
            (await household.Keeper.GetAsync("/api/over-and-short", ("Accept", "text/csv"))).MustBe(200).Text);
    }

    [Fact]
    public async Task Where_nothing_was_settled_the_report_says_so()
    {
        var household = await shared.HarbourRowAsync();

        var answer = (await household.Keeper.GetAsync("/api/over-and-short")).MustBe(200).Json;

        Assert.Equal(("0.00", "[]"),
            (answer.GetProperty("sums").GetProperty("gross").GetRawText(),
                answer.GetProperty("months").GetRawText()));
        Assert.Contains("Nothing was settled",
            PrintedSheet.Of(await household.Keeper.GetAsync("/api/over-and-short",
                ("Accept", "text/html"))).Document.Body!.TextContent);
    }

    [Theory]
    [InlineData("?from=2026-11", "from")]
    [InlineData("?from=2026-11-10&to=2026-11-09", "from")]
    [InlineData("?to=yesterday", "to")]
    [InlineData("?until=2026-11-09", "until")]
    public async Task A_question_that_does_not_fit_is_refused(string query, string field)
    {
        var household = await shared.HarbourRowAsync();

        (await household.Keeper.GetAsync("/api/over-and-short" + query)).MustBlame(400, "malformed", field);
    }

    private static async Task<long> SettleAsync(ApiClient counter, string compartment, string found, string on)
    {
        var count = (await counter.PostAsync("/api/counts",
            $$"""{"compartment": "{{compartment}}", "total": {{found}}, "occurredOn": "{{on}}"}""")).MustBe(201).Json
            .GetProperty("countId").GetInt64();
        return (await counter.PostAsync($"/api/counts/{count}/settlement",
            $$"""{"reason": "Looked everywhere", "occurredOn": "{{on}}"}""")).MustBe(201).Lines[0];
    }
}
