using System.Text.Json;
using AngleSharp.Dom;
using Xunit;

namespace CashEvents.Api.Tests.Months;

/// <summary>The household's today is Sunday 15 November 2026.</summary>
public sealed class TrailPageTests(SharedServer shared)
{
    private const string Rope = "Two \"good\" ropes & <b>a hook</b>";

    private static readonly string[] Columns =
        ["opening", "filled", "spent", "refunded", "movedIn", "movedOut", "sweptIn", "sweptOut", "over", "short",
            "corrected", "closing"];

    [Fact]
    public async Task The_first_leaf_is_the_household_with_all_its_figures()
    {
        var household = await NovemberAsync();

        var page = await PrintedSheet.GetAsync(household.Keeper, "/api/months/2026-11/trail");
        var trail = (await household.Keeper.GetAsync("/api/months/2026-11/trail")).MustBe(200).Json;

        Assert.Equal("Harbour Row, November 2026: trail", page.Document.Title);
        var first = page.Document.QuerySelector("main > section")!;
        Assert.Contains("The month is not closed.", first.TextContent);
        Assert.Equal(trail.GetProperty("hash").GetString(), first.QuerySelector(".hash")!.TextContent);
        Assert.Equal(
            [.. Of(trail, "wallets").Select(
                w => Printed(w.GetProperty("label").GetString()!, w.GetProperty("figures"))),
                Printed("Household", trail.GetProperty("household"))],
            Figures(first));
        Assert.Equal(
            Of(trail, "writers").Select(
                w => (w.GetProperty("by").GetString(), w.GetProperty("kind").GetString(),
                    w.GetProperty("lines").GetDecimal(), w.GetProperty("amount").GetDecimal())),
            PrintedSheet.Rows(first, "table.writers")
                .Select(r => ((string?)r[0], (string?)r[1], PrintedSheet.Figure(r[2]), PrintedSheet.Figure(r[3]))));
        Assert.Equal(
            Of(trail.GetProperty("trialBalance"), "accounts")
                .Select(a => (a.GetProperty("debit").GetDecimal(), a.GetProperty("credit").GetDecimal())),
            PrintedSheet.Rows(first, "table.trial")
                .Select(r => (PrintedSheet.Figure(r[1]), PrintedSheet.Figure(r[2]))));
        Assert.Equal(["Total; difference 0.00", "141.00", "141.00"],
            PrintedSheet.Cells(first, "table.trial tfoot tr").Single());
        Assert.Equal(
            ["Ferry fares, cash", "Market days, cash", "Bakery van, cash", "Boat insurance, cash",
                "Boat insurance, bank", "Rainy day, cash", "Brought forward", "(filled)", "(spent)", "(refunded)"],
            PrintedSheet.Rows(first, "table.trial").Select(r => r[0]));
        Assert.Equal(
            [["Ferry fares", "count 17 not settled", "2026-11-08", "−0.50"],
                ["Market days", "not counted", "2026-11-15", ""], ["Rainy day", "not counted", "2026-11-05", ""]],
            PrintedSheet.Rows(first, "table.open"));
    }

    [Fact]
    public async Task What_moved_between_compartments_stands_in_a_matrix()
    {
        var household = await NovemberAsync();

        var page = await PrintedSheet.GetAsync(household.Keeper, "/api/months/2026-11/trail");

        var table = page.Document.QuerySelector("table.moves")!;
        Assert.Equal(["from \\ to", "Rainy day", "Boat insurance, bank", "total"],
            PrintedSheet.Cells(table, "thead tr").Single());
        Assert.Equal([["Ferry fares", "10.00", "", "10.00"], ["Market days", "", "4.00", "4.00"],
            ["total", "10.00", "4.00", "14.00"]], PrintedSheet.Cells(table, "tbody tr, tfoot tr"));
    }

