using System.Text.Json;
using Xunit;

namespace CashEvents.Api.Tests.Paydays;

/// <summary>
/// The book looked ahead, over HTTP. The day is 15 November 2026; paydays are the last bank days of the months.
/// </summary>
public sealed class OutlookTests(SharedServer shared)
{
    private static async Task<Household> RuledAsync(Household household)
    {
        await household.PaidMonthlyAsync();
        (await household.Keeper.PutAsync("/api/plan", """{"from": "2026-W44", "amounts": {"ferry-fares": 21.00}}"""))
            .MustBe(200);
        (await household.Keeper.PostAsync("/api/goals",
            """{"compartment": "boat-insurance", "label": "Hull", "amount": 120.00, "due": "2026-12-05"}"""))
            .MustBe(201);
        await household.RuleAsync("boat-insurance", """{"kind": "fixed", "amount": 40.00, "holding": "bank"}""");
        await household.RuleAsync("ferry-fares", """{"kind": "weekly", "rank": 2}""");
        await household.FillAsync("boat-insurance", "50.00");
        await household.FillAsync("ferry-fares", "60.00");
        return household;
    }

    [Fact]
    public async Task It_tells_every_balance_payday_by_payday_and_the_first_day_on_which_something_is_short()
    {
        var household = await RuledAsync(await shared.HarbourRowAsync());
        var line = await household.LineAsync();

        var outlook = (await household.WithoutWritingAsync(keeper => keeper.GetAsync("/api/outlook?months=1")))
            .MustBe(200);

        // 3.00 a day from the 16th: 42.00 until the 29th; then 93.00 for 31 days, of which 16 are in this month. The
        // hull lacks 120.00 − 50.00 − 40.00.
        const string hull =
            """{"on": "2026-12-05", "what": "bill", "missing": 30.00, "detail": "Hull, 120.00 EUR due 2026-12-05: 30.00 EUR is missing in 'boat-insurance'.", "compartment": "boat-insurance", "goal": "hull", "due": "2026-12-05"}""";
        outlook.MustSay($$"""
            {"from": "2026-11-15", "to": "2026-12-15", "currency": "EUR", "shortages": [{{hull}}],
             "stretches": [
               {"from": "2026-11-15", "until": "2026-11-29", "bankNeeded": {"compartments": 0.00, "fixedBills": 0.00, "automaticSavings": 0.00, "steps": 0.00, "total": 0.00}, "compartments": [
                 {{Row("ferry-fares", "Ferry fares", "60.00, 0.00, 0.00, 60.00, 60.00, 0.00, 0.00, 42.00, 0.00, 18.00, 18.00, 0.00, 18.00")}},
                 {{Row("market-days", "Market days", "0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00")}},
                 {{Row("bakery-van", "Bakery van", "0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00")}},
                 {{Row("boat-insurance", "Boat insurance", "50.00, 0.00, 0.00, 50.00, 50.00, 0.00, 0.00, 0.00, 0.00, 50.00, 50.00, 0.00, 50.00")}},
                 {{Row("rainy-day", "Rainy day", "0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00")}}]},
               {"from": "2026-11-30", "until": "2026-12-15", "bankNeeded": {"compartments": 40.00, "fixedBills": 640.00, "automaticSavings": 150.00, "steps": 0.00, "total": 830.00}, "compartments": [
                 {{Row("ferry-fares", "Ferry fares", "18.00, 0.00, 93.00, 111.00, 111.00, 0.00, 0.00, 48.00, 0.00, 63.00, 63.00, 0.00, 63.00")}},
                 {{Row("market-days", "Market days", "0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00")}},
                 {{Row("bakery-van", "Bakery van", "0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00")}},
                 {{Row("boat-insurance", "Boat insurance", "50.00, 0.00, 40.00, 90.00, 50.00, 40.00, 0.00, 0.00, 0.00, 90.00, 50.00, 40.00, 90.00")}},
                 {{Row("rainy-day", "Rainy day", "0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00")}}],
                "payday": {"payday": "2026-11-30", "pay": 1000.00, "fixedBills": 640.00, "automaticSavings": 150.00, "cash": 93.00, "bank": 40.00, "fills": 133.00, "cut": 0.00, "staysInBank": 77.00, "stayedInBank": 77.00} }],
             "bookLine": {{line}}, "firstShort": {{hull}} }
            """);
        Assert.Equal(line, outlook.BookLine);
    }

