using System.Text.Json;
using AngleSharp.Dom;
using Xunit;

namespace CashEvents.Api.Tests.Plans;

/// <summary>The household's today is Sunday 15 November 2026, the last day of 2026-W46.</summary>
public sealed class WeeksPageTests(SharedServer shared)
{
    private static readonly string[] Columns =
        ["planned", "carriedIn", "filled", "spent", "movedIn", "movedOut", "overShort", "corrected", "left", "variance",
            "cumulativeVariance"];

    [Fact]
    public async Task Weeks_print_with_a_table_each_that_has_every_figure_and_a_chart_of_the_plan()
    {
        var household = await PlannedAsync();

        var page = await PrintedSheet.GetAsync(household.Keeper, "/api/weeks?from=2026-W44&to=2026-W46");
        var weeks = (await household.Keeper.GetAsync("/api/weeks?from=2026-W44&to=2026-W46")).MustBe(200).Json
            .GetProperty("weeks").EnumerateArray().ToList();

        Assert.Equal("Harbour Row, 2026-W44 to 2026-W46: planned and spent", page.Document.Title);
        var sections = page.Document.QuerySelectorAll("section.week");
        Assert.Equal(["2026-W44, 26 Oct – 1 Nov 2026", "2026-W45, 2–8 Nov 2026", "2026-W46, 9–15 Nov 2026"],
            sections.Select(s => PrintedSheet.Words(s.QuerySelector("h2")!)));
        Assert.All(sections.Zip(weeks), pair => MustHave(pair.First, pair.Second));
        var chart = Assert.Single(page.Document.QuerySelectorAll("svg"));
        Assert.Equal(
            "2026-W44: no plan, spent 0.00. 2026-W45: planned 25.00, spent 8.40. 2026-W46: planned 25.00, spent −1.60.",
            PrintedSheet.Words(chart.QuerySelector("desc")!));
        Assert.Equal((2 + 1, 3 + 1),
            (chart.QuerySelectorAll("rect.outline").Length, chart.QuerySelectorAll("rect.solid").Length));
    }

    [Fact]
    public async Task A_running_week_shows_its_pace_and_a_chart_by_compartment()
    {
        var household = await PlannedAsync();
        await household.SpendAsync("ferry-fares", "21.60", on: "2026-11-10");

        var page = await PrintedSheet.GetAsync(household.Keeper, "/api/weeks/2026-W46");

        Assert.Contains("7 days of 7 days gone, 100 %.", page.Document.QuerySelector("section.week p")!.TextContent);
        var ferry = PrintedSheet.Rows(page.Document, "table.weeks")[0];
        // 31.60 left, 20.00 spent in 7 days: it lasts 11.06 days more, and ends on the twelfth.
        Assert.Equal(["80 %", "2026-11-27"], ferry[^2..]);
        Assert.StartsWith("Ferry fares: planned 25.00, spent 20.00. Market days: no plan, spent 0.00.",
            PrintedSheet.Words(page.Document.QuerySelector("svg desc")!));
    }

    [Fact]
    public async Task A_month_prints_its_cut_weeks_and_the_whole_of_it()
    {
        var household = await PlannedAsync();

        var page = await PrintedSheet.GetAsync(household.Keeper, "/api/months/2026-11/weeks");
        var month = (await household.Keeper.GetAsync("/api/months/2026-11/weeks")).MustBe(200).Json;

        var sections = page.Document.QuerySelectorAll("section.week").ToList();
        Assert.Equal(["2026-W44, 1 Nov 2026", "2026-W49, 30 Nov 2026", "The whole month"],
            new[] { sections[0], sections[^2], sections[^1] }.Select(s => PrintedSheet.Words(s.QuerySelector("h2")!)));
        Assert.All(sections.SkipLast(1).Zip(month.GetProperty("weeks").EnumerateArray()),
            pair => MustHave(pair.First, pair.Second));
        MustHave(sections[^1], month);
    }

    [Fact]
    public async Task A_hundred_and_ten_weeks_are_drawn_on_one_scale_over_several_charts()
    {
        var household = await PlannedAsync();

        var page = await PrintedSheet.GetAsync(household.Keeper, "/api/weeks?from=2024-W42&to=2026-W46");

        var charts = page.Document.QuerySelectorAll("svg").ToList();
        Assert.Equal(6, charts.Count);
        Assert.Single(charts.Select(
            c => string.Join(" ", c.QuerySelectorAll("text.day").Select(mark => mark.TextContent))).Distinct());
        Assert.Equal(109, page.Document.QuerySelectorAll("section.week").Length);
    }

    private static void MustHave(IElement section, JsonElement week)
    {
        var rows = PrintedSheet.Rows(section, "table.weeks").Concat(PrintedSheet.Cells(section, "table.weeks tfoot tr"))
            .ToList();
        Assert.Equal(
            [.. week.GetProperty("compartments").EnumerateArray()
                .Select(c => Printed(c.GetProperty("label").GetString()!, c)),
                Printed("total", week.GetProperty("totals"))],
            rows.Select(row => string.Join(" | ",
                row.Take(1).Concat(row.Skip(1).Take(Columns.Length)
                    .Select(cell => cell.Length == 0 ? "" : PrintedSheet.Figure(cell).ToString("0.00"))))));
    }

    private static string Printed(string name, JsonElement figures) =>
        string.Join(" | ", Columns.Select(
            column => figures.TryGetProperty(column, out var figure) ? figure.GetDecimal().ToString("0.00") : "")
            .Prepend(name));

    // 25.00 a week for the ferry from 2026-W45 on: 60.00 filled, 8.40 spent, 1.60 given back.
    private async Task<Household> PlannedAsync()
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PutAsync("/api/plan", """{"from": "2026-W45", "amounts": {"ferry-fares": 25.00}}"""))
            .MustBe(200);
        await household.FillAsync("ferry-fares", "60.00");
        await household.SpendAsync("ferry-fares", "8.40");
        (await household.Keeper.PostAsync("/api/refunds",
            """{"compartment": "ferry-fares", "amount": 1.60, "occurredOn": "2026-11-09"}""")).MustBe(201);
        return household;
    }
}
