using System.Text.Json;
using Xunit;

namespace CashEvents.Api.Tests.Months;

/// <summary>Months side by side. The household's today is Sunday 15 November 2026.</summary>
public sealed class MonthsTests(SharedServer shared)
{
    [Fact]
    public async Task The_months_since_the_book_s_first_stand_side_by_side_with_who_closed_them()
    {
        var household = await AutumnAsync();

        var months = (await household.Keeper.GetAsync("/api/months")).MustBe(200);

        var closedAt = (await household.Keeper.GetAsync("/api/lines/14")).Json.GetProperty("recordedAt").GetString();
        months.MustHave($$"""
            {"currency": "EUR",
             "months": [
               {"month": "2026-09", "closed": {"line": 14, "by": "keeper", "recordedAt": "{{closedAt}}", "reason": "All was counted on paper", "with": "2026-10"},
                "figures": {"opening": 0.00, "filled": 40.00, "spent": 0.00, "refunded": 0.00, "movedIn": 0.00, "movedOut": 0.00, "sweptIn": 0.00, "sweptOut": 0.00, "over": 0.00, "short": 0.00, "corrected": 0.00, "closing": 40.00},
                "closingCash": 40.00, "closingBank": 0.00},
               {"month": "2026-10", "closed": {"line": 14, "by": "keeper", "recordedAt": "{{closedAt}}", "reason": "All was counted on paper"},
                "figures": {"opening": 40.00, "filled": 50.00, "spent": 8.40, "refunded": 0.00, "movedIn": 0.00, "movedOut": 0.00, "sweptIn": 0.00, "sweptOut": 0.00, "over": 0.00, "short": 0.00, "corrected": 0.00, "closing": 81.60},
                "closingCash": 31.60, "closingBank": 50.00},
               {"month": "2026-11",
                "figures": {"opening": 81.60, "filled": 0.00, "spent": 0.00, "refunded": 0.00, "movedIn": 5.00, "movedOut": 5.00, "sweptIn": 0.00, "sweptOut": 0.00, "over": 0.00, "short": 0.00, "corrected": 8.40, "closing": 90.00},
                "closingCash": 40.00, "closingBank": 50.00}],
             "totals": {"opening": 0.00, "filled": 90.00, "spent": 8.40, "refunded": 0.00, "movedIn": 5.00, "movedOut": 5.00, "sweptIn": 0.00, "sweptOut": 0.00, "over": 0.00, "short": 0.00, "corrected": 8.40, "closing": 90.00},
             "bookLine": 16}
            """);
    }

    [Fact]
    public async Task A_month_before_the_first_one_closed_is_closed_with_it_and_its_trail_says_so()
    {
        var household = await AutumnAsync();

        var trail = (await household.Keeper.GetAsync("/api/months/2026-09/trail")).MustBe(200).Json;
        var page = await PrintedSheet.GetAsync(household.Keeper, "/api/months/2026-09/trail");

        Assert.Equal(("2026-10", 14L),
            (trail.GetProperty("closed").GetProperty("with").GetString(),
                trail.GetProperty("closed").GetProperty("line").GetInt64()));
        Assert.Equal((await household.Keeper.GetAsync("/api/lines/14")).Json.GetProperty("hash").GetString(),
            trail.GetProperty("hash").GetString());
        Assert.Equal("[]", trail.GetProperty("open").GetRawText());
        Assert.Contains("Closed with 2026-10 by keeper, line 14", page.Document.Body!.TextContent);
        (await household.Keeper.PostAsync("/api/months/2026-10/reopen", """{"reason": "A fill was forgotten"}"""))
            .MustBe(201);
        Assert.All(
            (await household.Keeper.GetAsync("/api/months")).MustBe(200).Json.GetProperty("months").EnumerateArray(),
            month => Assert.False(month.TryGetProperty("closed", out _)));
    }

    [Fact]
    public async Task The_figures_are_those_of_the_trails_whatever_is_written()
    {
        var seed = SameSeedsAttribute.Next();
        TestContext.Current.TestOutputHelper?.WriteLine($"Seed {seed}");
        var household = await shared.HarbourRowAsync();
        await new GeneratedHistory(household, seed).SendAsync(150);
        (await household.Keeper.PostAsync("/api/months/2026-09/close", """{"reason": "As it stands"}""")).MustBe(201);
        await new GeneratedHistory(household, seed + 1).SendAsync(50);

        var months = (await household.Keeper.GetAsync("/api/months?from=2026-08")).MustBe(200).Json
            .GetProperty("months").EnumerateArray().ToList();

        Assert.Equal(["2026-08", "2026-09", "2026-10", "2026-11"], months.Select(Named));
        foreach (var month in months)
        {
            var trail = (await household.Keeper.GetAsync($"/api/months/{Named(month)}/trail")).MustBe(200).Json;
            Assert.Equal(trail.GetProperty("household").GetRawText(), month.GetProperty("figures").GetRawText());
            Assert.Equal(Text(trail, "closed"), Text(month, "closed"));
            foreach (var (holding, closing) in new[] { ("cash", "closingCash"), ("bank", "closingBank") })
            {
                Assert.Equal(
                    trail.GetProperty("places").EnumerateArray()
                        .Where(p => p.GetProperty("holding").GetString() == holding)
                        .Sum(p => p.GetProperty("figures").GetProperty("closing").GetDecimal()),
                    month.GetProperty(closing).GetDecimal());
            }
        }
    }

