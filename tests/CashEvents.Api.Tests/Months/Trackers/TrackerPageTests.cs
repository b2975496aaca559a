using System.Text.Json;
using Xunit;

namespace CashEvents.Api.Tests.Months;

public sealed class TrackerPageTests(SharedServer shared)
{
    [Fact]
    public async Task A_sheet_prints_as_strips_that_each_name_compartment_and_month_and_have_every_row_among_them()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "60.00", on: "2026-10-30");
        await household.FillAsync("ferry-fares", "1200.50", holding: "bank");
        foreach (var i in Enumerable.Range(1, 21))
        {
            await household.SpendAsync("ferry-fares", "1.00", description: $"Boat {i}, <b>\"return\"</b> & \\back");
        }

        var page = await PrintedSheet.GetAsync(household.Keeper, "/api/compartments/ferry-fares/tracker?month=2026-11");
        var sheet = (await household.Keeper.GetAsync("/api/compartments/ferry-fares/tracker?month=2026-11"))
            .MustBe(200).Json;

        Assert.Equal("Ferry fares, November 2026: tracker", page.Document.Title);
        var strips = page.Document.QuerySelectorAll(".strip");
        Assert.Equal(2, strips.Length);
        Assert.All(strips, (strip, i) => Assert.Equal($"Ferry fares November 2026, so far 15 Nov {i + 1} of 2",
            PrintedSheet.Words(strip.QuerySelector("header")!)));
        var last = (await household.LinesAsync())[^1];
        Assert.All(strips, strip => Assert.Equal(
            $"Harbour Row, EUR, line {last.GetProperty("line")} {last.GetProperty("hash").GetString()![..8]}",
            PrintedSheet.Words(strip.QuerySelector("footer")!)));
        Assert.Contains("width: 90mm", page.Document.QuerySelectorAll("style")[1].TextContent);
        Assert.Contains("dashed", page.Style(".strip"));
        // The second strip is the back of the first: they are folded, and not cut.
        Assert.Equal(["strip", "strip back"], page.Document.QuerySelector(".cut")!.Children.Select(s => s.ClassName));
        Assert.Contains("break-inside: avoid", page.Style(".strip"));

        var rows = PrintedSheet.Rows(page.Document, ".strip table").Where(r => r[0].Length > 0).ToList();
        Assert.Equal(
            sheet.GetProperty("rows").EnumerateArray()
                .Select(r => (Text(r), r.GetProperty("amount").GetDecimal(), r.GetProperty("balance").GetDecimal())),
            rows.Select(r => (r[1], PrintedSheet.Figure(r[2]), PrintedSheet.Figure(r[3]))));
        Assert.Equal("3", rows[^1][0]);
        var balances = PrintedSheet.Cells(page.Document, ".strip tr.balance").Select(r => $"{r[1]} {r[3]}");
        Assert.Equal(["opening balance 60.00", "carried forward 1,248.50", "brought forward 1,248.50",
            "so far, 15 Nov 1,239.50"], balances);
        Assert.Equal(4, PrintedSheet.Rows(strips[1], "table").Count(r => r.All(cell => cell.Length == 0)));
    }

    [Fact]
    public async Task A_sheet_of_one_holding_says_which()
    {
        var household = await shared.HarbourRowAsync();

        var page = await PrintedSheet.GetAsync(household.Keeper,
            "/api/compartments/ferry-fares/tracker?month=2026-11&holding=bank");

        Assert.Equal("Ferry fares November 2026, so far 15 Nov bank only",
            PrintedSheet.Words(page.Document.QuerySelector(".strip header")!));
    }

    [Fact]
    public async Task A_month_that_is_over_has_a_closing_balance_and_as_many_blank_rows_as_are_asked_for()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "60.00", on: "2026-10-30");

        var page = await PrintedSheet.GetAsync(household.Keeper,
            "/api/compartments/ferry-fares/tracker?month=2026-10&size=note-20&blank=12");

        Assert.Equal(["closing balance 60.00"],
            PrintedSheet.Cells(page.Document, ".strip tr.balance").Select(r => $"{r[1]} {r[3]}").Skip(3));
        Assert.Equal(12, page.Document.QuerySelectorAll(".strip.back tr.empty").Length);
        Assert.Contains("width: 72mm; min-height: 133mm", page.Document.QuerySelectorAll("style")[1].TextContent);
    }

    [Fact]
    public async Task All_sheets_of_a_wallet_are_on_one_page_to_cut_apart()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "60.00", on: "2026-11-02");

        var page = await PrintedSheet.GetAsync(household.Keeper,
            "/api/months/2026-11/trackers?wallet=oilskin-wallet&size=note-20");
        var told = (await household.Keeper.GetAsync("/api/months/2026-11/trackers")).MustBe(200).Json;

        Assert.Equal(["Ferry fares", "Market days", "Bakery van"],
            page.Document.QuerySelectorAll(".strip header strong").Select(PrintedSheet.Words));
        Assert.Equal(
            ["ferry-fares", "market-days", "bakery-van", "boat-insurance", "rainy-day"],
            told.GetProperty("trackers").EnumerateArray().Select(t => t.GetProperty("compartment").GetString()!));
        Assert.Equal("60.00", told.GetProperty("trackers")[0].GetProperty("closingBalance").GetRawText());
        (await household.Keeper.GetAsync("/api/months/2026-11/trackers?wallet=lighthouse"))
            .MustBeProblem(404, "wallet-unknown");
    }

    [Theory]
    [InlineData("size", "size=a4")]
    [InlineData("size", "size=note-25")]
    [InlineData("blank", "blank=41")]
    public async Task A_size_that_there_is_not_is_refused(string parameter, string query)
    {
        var household = await shared.HarbourRowAsync();

        (await household.Keeper.GetAsync($"/api/months/2026-11/trackers?{query}"))
            .MustBlame(400, "malformed", parameter);
    }

    [Fact]
    public async Task A_page_that_can_not_be_printed_is_refused_like_any_other_answer()
    {
        var household = await shared.HarbourRowAsync();

        (await household.Keeper.GetAsync("/api/compartments/lighthouse/tracker", ("Accept", "text/html")))
            .MustBeProblem(404, "compartment-unknown");
    }

    private static string Text(JsonElement row) =>
        (row.GetProperty("description").GetString() is { Length: > 0 } words
            ? words
            : row.GetProperty("kind").GetString()!)
                + (row.GetProperty("holding").GetString() == "bank" ? " (bank)" : "");
}
