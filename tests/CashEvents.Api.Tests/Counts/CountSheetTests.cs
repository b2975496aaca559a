using Xunit;

namespace CashEvents.Api.Tests.Counts;

public sealed class CountSheetTests(SharedServer shared)
{
    private static readonly string[] _faces =
        ["500", "200", "100", "50", "20", "10", "5", "2", "1", "0.50", "0.20", "0.10", "0.05", "0.02", "0.01"];

    [Fact]
    public async Task A_sheet_has_a_row_a_denomination_and_a_column_a_compartment_to_fill_in_by_hand()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "64.00");
        var round = await OpenAsync(household, "{}");

        var page = await SheetAsync(household, round);

        Assert.Equal($"Harbour Row: count round {round}", page.Document.Title);
        Assert.Equal(["Oilskin wallet", "Desk drawer"],
            page.Document.QuerySelectorAll("h2").Select(PrintedSheet.Words));
        var tables = page.Document.QuerySelectorAll("table.count");
        Assert.Equal(["value", "Ferry fares", "Market days", "Bakery van"],
            tables[0].QuerySelectorAll("thead th").Select(PrintedSheet.Words));
        var rows = PrintedSheet.Cells(tables[0], "tbody tr");
        // Nobody has a note larger than what lies anywhere.
        Assert.Equal([.. _faces[3..], "other", "total", "expected", "over or short", "counted at", "counted by",
            "confirmed by"], rows.Select(r => r[0]));
        Assert.Equal(["expected", "64.00", "0.00", "0.00"], rows.Single(r => r[0] == "expected"));
        Assert.All(rows.Where(r => r[0] != "expected"), row => Assert.Equal(["", "", ""], row[1..]));
        Assert.Empty(page.Document.QuerySelectorAll("table.wallet"));
    }

    [Fact]
    public async Task A_blind_sheet_has_no_row_for_what_is_expected()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "64.00");
        var round = await OpenAsync(household, """{"blind": true}""");

        var page = await SheetAsync(household, round);

        Assert.Empty(page.Document.QuerySelectorAll("tr.expected, tr.difference"));
        Assert.DoesNotContain("64.00", page.Document.DocumentElement.TextContent);
        // Which rows it has says nothing of what lies there: all that a bank gives.
        Assert.Equal(_faces[1..],
            PrintedSheet.Cells(page.Document.QuerySelector("table.count")!, "tbody tr").Select(r => r[0])
                .TakeWhile(face => face != "other"));
    }

    [Fact]
    public async Task Figures_that_are_in_are_printed_with_their_sum_over_the_wallet()
    {
        var household = await shared.HarbourRowAsync();
        var partner = await household.IssueAsync("partner", "member");
        var round = await OpenAsync(household, """{"wallet": "oilskin-wallet", "blind": true}""");
        (await household.Keeper.PostAsync($"/api/count-rounds/{round}/counts",
            """{"compartment": "ferry-fares", "denominations": {"20": 3, "2": 1}}""")).MustBe(201);
        (await household.Keeper.PostAsync($"/api/count-rounds/{round}/counts",
            """{"compartment": "market-days", "denominations": {"20": 1}}""")).MustBe(201);
        (await household.Keeper.PostAsync($"/api/count-rounds/{round}/counts",
            """{"compartment": "bakery-van", "total": 7.30}""")).MustBe(201);
        (await partner.PostAsync($"/api/count-rounds/{round}/confirmations", """{"compartments": ["ferry-fares"]}"""))
            .MustBe(201);

        var page = await SheetAsync(household, round);

        var rows = PrintedSheet.Rows(page.Document, "table.count").ToDictionary(r => r[0], r => r[1..]);
        Assert.Equal(["3", "1", ""], rows["20"]);
        Assert.Equal(["1", "–", ""], rows["2"]);
        Assert.Equal(["62.00", "20.00", "7.30"], rows["total"]);
        Assert.Equal(["keeper", "keeper", "keeper"], rows["counted by"]);
        Assert.Equal(["partner", "", ""], rows["confirmed by"]);
        Assert.Equal([["20.00", "4", "80.00"], ["2.00", "1", "2.00"], ["without denominations", "", "7.30"]],
            PrintedSheet.Rows(page.Document, "table.wallet"));
        Assert.Equal(["total", "", "89.30"], PrintedSheet.Cells(page.Document, "table.wallet tfoot tr").Single());
    }

    private static async Task<long> OpenAsync(Household household, string json) =>
        (await household.Keeper.PostAsync("/api/count-rounds", json)).MustBe(201).Json.GetProperty("id").GetInt64();

    private static async Task<PrintedSheet> SheetAsync(Household household, long round) =>
        PrintedSheet.Of(await household.Keeper.GetAsync($"/api/count-rounds/{round}/sheet", ("Accept", "text/html")));
}