    [ThoroughFact]
    public async Task One_that_would_take_too_long_is_refused_with_the_months_that_do_not()
    {
        var household = await shared.HarbourRowAsync();
        for (var n = 1; n <= 31; n++)
        {
            (await household.Keeper.PutAsync($"/api/income-sources/source-{n}",
                $$"""{"label": "Source {{n}}", "rule": "FREQ=DAILY", "first": "2026-11-15", "notBankDay": "next", "amount": 40.00}""")).MustBe(200);
        }

        for (var n = 1; n <= 61; n++)
        {
            (await household.Keeper.PostAsync("/api/goals",
                $$"""{"compartment": "boat-insurance", "label": "Bill {{n}}", "amount": 25.00, "due": "2027-01-05", "every": "P1M"}""")).MustBe(201);
        }

        var mend = (await household.WithoutWritingAsync(keeper => keeper.GetAsync("/api/outlook?months=60")))
            .MustBlame(422, "outlook-too-long", "months");

        var months = int.Parse(mend.Split("at most ")[1].Split(' ')[0]);
        Assert.InRange(months, 12, 59);
        (await household.Keeper.GetAsync($"/api/outlook?months={months}")).MustBe(200);
        (await household.Keeper.GetAsync($"/api/outlook?months={months + 1}"))
            .MustBlame(422, "outlook-too-long", "months");
    }

    private static string Row(string id, string label, string figures)
    {
        string[] names = ["opening", "interest", "filled", "balance", "balanceCash", "balanceBank", "saved", "spent",
            "bills", "closing", "closingCash", "closingBank", "lowest"];
        return $$"""{"compartment": "{{id}}", "label": "{{label}}", {{string.Join(", ", names.Zip(figures.Split(", "), (name, figure) => $"\"{name}\": {figure}"))}} }""";
    }

    [Fact]
    public async Task Its_first_payday_is_the_dry_run_of_that_payday_and_twelve_months_are_looked_ahead()
    {
        var household = await RuledAsync(await shared.HarbourRowAsync());
        (await household.Keeper.PutAsync("/api/sinking-funds/boat-insurance",
            """{"bankPercent": 30, "interestPercent": 2.75}""")).MustBe(200);
        await household.RuleAsync("boat-insurance", """{"kind": "contribution"}""");
        await household.RuleAsync("rainy-day", """{"kind": "share", "share": 33.33, "rank": 3, "roundTo": 5.00}""");
        await household.RuleAsync("market-days", """{"kind": "ceiling", "ceiling": 75.00}""");

        var outlook = (await household.Keeper.GetAsync("/api/outlook")).MustBe(200).Json;
        var dry = (await household.FillPaydayAsync("2026-11-30", ", \"dryRun\": true")).MustBe(200).Json;

        Assert.Equal("2027-11-15", outlook.GetProperty("to").GetString());
        Assert.Equal(13, outlook.GetProperty("stretches").GetArrayLength());
        var first = outlook.GetProperty("stretches")[1];
        foreach (var sum in new[] { "pay", "fixedBills", "automaticSavings", "cash", "bank", "fills", "cut",
            "staysInBank" })
        {
            Assert.Equal(dry.GetProperty("sums").GetProperty(sum).GetRawText(),
                first.GetProperty("payday").GetProperty(sum).GetRawText());
        }

        Assert.Equal(
            dry.GetProperty("compartments").EnumerateArray()
                .Select(c => (c.GetProperty("compartment").GetString(), c.GetProperty("amount").GetRawText())).Order(),
            first.GetProperty("compartments").EnumerateArray()
                .Select(c => (c.GetProperty("compartment").GetString(), c.GetProperty("filled").GetRawText()))
                .Where(c => c.Item1 != "bakery-van").Order());
    }

