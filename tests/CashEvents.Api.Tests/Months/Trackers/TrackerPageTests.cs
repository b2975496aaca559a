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
        Assert.All(strips, (strip, i) =>
            Assert.StartsWith($"Ferry fares November 2026, strip {i + 1} of 2 Harbour Row, EUR, book at line ",
                PrintedSheet.Words(strip.QuerySelector("header")!)));
        Assert.Contains("width: 80mm", page.Style(".strip"));
        Assert.Contains("dashed", page.Style(".strip"));
        Assert.Contains("break-inside: avoid", page.Style(".strip"));

        var rows = PrintedSheet.Rows(page.Document, ".strip table").Where(r => r[0].Length > 0).ToList();
        Assert.Equal(
            sheet.GetProperty("rows").EnumerateArray()
                .Select(r => (Text(r), r.GetProperty("amount").GetDecimal(), r.GetProperty("balance").GetDecimal())),
            rows.Select(r => (r[1], PrintedSheet.Figure(r[2]), PrintedSheet.Figure(r[3]))));
        Assert.Equal("3 Nov", rows[^1][0]);
        var balances = PrintedSheet.Cells(page.Document, ".strip tr.balance").Select(r => $"{r[1]} {r[3]}");
        Assert.Equal(["opening balance 60.00", "carried forward 1,241.50", "brought forward 1,241.50",
            "closing balance 1,239.50"], balances);
        Assert.Equal(18, PrintedSheet.Rows(strips[1], "table").Count(r => r.All(cell => cell.Length == 0)));
    }

    [Fact]
    public async Task A_sheet_of_one_holding_says_which()
    {
        var household = await shared.HarbourRowAsync();

        var page = await PrintedSheet.GetAsync(household.Keeper,
            "/api/compartments/ferry-fares/tracker?month=2026-11&holding=bank");

        Assert.StartsWith("Ferry fares November 2026, bank Harbour Row",
            PrintedSheet.Words(page.Document.QuerySelector(".strip header")!));
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