    [Fact]
    public async Task They_come_as_csv_and_on_paper_too()
    {
        var household = await AutumnAsync();

        var sheet = (await household.Keeper.GetAsync("/api/months?from=2026-11", ("Accept", "text/csv"))).MustBe(200);
        var page = await PrintedSheet.GetAsync(household.Keeper, "/api/months");

        Assert.Equal(
            "month,closedBy,closedAt,opening,filled,spent,refunded,movedIn,movedOut,sweptIn,sweptOut,over,short,corrected,closing,closingCash,closingBank\r\n2026-11,,,81.60,0.00,0.00,0.00,5.00,5.00,0.00,0.00,0.00,0.00,8.40,90.00,40.00,50.00\r\n",
            sheet.Text);
        Assert.Equal("Harbour Row: months, September 2026 to November 2026",
            page.Document.QuerySelector("h1")!.TextContent);
        Assert.Equal(["September 2026", "October 2026", "November 2026"],
            PrintedSheet.Rows(page.Document.Body!, "table.ends").Select(row => row[0]));
        Assert.Equal(["November 2026", "40.00", "50.00", "open", "", "", ""],
            PrintedSheet.Rows(page.Document.Body!, "table.ends")[^1]);
    }

    [Theory]
    [InlineData("from=2026-11-01", "from", "`from` is a month written like 2026-11.")]
    [InlineData("to=november", "to", "`to` is a month written like 2026-11.")]
    [InlineData("from=2026-12&to=2026-10", "from", "write the earlier one in `from`")]
    [InlineData("from=2016-11&to=2026-11", "from", "are 121 months: ask for at most 120")]
    [InlineData("form=2026-11", "form", "Did you mean `from`?")]
    public async Task What_is_not_asked_for_well_names_the_parameter(string query, string parameter, string told)
    {
        var household = await shared.HarbourRowAsync();

        Assert.Contains(told, (await household.Keeper.GetAsync($"/api/months?{query}"))
            .MustBlame(400, "malformed", parameter));
    }

    [Theory]
    [InlineData("", "2026-11")]
    [InlineData("?to=0001-01", "0001-01")]
    [InlineData("?to=9999-12&from=9999-12", "9999-12")]
    [InlineData("?from=2027-02", "2027-02")]
    public async Task A_book_in_which_nothing_occurred_has_the_month_asked_for_and_nothing_in_it(string query,
        string month)
    {
        var household = await Household.OpenEmptyAsync(await shared.ServerAsync());

        var months = (await household.Keeper.GetAsync($"/api/months{query}")).MustBe(200).Json;

        Assert.Equal([month], months.GetProperty("months").EnumerateArray().Select(Named));
        Assert.Equal(0, months.GetProperty("totals").GetProperty("closing").GetDecimal());
    }

    // September and October are closed with October; in November a transfer, and October's spend was none.
    private async Task<Household> AutumnAsync()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "40.00", on: "2026-09-01");
        await household.SpendAsync("ferry-fares", "8.40", on: "2026-10-20");
        await household.FillAsync("boat-insurance", "50.00", on: "2026-10-02", holding: "bank");
        (await household.Keeper.PostAsync("/api/months/2026-10/close", """{"reason": "All was counted on paper"}"""))
            .MustBe(201);
        (await household.Keeper.PostAsync("/api/transfers",
            """{"from": "ferry-fares", "to": "market-days", "amount": 5.00, "occurredOn": "2026-11-03"}"""))
            .MustBe(201);
        (await household.Keeper.PostAsync("/api/lines/12/reversal", """{"reason": "Paid by a neighbour"}"""))
            .MustBe(201);
        return household;
    }

    private static string? Named(JsonElement month) => month.GetProperty("month").GetString();

    private static string Text(JsonElement of, string field) =>
        of.TryGetProperty(field, out var value) ? value.GetRawText() : "";
}