    [Fact]
    public async Task Pay_as_it_comes_is_counted_as_nothing_unless_an_amount_is_supposed()
    {
        var household = await shared.HarbourRowAsync();
        await household.SourceAsync("net-mending", "FREQ=WEEKLY;BYDAY=FR", "2026-11-06", "null");
        await household.RuleAsync("rainy-day", """{"kind": "fixed", "amount": 15.00}""");

        var nothing = (await household.Keeper.GetAsync("/api/outlook?months=1")).MustBe(200).Json;
        var supposed = (await household.Keeper.GetAsync("/api/outlook?months=1&pay=net-mending:20.00"))
            .MustBe(200).Json;

        Assert.Equal("""["net-mending"]""", nothing.GetProperty("notCounted").GetRawText());
        Assert.Equal(
            "net-mending pays as it comes and is counted as nothing: send `pay` to suppose an amount, such as "
                + "pay=net-mending:100.00.", nothing.GetProperty("note").GetString());
        Assert.Equal(("0.00", "15.00"), (Payday(nothing, 1, "pay"), Payday(nothing, 1, "cut")));
        Assert.False(supposed.TryGetProperty("notCounted", out _));
        Assert.Equal(("20.00", "20.00"), (Payday(supposed, 1, "pay"), Payday(supposed, 4, "stayedInBank")));
    }