    [Fact]
    public async Task Each_wallet_has_a_leaf_of_its_own_with_the_figures_of_its_compartments_and_their_parts()
    {
        var household = await NovemberAsync();

        var page = await PrintedSheet.GetAsync(household.Keeper, "/api/months/2026-11/trail");

        var leaves = page.Document.QuerySelectorAll("section.wallet.leaf");
        Assert.Equal(["Oilskin wallet", "Desk drawer"], leaves.Select(l => l.QuerySelector("h1")!.TextContent));
        Assert.Contains("break-before: page", page.Style("section.leaf"));
        Assert.Contains("table-header-group", page.Style("thead"));
        Assert.Contains("break-inside: avoid", page.Style("tr"));
        Assert.Equal(
            [
                "Ferry fares | 12.50 60.00 8.40 1.20 0.00 10.00 0.00 0.00 0.00 0.00 0.00 55.30",
                "Market days | 0.00 30.00 7.00 0.00 0.00 4.00 0.00 0.00 0.00 0.00 0.00 19.00",
                "Bakery van | 0.00 0.00 0.00 0.00 0.00 0.00 0.00 0.00 0.00 0.00 0.00 0.00",
                "Oilskin wallet | 12.50 90.00 15.40 1.20 0.00 14.00 0.00 0.00 0.00 0.00 0.00 74.30",
            ],
            Figures(leaves[0]));
        Assert.Equal(
            [
                "Boat insurance | 37.30 0.00 0.00 0.00 4.00 0.00 0.00 0.00 0.00 0.00 0.00 41.30",
                "in cash | 0.00 0.00 0.00 0.00 0.00 0.00 0.00 0.00 0.00 0.00 0.00 0.00",
                "in the bank | 37.30 0.00 0.00 0.00 4.00 0.00 0.00 0.00 0.00 0.00 0.00 41.30",
                "Rainy day | 0.00 0.00 0.00 0.00 10.00 0.00 0.00 0.00 0.00 0.00 0.00 10.00",
                "Desk drawer | 37.30 0.00 0.00 0.00 14.00 0.00 0.00 0.00 0.00 0.00 0.00 51.30",
            ],
            Figures(leaves[1]));
    }

    [Fact]
    public async Task Every_line_stands_on_the_leaf_of_each_wallet_that_it_touches_with_its_marks()
    {
        var household = await NovemberAsync();

        var page = await PrintedSheet.GetAsync(household.Keeper, "/api/months/2026-11/trail");
        var trail = (await household.Keeper.GetAsync("/api/months/2026-11/trail")).MustBe(200).Json;

        var leaves = page.Document.QuerySelectorAll("section.wallet")
            .Select(leaf => PrintedSheet.Rows(leaf, "table.lines")).ToList();
        Assert.Equal(
            [
                ["1 Nov", "13", "fill", "Ferry fares", "", "60.00", "keeper", "late 14 days"],
                ["1 Nov", "18", "fill", "Market days", "", "30.00", "keeper", "late 14 days"],
                ["3 Nov", "14", "spend", "Ferry fares", Rope, "−8.40", "keeper", "late 12 days"],
                ["4 Nov", "15", "refund", "Ferry fares", "", "1.20", "keeper", "late 11 days"],
                ["5 Nov", "16", "transfer", "Ferry fares → Rainy day", "", "10.00", "keeper", "late 10 days"],
                ["8 Nov", "17", "count", "Ferry fares", "", "", "keeper",
                    "counted 54.80, expected 55.30, with partner; unsettled: −0.50; late 7 days"],
                ["9 Nov", "19", "transfer", "Market days → Boat insurance, bank", "", "4.00", "keeper", "late 6 days"],
                ["15 Nov", "20", "spend", "Market days", "", "−7.00", "keeper", ""],
            ],
            leaves[0]);
        Assert.Equal([["5 Nov", "16"], ["9 Nov", "19"]], leaves[1].Select(r => r[..2]));
        Assert.Equal(
            Of(trail, "lines").Select(l => l.GetProperty("line").GetProperty("line").GetRawText()).Order(),
            leaves.SelectMany(l => l).Select(r => r[1]).Distinct().Order());
    }

