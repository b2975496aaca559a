using Xunit;

namespace CashEvents.Api.Tests.Printing;

/// <summary>What every page says of the book, and pages that have one of their own.</summary>
public sealed class ImprintTests(SharedServer shared)
{
    [Theory]
    [InlineData("/api/wallets")]
    [InlineData("/api/months")]
    [InlineData("/api/months/2026-11/trail")]
    [InlineData("/api/months/2026-11/trackers")]
    [InlineData("/api/months/2026-11/weeks")]
    [InlineData("/api/over-and-short")]
    [InlineData("/api/outlook")]
    [InlineData("/api/saving-plans/rainy-day")]
    public async Task A_page_names_the_books_last_line_with_the_beginning_of_its_hash_on_each_sheet(string path)
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PutAsync("/api/saving-plans/rainy-day",
            """{"first": 1.00, "growth": 1.00, "count": 3}""")).MustBe(200);
        var last = (await household.LinesAsync())[^1];

        var page = await PrintedSheet.GetAsync(household.Keeper, path);

        var book = $"line {last.GetProperty("line")} {last.GetProperty("hash").GetString()![..8]}";
        Assert.Contains(book, page.Document.Body!.TextContent, StringComparison.Ordinal);
        Assert.Contains("@bottom-left { content: \"", page.Document.QuerySelectorAll("style")[1].TextContent,
            StringComparison.Ordinal);
        Assert.Contains(book, page.Document.QuerySelectorAll("style")[1].TextContent, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("Quay House", "Quay House")]
    [InlineData("\"}</style>", @"\000022 \00007D \00003C \00002F style\00003E ")]
    [InlineData("Süd\n", @"S\0000FC d\00000A ")]
    public void No_name_ends_a_style_sheet(string name, string written) =>
        Assert.Equal(written, Imprint.InStyle(name));

    [Fact]
    public async Task Front_sheets_have_each_wallets_compartments_with_cash_and_bank_and_the_households_total()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "60.00");
        await household.FillAsync("ferry-fares", "15.50", holding: "bank");
        await household.FillAsync("boat-insurance", "7.00");
        (await household.Keeper.PostAsync("/api/counts",
            """{"compartment": "ferry-fares", "total": 58.00, "occurredOn": "2026-11-15"}""")).MustBe(201);

        var page = (await PrintedSheet.GetAsync(household.Keeper, "/api/wallets?size=a6")).Document;

        var sheets = page.QuerySelectorAll(".front");
        Assert.Equal(["Oilskin wallet", "Desk drawer", "Harbour Row"],
            sheets.Select(s => PrintedSheet.Words(s.QuerySelector("strong")!)));
        Assert.Equal(["Ferry fares cash 60.00, bank 15.50 counted 15 Nov 2026, 2.00 short", "75.50"],
            PrintedSheet.Rows(sheets[0], "table")[0]);
        Assert.Equal([["in cash", "60.00"], ["in the bank", "15.50"], ["together", "75.50"]],
            PrintedSheet.Cells(sheets[0], "tfoot tr"));
        Assert.Equal(["all", "82.50"], PrintedSheet.Cells(sheets[2], "tfoot tr")[^1]);
    }

    [Fact]
    public async Task Saving_steps_have_a_box_each_and_those_done_are_ticked()
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PutAsync("/api/saving-plans/rainy-day",
            """{"first": 1.00, "growth": 1.00, "count": 52, "from": "2026-11-15"}""")).MustBe(200);
        (await household.Keeper.PostAsync("/api/saving-plans/rainy-day/steps", """{"number": 2}""")).MustBe(201);

        var page = (await PrintedSheet.GetAsync(household.Keeper, "/api/saving-plans/rainy-day")).Document;

        var steps = page.QuerySelectorAll(".step").Select(PrintedSheet.Words).ToList();
        Assert.Equal(52, steps.Count);
        Assert.Equal(["1 15 Nov 2026 1.00 1.00", "✓ 2 22 Nov 2026 2.00 3.00"], steps[..2]);
        Assert.EndsWith("1,378.00", steps[^1], StringComparison.Ordinal);
    }
}