    [Fact]
    public async Task Without_paydays_or_rules_it_says_so_and_spends_down()
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PutAsync("/api/plan", """{"from": "2026-W44", "amounts": {"ferry-fares": 21.00}}"""))
            .MustBe(200);
        await household.FillAsync("ferry-fares", "60.00");

        var outlook = (await household.Keeper.GetAsync("/api/outlook?months=1")).MustBe(200).Json;

        Assert.StartsWith("No payday comes in this time", outlook.GetProperty("note").GetString(),
            StringComparison.Ordinal);
        // 20 days of 3.00 from the 16th, and ten more without.
        var first = outlook.GetProperty("firstShort");
        Assert.Equal(("2026-12-06", "plan", "30.00"),
            (first.GetProperty("on").GetString(), first.GetProperty("what").GetString(),
                first.GetProperty("missing").GetRawText()));
        await household.SourceAsync("harbour-office", "FREQ=MONTHLY", "2026-12-01", "100.00");
        Assert.StartsWith("No compartment has a fill rule",
            (await household.Keeper.GetAsync("/api/outlook?months=1")).MustBe(200).Json.GetProperty("note").GetString(),
            StringComparison.Ordinal);
        await household.SourceAsync("harbour-office", "FREQ=MONTHLY;UNTIL=20261201", "2026-12-01", "100.00");
        Assert.StartsWith("No payday is known after 2026-12-01",
            (await household.Keeper.GetAsync("/api/outlook?months=1")).MustBe(200).Json.GetProperty("note").GetString(),
            StringComparison.Ordinal);
    }

    [Fact]
    public async Task Saving_steps_are_put_aside_on_their_days_as_doing_them_would()
    {
        var household = await RuledAsync(await shared.HarbourRowAsync());
        // The first was due on the 8th; the payday of 30 November leaves 77.00, of which the rest takes 90.00.
        (await household.Keeper.PutAsync("/api/saving-plans/rainy-day",
            """{"first": 10.00, "growth": 10.00, "count": 6, "from": "2026-11-08", "every": "P1W"}""")).MustBe(200);

        var outlook = (await household.Keeper.GetAsync("/api/outlook?months=1")).MustBe(200).Json;

        var (first, second) = (outlook.GetProperty("stretches")[0], outlook.GetProperty("stretches")[1]);
        Assert.Equal(
            """{"compartments": 0.00, "fixedBills": 0.00, "automaticSavings": 0.00, "steps": 100.00, "total": 100.00}""".Replace(" ", "", StringComparison.Ordinal), first.GetProperty("bankNeeded").GetRawText());
        Assert.Equal(("0.00", "100.00", "100.00", "0.00"),
            (Saving(first, "balance"), Saving(first, "saved"), Saving(first, "closing"), Saving(first, "lowest")));
        Assert.Equal(("100.00", "110.00", "210.00", "100.00"),
            (Saving(second, "opening"), Saving(second, "saved"), Saving(second, "closing"), Saving(second, "lowest")));
        Assert.Equal(("77.00", "-33.00"), (Payday(outlook, 1, "staysInBank"), Payday(outlook, 1, "stayedInBank")));
        var shortage = outlook.GetProperty("shortages").EnumerateArray()
            .Single(s => s.GetProperty("what").GetString() == "step");
        Assert.Equal(("2026-12-13", "rainy-day", "33.00"),
            (shortage.GetProperty("on").GetString(), shortage.GetProperty("compartment").GetString(),
                shortage.GetProperty("missing").GetRawText()));
        Assert.Equal(
            "Saving steps of 'rainy-day' from 2026-12-13 to 2026-12-15 take 33.00 EUR more than what is left of the "
                + "pay: the bank has to hold it already, or they wait.", shortage.GetProperty("detail").GetString());

        for (var step = 0; step < 2; step++)
        {
            (await household.Keeper.PostAsync("/api/saving-plans/rainy-day/steps", "{}")).MustBe(201);
        }

        var later = (await household.Keeper.GetAsync("/api/outlook?months=1")).MustBe(200).Json;
        Assert.Equal(("30.00", "70.00", "100.00"),
            (Saving(later.GetProperty("stretches")[0], "opening"), Saving(later.GetProperty("stretches")[0], "saved"),
                Saving(later.GetProperty("stretches")[0], "closing")));
        Assert.Equal(second.GetProperty("compartments").GetRawText(),
            later.GetProperty("stretches")[1].GetProperty("compartments").GetRawText());
    }

    private static string Saving(JsonElement stretch, string figure) =>
        stretch.GetProperty("compartments").EnumerateArray()
            .Single(c => c.GetProperty("compartment").GetString() == "rainy-day").GetProperty(figure).GetRawText();

    [Fact]
    public async Task Before_the_first_payday_it_tells_what_the_bank_has_to_hold()
    {
        var household = await RuledAsync(await shared.HarbourRowAsync());
        await household.FillAsync("boat-insurance", "25.00", holding: "bank");
        (await household.Keeper.PutAsync("/api/standing-payments/lamp-oil",
            """{"kind": "fixedBill", "label": "Lamp oil", "rule": "FREQ=MONTHLY;BYMONTHDAY=20", "first": "2026-11-20", "notBankDay": "next", "amount": 35.50}""")).MustBe(200);

        var first = (await household.Keeper.GetAsync("/api/outlook?months=1")).MustBe(200).Json
            .GetProperty("stretches")[0];

        Assert.False(first.TryGetProperty("payday", out _));
        Assert.Equal("""{"compartments":25.00,"fixedBills":35.50,"automaticSavings":0.00,"steps":0.00,"total":60.50}""",
            first.GetProperty("bankNeeded").GetRawText());
    }

    [Fact]
    public async Task As_a_sheet_it_has_a_row_for_each_payday_and_compartment()
    {
        var household = await RuledAsync(await shared.HarbourRowAsync());

        var csv = (await household.Keeper.GetAsync("/api/outlook?months=2", ("Accept", "text/csv"))).MustBe(200);

        Assert.Equal("text/csv", csv.ContentType);
        var lines = csv.Text.Split("\r\n");
        Assert.Equal(
            "payday,from,until,compartment,opening,interest,filled,balance,balanceCash,balanceBank,saved,spent,bills,closing,closingCash,closingBank,lowest", lines[0]);
        Assert.Equal(1 + (3 * 5) + 1, lines.Length);
        Assert.Equal(
            ",2026-11-15,2026-11-29,ferry-fares,60.00,0.00,0.00,60.00,60.00,0.00,0.00,42.00,0.00,18.00,18.00,0.00,18.00", lines[1]);
        Assert.Equal(
            "2026-11-30,2026-11-30,2026-12-30,ferry-fares,18.00,0.00,93.00,111.00,111.00,0.00,0.00,93.00,0.00,18.00,18.00,0.00,18.00", lines[6]);
        // 90.00 and 40.00 more are there for the hull on New Year's Eve.
        Assert.Equal(
            "2026-12-31,2026-12-31,2027-01-15,boat-insurance,90.00,0.00,40.00,130.00,50.00,80.00,0.00,0.00,120.00,10.00,0.00,10.00,10.00", lines[14]);
    }

    [Fact]
    public async Task On_paper_each_compartment_has_a_line_with_its_bills_and_the_day_on_which_it_is_short()
    {
        var household = await RuledAsync(await shared.HarbourRowAsync());

        var page = (await PrintedSheet.GetAsync(household.Keeper, "/api/outlook?months=2")).Document;

        Assert.Equal("Harbour Row: outlook", page.Title);
        Assert.Equal([["2026-12-05", "Hull, 120.00 EUR due 2026-12-05: 30.00 EUR is missing in Boat insurance.",
            "30.00"]], PrintedSheet.Rows(page, "table.shortages"));
        Assert.Equal(["2026-11-30", "1,000.00", "640.00", "150.00", "93.00", "40.00", "–", "77.00", "77.00"],
            PrintedSheet.Rows(page, "table.paydays")[0]);
        Assert.Equal(["30 Nov – 30 Dec 2026", "40.00", "640.00", "150.00", "–", "830.00"],
            PrintedSheet.Rows(page, "table.bank")[1]);
        Assert.Equal(3 * 5, PrintedSheet.Rows(page, "table.balances").Count);
        var charts = page.QuerySelectorAll("figure.chart").ToList();
        Assert.Equal(["Ferry fares", "Market days", "Bakery van", "Boat insurance", "Rainy day"],
            charts.Select(c => c.QuerySelector("figcaption")!.TextContent));
        Assert.Contains("Short from 5 Dec 2026.", charts[3].QuerySelector("desc")!.TextContent,
            StringComparison.Ordinal);
        Assert.Equal([0, 0, 0, 1, 0], charts.Select(c => c.QuerySelectorAll("path.solid").Length));
        Assert.Equal("1 Hull, 120.00 on 31 Dec 2026", PrintedSheet.Words(charts[3].QuerySelector("p.bills")!));
        Assert.Single(charts[3].QuerySelectorAll("path.mark"));
        // It goes in steps: money does not slope.
        Assert.All(charts, chart => Assert.Matches("^M[0-9. -]+([HV][0-9. -]+)+$",
            chart.QuerySelector("path.line")!.GetAttribute("d")!));
    }

    [Fact]
    public async Task Bills_that_are_paid_are_told_by_their_days()
    {
        var household = await RuledAsync(await shared.HarbourRowAsync());

        var rows = (await household.Keeper.GetAsync("/api/outlook?months=2")).MustBe(200).Json.GetProperty("stretches")
            .EnumerateArray().SelectMany(stretch => stretch.GetProperty("compartments").EnumerateArray());

        var paid = Assert.Single(rows, row => row.TryGetProperty("billsPaid", out _)).GetProperty("billsPaid")[0];
        Assert.Equal(("Hull", "2026-12-31", "120.00"), (paid.GetProperty("label").GetString(),
            paid.GetProperty("on").GetString(), paid.GetProperty("amount").GetRawText()));
    }

    [Theory]
    [InlineData(400, "malformed", "months", "months=0")]
    [InlineData(400, "malformed", "months", "months=61")]
    [InlineData(400, "malformed", "pay", "pay=100.00")]
    [InlineData(400, "malformed", "pay", "pay=harbour-office:much")]
    [InlineData(400, "malformed", "pay", "pay=harbour-office:1.00,harbour-office:2.00")]
    [InlineData(422, "income-source-unknown", "pay", "pay=harbor-office:1.00")]
    [InlineData(422, "too-many-decimals", "pay", "pay=harbour-office:1.001")]
    [InlineData(400, "malformed", "month", "month=12")]
    public async Task A_question_that_can_not_be_answered_is_refused(int status, string code, string parameter,
        string query)
    {
        var household = await (await shared.HarbourRowAsync()).PaidMonthlyAsync();

        (await household.Keeper.GetAsync($"/api/outlook?{query}")).MustBlame(status, code, parameter);
    }

    private static string Payday(JsonElement outlook, int stretch, string figure) =>
        outlook.GetProperty("stretches")[stretch].GetProperty("payday").GetProperty(figure).GetRawText();
}