    [Fact]
    public async Task Balances_and_the_plan_are_drawn_and_told_in_words()
    {
        var household = await NovemberAsync();
        (await household.Keeper.PutAsync("/api/plan", """{"from": "2026-W44", "amounts": {"ferry-fares": 14.00}}"""))
            .MustBe(200);

        var page = await PrintedSheet.GetAsync(household.Keeper, "/api/months/2026-11/trail");

        var charts = page.Document.QuerySelectorAll("section.wallet")
            .Select(leaf => leaf.QuerySelectorAll("svg desc").Select(PrintedSheet.Words).ToList()).ToList();
        Assert.Equal(
            [
                "1 Ferry fares: 12.50 at the start, 55.30 at the end, between 12.50 and 72.50. 2 Market days: 0.00 at "
                    + "the start, 19.00 at the end, between 0.00 and 30.00. 3 Bakery van: 0.00 at the start, 0.00 at "
                    + "the end, between 0.00 and 0.00.",
                "2026-W44: planned 2.00, spent 0.00. 2026-W45: planned 14.00, spent 7.20. 2026-W46: planned 14.00, "
                    + "spent 7.00. 2026-W47: planned 14.00, spent 0.00. 2026-W48: planned 14.00, spent 0.00. 2026-W49: "
                    + "planned 2.00, spent 0.00.",
            ],
            charts[0]);
        Assert.Equal(["1 Boat insurance: 37.30 at the start, 41.30 at the end, between 37.30 and 41.30. 2 Rainy day: "
            + "0.00 at the start, 10.00 at the end, between 0.00 and 10.00."], charts[1]);
        var lines = page.Document.QuerySelector("section.wallet svg")!.QuerySelectorAll("path.line")
            .Select(l => l.GetAttribute("style")).Distinct();
        Assert.Equal(3, lines.Count());
    }

    [Fact]
    public async Task Corrections_are_marked_and_what_is_undone_is_struck_through()
    {
        var household = await NovemberAsync();
        (await household.Keeper.PostAsync("/api/lines/14/amendment",
            """{"reason": "Read the bill again", "replacement": {"kind": "spend", "compartment": "ferry-fares", "amount": 8.90, "occurredOn": "2026-11-03"}}""")).MustBe(201);
        (await household.Keeper.PostAsync("/api/lines/19/reversal", """{"reason": "Never moved"}""")).MustBe(201);

        var page = await PrintedSheet.GetAsync(household.Keeper, "/api/months/2026-11/trail");

        var rows = PrintedSheet.Rows(page.Document.QuerySelector("section.wallet")!, "table.lines")
            .ToDictionary(r => r[1]);
        string Marked(string line) => $"{rows[line][5]} {rows[line][7]}";
        Assert.Equal(
            ("−8.40 late 12 days; undone by 21; replaced by 22", "8.40 late 12 days; undoes 14", "−8.90 late 12 days; "
                + "instead of 14"),
            (Marked("14"), Marked("21"), Marked("22")));
        Assert.Equal(["Boat insurance, bank → Market days", "Never moved", "4.00"], rows["23"][3..6]);
        Assert.Equal(["14", "19"],
            page.Document.QuerySelector("section.wallet")!.QuerySelectorAll("tr.undone")
                .Select(r => r.Children[1].TextContent));
        Assert.Contains("line-through", page.Style("tr.undone td"));
        Assert.Equal(["from \\ to", "Rainy day", "total"],
            PrintedSheet.Cells(page.Document, "table.moves thead tr").Single());
    }

    [Fact]
    public async Task Many_compartments_are_drawn_a_few_to_a_chart()
    {
        var household = await shared.HarbourRowAsync();
        foreach (var i in Enumerable.Range(1, 10))
        {
            (await household.Keeper.PostAsync("/api/compartments",
                $$"""{"label": "Upkeep of cottage no. {{i}} and everything that belongs to it", "wallet": "oilskin-wallet", "purpose": "saving"}""")).MustBe(201);
        }

        var page = await PrintedSheet.GetAsync(household.Keeper, "/api/months/2026-11/trail");

        var charts = page.Document.QuerySelectorAll("section.wallet")[0].QuerySelectorAll("figure")
            .Where(f => f.QuerySelector("path.line") is not null).ToList();
        Assert.Equal(3, charts.Count);
        Assert.Equal(Enumerable.Range(1, 13).Select(n => $"{n}").Order(),
            charts.SelectMany(c => c.QuerySelectorAll("text.label")).Select(l => l.TextContent.Split(' ')[0]).Order());
        Assert.All(charts, chart => Assert.True(chart.QuerySelectorAll("text.label").Length <= 6));
    }

    [Fact]
    public async Task A_closed_month_says_who_closed_it_and_why_and_its_lines_are_drawn_to_its_end()
    {
        var household = await NovemberAsync();
        (await household.Keeper.PostAsync("/api/months/2026-10/close",
            """{"reason": "The wallet is at sea & \"safe\""}""")).MustBe(201);

        var page = await PrintedSheet.GetAsync(household.Keeper, "/api/months/2026-10/trail");

        Assert.Contains("Closed by keeper, line 21, 15 Nov 2026, 12:00: The wallet is at sea & \"safe\".",
            PrintedSheet.Words(page.Document.QuerySelector("main > section p")!));
    }

    [Fact]
    public async Task A_compartment_that_was_counted_empty_and_closed_since_is_still_there_with_its_count()
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PostAsync("/api/counts",
            """{"compartment": "bakery-van", "total": 0.00, "occurredOn": "2026-11-08"}""")).MustBe(201);
        (await household.Keeper.PatchAsync("/api/compartments/bakery-van", """{"closed": true}""")).MustBe(200);

        var page = await PrintedSheet.GetAsync(household.Keeper, "/api/months/2026-11/trail");

        Assert.Equal(["8 Nov", "11", "count", "Bakery van"],
            PrintedSheet.Rows(page.Document.QuerySelector("section.wallet")!, "table.lines").Single()[..4]);
    }

    [Theory]
    [InlineData("0001-01")]
    [InlineData("9999-12")]
    public async Task A_month_at_the_ends_of_the_calendar_prints_without_weeks(string month)
    {
        var household = await shared.HarbourRowAsync();

        var page = await PrintedSheet.GetAsync(household.Keeper, $"/api/months/{month}/trail");

        Assert.Empty(page.Document.QuerySelectorAll("rect"));
    }

    private static JsonElement.ArrayEnumerator Of(JsonElement json, string list) =>
        json.GetProperty(list).EnumerateArray();

    private static string Printed(string name, JsonElement figures) =>
        $"{name} | "
            + string.Join(' ', Columns.Select(column => figures.GetProperty(column).GetDecimal().ToString("0.00")));

    private static List<string> Figures(IElement section) =>
    [
        .. PrintedSheet.Cells(section, "table.figures tbody tr, table.figures tfoot tr")
            .Select(row => $"{row[^13]} | "
                + $"{string.Join(' ', row[^12..].Select(cell => PrintedSheet.Figure(cell).ToString("0.00")))}"),
    ];

    private async Task<Household> NovemberAsync()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "12.50", on: "2026-10-30");
        await household.FillAsync("boat-insurance", "37.30", on: "2026-10-30", holding: "bank");
        await household.FillAsync("ferry-fares", "60.00");
        await household.SpendAsync("ferry-fares", "8.40", description: Rope);
        (await household.Keeper.PostAsync("/api/refunds",
            """{"compartment": "ferry-fares", "amount": 1.20, "occurredOn": "2026-11-04"}""")).MustBe(201);
        (await household.Keeper.PostAsync("/api/transfers",
            """{"from": "ferry-fares", "to": "rainy-day", "amount": 10.00, "occurredOn": "2026-11-05"}""")).MustBe(201);
        (await household.Keeper.PostAsync("/api/counts",
            """{"compartment": "ferry-fares", "total": 54.80, "occurredOn": "2026-11-08", "witness": "partner"}"""))
            .MustBe(201);
        await household.FillAsync("market-days", "30.00");
        (await household.Keeper.PostAsync("/api/transfers",
            """{"from": "market-days", "to": {"compartment": "boat-insurance", "holding": "bank"}, "amount": 4.00, "occurredOn": "2026-11-09"}""")).MustBe(201);
        await household.SpendAsync("market-days", "7.00", on: "2026-11-15");
        return household;
    }
}
