using System.Globalization;
using System.Text.Json;
using System.Text.Json.Nodes;
using CsCheck;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CashEvents.Api.Tests.Paydays;

public sealed class FillRunTests(SharedServer shared)
{
    // 210.00 to share on 30 October: 40.00 for the insurance, 115.00 (25.00 a week for 31 days is 110.71, in whole
    // fives) for the ferry, and 55.00 is left of 130.00 for the market.
    private const string Figures = """
        "payday": "2026-10-30", "until": "2026-11-29", "nextPayday": "2026-11-30",
        """;

    private const string Sums = """
        "sums": {"pay": 1000.00, "fixedBills": 640.00, "automaticSavings": 150.00, "toShare": 210.00, "cash": 186.00, "bank": 24.00, "fills": 210.00, "cut": 75.00, "staysInBank": 0.00},
        "compartments": [
          {"compartment": "boat-insurance", "label": "Boat insurance", "rule": "contribution", "rank": 1, "wanted": 40.00, "amount": 40.00, "cash": 16.00, "bank": 24.00},
          {"compartment": "ferry-fares", "label": "Ferry fares", "rule": "weekly", "rank": 2, "wanted": 110.71, "amount": 115.00, "cash": 115.00, "bank": 0.00, "rounding": 4.29},
          {"compartment": "market-days", "label": "Market days", "rule": "fixed", "rank": 3, "wanted": 130.00, "amount": 55.00, "cash": 55.00, "bank": 0.00, "cut": 75.00, "why": "Rank 3 is short, and its compartments share what is left in proportion."}]
        """;

    private const string Note = """
        "note": "The pay does not reach: 75.00 EUR of what is wanted is cut."
        """;

    private static async Task<Household> RuledAsync(Household household)
    {
        await household.PaidMonthlyAsync();
        (await household.Keeper.PutAsync("/api/plan", """{"from": "2026-W44", "amounts": {"ferry-fares": 25.00}}"""))
            .MustBe(200);
        (await household.Keeper.PutAsync("/api/sinking-funds/boat-insurance", """{"bankPercent": 60}""")).MustBe(200);
        // 280.00 by the first of May: seven paydays, from that of October to that of April.
        (await household.Keeper.PostAsync("/api/goals",
            """{"compartment": "boat-insurance", "label": "Hull", "amount": 280.00, "due": "2027-05-01"}"""))
            .MustBe(201);
        await household.RuleAsync("market-days", """{"kind": "fixed", "amount": 130.00, "rank": 3}""");
        await household.RuleAsync("ferry-fares", """{"kind": "weekly", "rank": 2, "roundTo": 5.00}""");
        await household.RuleAsync("boat-insurance", """{"kind": "contribution"}""");
        return household;
    }

    [Fact]
    public async Task A_payday_is_shared_out_in_one_line_as_the_dry_run_said()
    {
        var household = await RuledAsync(await shared.HarbourRowAsync());

        var dry = (await household.WithoutWritingAsync(_ => household.FillPaydayAsync(more: ", \"dryRun\": true")))
            .MustBe(200);
        var line = await household.LineAsync() + 1;
        var run = (await household.FillPaydayAsync()).MustBe(201);

        dry.MustSay($$"""{ {{Figures}} "dryRun": true, {{Sums}}, {{Note}}, "bookLine": {{line - 1}}}""");
        run.MustHave(
            $$"""{ {{Figures}} {{Sums}}, "occurredOn": "2026-10-30", "lines": [{{line}}], "entryId": {{line}}, {{Note}}, "bookLine": {{line}}}""");
        Assert.Equal("/api/fill-runs/2026-10-30", run.Headers["Location"]);
        Assert.Equal(("16.00", "24.00"),
            (await household.HoldsAsync("boat-insurance"), await household.HoldsAsync("boat-insurance", "bank")));
        Assert.Equal(("115.00", "55.00"),
            (await household.HoldsAsync("ferry-fares"), await household.HoldsAsync("market-days")));
        (await household.Keeper.GetAsync("/api/fill-runs/2026-10-30")).MustBe(200).MustHave(
            $$"""{ {{Figures}} {{Sums}}, "occurredOn": "2026-10-30", "lines": [{{line}}], "entryId": {{line}}, "by": "keeper", {{Note}}, "bookLine": {{line}}}""");
        (await household.Keeper.GetAsync("/api/fill-runs?from=2026-10-30&to=2026-10-30")).MustBe(200).MustHave(
            $$"""{"fillRuns": [{ {{Figures}} {{Sums}}, "occurredOn": "2026-10-30", "lines": [{{line}}], "entryId": {{line}}, "by": "keeper", {{Note}}}], "bookLine": {{line}}}""");
        Assert.Equal(
            "payday,compartment,rule,rank,wanted,overCeiling,rounding,cut,amount,cash,bank,changed\r\n2026-10-30,boat-insurance,contribution,1,40.00,0.00,0.00,0.00,40.00,16.00,24.00,0.00\r\n"
            + "2026-10-30,ferry-fares,weekly,2,110.71,0.00,4.29,0.00,115.00,115.00,0.00,0.00\r\n2026-10-30,market-days,fixed,3,130.00,0.00,0.00,75.00,55.00,55.00,0.00,0.00\r\n",
            (await household.Keeper.GetAsync("/api/fill-runs/2026-10-30", ("Accept", "text/csv"))).MustBe(200).Text);
        (await household.Keeper.GetAsync("/api/fill-runs?to=2026-10-29")).MustBe(200)
            .MustHave($$"""{"fillRuns": [], "bookLine": {{line}}}""");
    }

    [Fact]
    public async Task Amounts_may_be_chosen_looked_at_first_and_the_line_says_what_was_changed()
    {
        var household = await RuledAsync(await shared.HarbourRowAsync());
        const string chosen = """
            "payday": "2026-10-30", "amounts": {"ferry-fares": {"cash": 100.00}, "boat-insurance": {"cash": 20.00, "bank": 20.00}}
            """;

        var dry = (await household.Keeper.PostAsync("/api/fill-runs", $$"""{ {{chosen}}, "dryRun": true}""")).MustBe(200)
            .Json;
        var run = (await household.Keeper.PostAsync("/api/fill-runs", $$"""{ {{chosen}} }""")).MustBe(201).Json;

        Assert.Equal(dry.GetProperty("compartments").GetRawText(), run.GetProperty("compartments").GetRawText());
        Assert.Equal(["20.00 20.00 0.00", "100.00 0.00 -15.00", "55.00 0.00 "],
            run.GetProperty("compartments").EnumerateArray().Select(c => $"{c.GetProperty("cash").GetRawText()} "
                + $"{c.GetProperty("bank").GetRawText()} "
                + (c.TryGetProperty("changed", out var changed) ? changed.GetRawText() : "")));
        Assert.Equal("15.00", run.GetProperty("sums").GetProperty("staysInBank").GetRawText());
        Assert.Equal("100.00", await household.HoldsAsync("ferry-fares"));
        Assert.Equal("20.00", await household.HoldsAsync("boat-insurance", "bank"));
        Assert.Equal("175.00", (await household.Keeper.GetAsync("/api/fill-runs/2026-10-30/draw-slip")).MustBe(200).Json
            .GetProperty("total").GetRawText());
    }

    [Theory]
    [InlineData(400, "malformed", "amounts.ferry-fares", """{"ferry-fares": null}""")]
    [InlineData(400, "malformed", "amounts.ferry-fares", """{"ferry-fares": {}}""")]
    [InlineData(422, "amount-negative", "amounts.ferry-fares.cash", """{"ferry-fares": {"cash": -5}}""")]
    [InlineData(422, "fills-above-pay", "amounts", """{"ferry-fares": {"cash": 210.00}}""")]
    [InlineData(422, "fill-rule-unknown", "amounts.rainy-day", """{"rainy-day": {"cash": 5}}""")]
    [InlineData(422, "compartment-unknown", "amounts.ferry-fare", """{"ferry-fare": {"cash": 5}}""")]
    public async Task An_amount_that_can_not_be_given_is_refused_and_nothing_is_filled(int status, string code,
        string field, string amounts)
    {
        var household = await RuledAsync(await shared.HarbourRowAsync());
        var line = await household.LineAsync();

        (await household.Keeper.PostAsync("/api/fill-runs", $$"""{"payday": "2026-10-30", "amounts": {{amounts}} }"""))
            .MustBlame(status, code, field);

        Assert.Equal(line, await household.LineAsync());
    }

    [Fact]
    public async Task Its_fills_count_as_fills_on_every_sheet()
    {
        var household = await RuledAsync(await shared.HarbourRowAsync());
        var line = (await household.FillPaydayAsync()).MustBe(201).Lines[0];

        var written = (await household.Keeper.GetAsync($"/api/lines/{line}")).MustBe(200).Json;
        Assert.Equal(("fillRun", "2026-10-30", "210.00", "1000.00"), (
            written.GetProperty("kind").GetString(), written.GetProperty("payday").GetString(),
            written.GetProperty("amount").GetRawText(), written.GetProperty("pay").GetRawText()));
        Assert.Equal(["boat-insurance cash 16.00", "boat-insurance bank 24.00", "ferry-fares cash 115.00",
            "market-days cash 55.00"], written.GetProperty("changes").EnumerateArray()
            .Select(c =>
                $"{c.GetProperty("compartment").GetString()} {c.GetProperty("holding").GetString()} "
                    + $"{c.GetProperty("change").GetRawText()}"));
        Assert.Equal(
            $"date,description,amount,balance,holding,kind,line\r\n2026-10-30,Payday "
                + $"2026-10-30,16.00,16.00,cash,fillRun,{line}\r\n2026-10-30,Payday "
                + $"2026-10-30,24.00,40.00,bank,fillRun,{line}\r\n",
            (await household.Keeper.GetAsync("/api/compartments/boat-insurance/tracker?month=2026-10",
                ("Accept", "text/csv"))).MustBe(200).Text);
        var trail = (await household.Keeper.GetAsync("/api/months/2026-10/trail")).MustBe(200).Json;
        Assert.Equal("210.00", trail.GetProperty("household").GetProperty("filled").GetRawText());
        Assert.Equal($$"""[{"by":"keeper","kind":"fillRun","lines":1,"amount":210.00}]""",
            trail.GetProperty("writers").GetRawText());
        Assert.Equal("0.00", trail.GetProperty("trialBalance").GetProperty("difference").GetRawText());
        var page = (await PrintedSheet.GetAsync(household.Keeper, "/api/months/2026-10/trail")).Document;
        Assert.Contains(page.QuerySelectorAll("table.lines tbody tr"),
            tr => tr.TextContent.Contains("Boat insurance, Boat insurance, bank", StringComparison.Ordinal)
                && tr.TextContent.Contains("210.00", StringComparison.Ordinal));
        var week = (await household.Keeper.GetAsync("/api/weeks/2026-W44")).MustBe(200).Json;
        Assert.Contains(week.GetProperty("compartments").EnumerateArray(),
            row => row.GetProperty("compartment").GetString() == "ferry-fares"
                && row.GetProperty("filled").GetRawText() == "115.00");
    }

    [Fact]
    public async Task A_payday_is_filled_once_until_it_is_undone_and_then_once_more()
    {
        var household = await RuledAsync(await shared.HarbourRowAsync());
        await household.FillAsync("ferry-fares", "7.00", on: "2026-10-01");
        var balances = (await household.Keeper.GetAsync("/api/balances")).MustBe(200).Json.GetProperty("wallets")
            .GetRawText();
        var line = (await household.FillPaydayAsync()).MustBe(201).Lines[0];

        var mend = (await household.WithoutWritingAsync(_ => household.FillPaydayAsync(more: ", \"pay\": 1200.00")))
            .MustBlame(409, "payday-filled", "payday");
        Assert.Contains($"line {line}", mend, StringComparison.Ordinal);
        (await household.FillPaydayAsync(more: ", \"dryRun\": true")).MustBlame(409, "payday-filled", "payday");

        var supposed = (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/rehearsals", $$"""{"suppose": [{"reverse": {{line}}}]}""")))
            .MustBe(200).Text;
        Assert.Contains("-115.00", supposed, StringComparison.Ordinal);

        var undone = (await household.Keeper.PostAsync($"/api/lines/{line}/reversal",
            """{"reason": "The pay was higher"}""")).MustBe(201).Lines;
        Assert.Equal([line + 1], undone);
        Assert.Equal(balances, (await household.Keeper.GetAsync("/api/balances")).MustBe(200).Json
            .GetProperty("wallets").GetRawText());
        Assert.Equal(line + 1, (await household.Keeper.GetAsync("/api/fill-runs/2026-10-30")).MustBe(200).Json
            .GetProperty("undoneBy").GetInt64());

        Assert.Equal([line + 2], (await household.FillPaydayAsync(more: ", \"pay\": 1200.00")).MustBe(201).Lines);
        Assert.Equal("122.00", await household.HoldsAsync("ferry-fares"));
        (await household.FillPaydayAsync()).MustBlame(409, "payday-filled", "payday");
        Assert.Equal([true, false],
            (await household.Keeper.GetAsync("/api/fill-runs")).MustBe(200).Json.GetProperty("fillRuns")
                .EnumerateArray().Select(r => r.TryGetProperty("undoneBy", out _)));
    }

    [Fact]
    public async Task The_same_request_under_one_name_is_written_once_and_answered_alike()
    {
        var household = await RuledAsync(await shared.HarbourRowAsync());

        var first = (await household.Keeper.PostAsync("/api/fill-runs", """{"payday": "2026-10-30"}""",
            ("Idempotency-Key", "october"))).MustBe(201);
        await household.FillAsync("ferry-fares", "1.00");
        var again = (await household.Keeper.PostAsync("/api/fill-runs", """{"payday": "2026-10-30"}""",
            ("Idempotency-Key", "october"))).MustBe(201);

        Assert.Equal((first.Text, first.ETag), (again.Text, again.ETag));
    }

    [ThoroughFact]
    public async Task Two_scripts_at_two_servers_fill_a_payday_once_on_the_balances_that_are_there_then()
    {
        await using var one = await RunningServer.StartAsync();
        await using var other = await RunningServer.StartAsync(one.Database);
        var here = await (await Household.OpenAsync(one)).PaidMonthlyAsync();
        var there = here.At(other);
        await here.RuleAsync("ferry-fares", """{"kind": "ceiling", "ceiling": 50.00}""");
        await here.RuleAsync("market-days", """{"kind": "share", "share": 100, "ceiling": 80.00, "rank": 2}""");
        // Both servers know the book before either writes.
        (await there.FillPaydayAsync(more: ", \"dryRun\": true")).MustBe(200);

        for (var payday = new DateOnly(2026, 9, 30); payday < new DateOnly(2026, 11, 1); payday = payday.AddDays(30))
        {
            var fills = Enumerable.Range(0, 12)
                .Select(i => (i % 2 == 0 ? here : there).Keeper.PostAsync("/api/fills",
                    """{"compartment": "ferry-fares", "amount": 0.50, "occurredOn": "2026-09-30"}"""));
            var runs = Enumerable.Range(0, 8)
                .Select(i => (i % 2 == 0 ? there : here).FillPaydayAsync($"{payday:yyyy-MM-dd}")).ToList();

            Assert.All(await Task.WhenAll(fills), reply => reply.MustBe(201));
            var replies = await Task.WhenAll(runs);

            Assert.Single(replies, reply => reply.Status == 201);
            Assert.All(replies.Where(reply => reply.Status != 201),
                reply => reply.MustBlame(409, "payday-filled", "payday"));
            var run = replies.Single(reply => reply.Status == 201);
            // What was there when it was written and what it filled make the ceiling.
            var before = await ThereAsync(here, "ferry-fares", run.Lines[0] - 1);
            Assert.Equal(50.00m - before, run.Json.GetProperty("compartments")[0].GetProperty("amount").GetDecimal());
            (await here.Keeper.PostAsync("/api/sweeps",
                """{"from": ["ferry-fares", "market-days"], "to": "rainy-day"}""")).MustBe(201);
        }

        Assert.Equal(2, (await here.LinesAsync()).Count(l => l.GetProperty("kind").GetString() == "fillRun"));
    }

    private static async Task<decimal> ThereAsync(Household household, string compartment, long line)
    {
        var book = (await household.Keeper.GetAsync($"/api/balances?atLine={line}")).MustBe(200).Json;
        return book.GetProperty("compartments").EnumerateArray()
            .Single(c => c.GetProperty("compartment").GetString() == compartment).GetProperty("cash").GetDecimal();
    }

    [Fact]
    public async Task What_can_not_be_filled_is_refused_with_the_mend()
    {
        var household = await (await shared.HarbourRowAsync()).PaidMonthlyAsync();
        (await household.FillPaydayAsync()).MustBeProblem(409, "fill-rules-missing");
        await household.RuleAsync("ferry-fares", """{"kind": "fixed", "amount": 10.00}""");
        await household.SourceAsync("net-mending", "FREQ=YEARLY;BYMONTH=10;BYMONTHDAY=-1", "2026-10-31", "null");

        Assert.Contains("net-mending", (await household.FillPaydayAsync()).MustBlame(422, "pay-missing", "pay"),
            StringComparison.Ordinal);
        Assert.Equal("2026-11-30",
            (await household.FillPaydayAsync("2026-10-31")).MustBeProblem(422, "payday-unknown")
                .GetProperty("suggestions")[0].GetString());
        (await household.FillPaydayAsync("2026-11-30")).MustBlame(422, "after-today", "payday");
        (await household.FillPaydayAsync("2026-11-30", ", \"dryRun\": true")).MustBe(200);
        (await household.FillPaydayAsync("1999-11-30")).MustBlame(422, "bank-days-unknown", "payday");
        (await household.FillPaydayAsync(more: ", \"pay\": 0")).MustBlame(400, "malformed", "pay");
        (await household.FillPaydayAsync(more: ", \"pay\": 10.001")).MustBlame(422, "too-many-decimals", "pay");
        (await household.Keeper.PostAsync("/api/fill-runs", "{}")).MustBlame(400, "malformed", "payday");
        (await household.Keeper.GetAsync("/api/fill-runs/2026-10-30")).MustBeProblem(404, "fill-run-unknown");
        (await household.Keeper.GetAsync("/api/fill-runs/october")).MustBlame(400, "malformed", "payday");

        (await household.FillPaydayAsync(more: ", \"pay\": 700.00")).MustBeProblem(409, "nothing-to-fill");
        var dry = (await household.FillPaydayAsync(more: ", \"pay\": 700.00, \"dryRun\": true")).MustBe(200).Json;
        Assert.Equal(("-90.00", "10.00", "-90.00"), (
            dry.GetProperty("sums").GetProperty("toShare").GetRawText(),
            dry.GetProperty("sums").GetProperty("cut").GetRawText(),
            dry.GetProperty("sums").GetProperty("staysInBank").GetRawText()));
        Assert.Contains("90.00 EUR more than the pay", dry.GetProperty("note").GetString(), StringComparison.Ordinal);
        Assert.Equal("0.00", await household.HoldsAsync("ferry-fares"));
    }

    [Fact]
    public async Task A_payday_of_a_closed_month_is_filled_in_the_open_one()
    {
        var household = await (await shared.HarbourRowAsync()).PaidMonthlyAsync();
        await household.RuleAsync("ferry-fares", """{"kind": "fixed", "amount": 10.00}""");
        (await household.Keeper.PostAsync("/api/months/2026-10/close", "{}")).MustBe(201);

        Assert.Equal("2026-11-15",
            (await household.FillPaydayAsync()).MustBe(201).Json.GetProperty("occurredOn").GetString());
        Assert.Equal("10.00", await household.HoldsAsync("ferry-fares"));
    }

    [Fact]
    public async Task A_run_whose_money_is_spent_is_not_undone()
    {
        var household = await (await shared.HarbourRowAsync()).PaidMonthlyAsync();
        await household.RuleAsync("ferry-fares", """{"kind": "fixed", "amount": 10.00}""");
        var line = (await household.FillPaydayAsync()).MustBe(201).Lines[0];
        await household.SpendAsync("ferry-fares", "4.00");

        (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync($"/api/lines/{line}/reversal", """{"reason": "Twice"}""")))
            .MustBeProblem(409, "not-enough");
        (await household.FillPaydayAsync()).MustBeProblem(409, "payday-filled");
    }

    [Fact]
    public async Task What_is_kept_beside_the_lines_of_a_run_is_what_they_give()
    {
        var household = await RuledAsync(await shared.HarbourRowAsync());
        (await household.FillPaydayAsync("2026-09-30")).MustBe(201);
        var line = (await household.FillPaydayAsync()).MustBe(201).Lines[0];
        (await household.Keeper.PostAsync($"/api/lines/{line}/reversal", """{"reason": "Too early"}""")).MustBe(201);

        Assert.Empty((await household.Server.Services.GetRequiredService<Rebuilder>()
            .RebuildAsync(household.Id)).Drifts);
        var whole = await household.Server.Books.ReadWholeAsync(household.Id);
        var replayed = await household.Server.Books.ReplayAsync(household.Id);
        Assert.Equal(2, whole.FillRuns.Count);
        Assert.Equal(replayed.FillRuns, whole.FillRuns);
        Assert.Equal(replayed.FillRules.Values.OrderBy(r => r.Compartment),
            whole.FillRules.Values.OrderBy(r => r.Compartment));
    }

    [Fact]
    public async Task Before_the_run_the_slip_is_drawn_up_of_what_single_compartments_are_to_get()
    {
        var household = await RuledAsync(await shared.HarbourRowAsync());
        const string slip = "/api/fill-runs/2026-10-30/draw-slip";

        var told = (await household.WithoutWritingAsync(keeper =>
            keeper.GetAsync(slip + "?cash=ferry-fares:45.00,market-days:20"))).MustBe(200).Json;

        Assert.Equal(["boat-insurance 16.00", "ferry-fares 45.00", "market-days 20.00"],
            told.GetProperty("compartments").EnumerateArray()
                .Select(c => $"{c.GetProperty("compartment").GetString()} {c.GetProperty("amount").GetRawText()}")
                .Order(StringComparer.Ordinal));
        foreach (var odd in new[] { "ferry-fares", "ferry-fares:1,ferry-fares:2", "ferry-fares:much", ":1", "" })
        {
            (await household.Keeper.GetAsync(slip + "?cash=" + odd)).MustBlame(400, "malformed", "cash");
        }

        (await household.Keeper.GetAsync(slip + "?cash=ferry-fares:9999")).MustBlame(422, "fills-above-pay", "cash");
        (await household.Keeper.GetAsync(slip + "?cash=rainy-day:1")).MustBlame(422, "fill-rule-unknown", "cash");
        (await household.FillPaydayAsync()).MustBe(201);
        (await household.Keeper.GetAsync(slip + "?cash=ferry-fares:45")).MustBlame(400, "malformed", "cash");
    }

    [Fact]
    public async Task The_draw_slip_packs_what_the_run_gives_in_cash()
    {
        var household = await RuledAsync(await shared.HarbourRowAsync());
        (await household.Keeper.PutAsync("/api/compartments/ferry-fares/notes", """{"atLeast": {"5": 4}}"""))
            .MustBe(200);
        const string slip = "/api/fill-runs/2026-10-30/draw-slip?inHand=20:3,5:1&denominations=50,20,10,5,1";

        // Before the run it can be taken to the bank; after it it is the same.
        var before = (await household.WithoutWritingAsync(keeper => keeper.GetAsync(slip))).MustBe(200).Json;
        (await household.FillPaydayAsync()).MustBe(201);
        var after = (await household.Keeper.GetAsync(slip)).MustBe(200).Json;

        Assert.True(JsonNode.DeepEquals(Slip(before), Slip(after)));
        Assert.Equal(("186.00", "65.00", "121.00"),
            (after.GetProperty("total").GetRawText(), after.GetProperty("fromHand").GetRawText(),
                after.GetProperty("draw").GetRawText()));
        Assert.Equal(["boat-insurance 16.00", "ferry-fares 115.00", "market-days 55.00"],
            after.GetProperty("compartments").EnumerateArray()
            .Select(c => $"{c.GetProperty("compartment").GetString()} {c.GetProperty("packed").GetRawText()}")
            .Order(StringComparer.Ordinal));
        Assert.Contains(after.GetProperty("compartments").EnumerateArray()
            .Single(c => c.GetProperty("compartment").GetString() == "ferry-fares").GetProperty("pieces")
            .EnumerateArray(),
            p => p.GetProperty("value").GetDecimal() == 5m && p.GetProperty("count").GetInt32() >= 4);

        Assert.StartsWith("sheet,compartment,value,count,amount\r\nask,",
            (await household.Keeper.GetAsync(slip, ("Accept", "text/csv"))).MustBe(200).Text, StringComparison.Ordinal);
        Assert.Equal("186.00", (await PrintedSheet.GetAsync(household.Keeper, slip)).Document.QuerySelector(
            "table.packing tfoot tr td:last-child")!.TextContent);
    }

    private static JsonNode Slip(JsonElement answer)
    {
        var slip = JsonNode.Parse(answer.GetRawText())!;
        slip.AsObject().Remove("bookLine");
        return slip;
    }

    private static readonly string[] _faces = ["2", "5", "10", "20"];
    private static readonly string[] _ruled = ["ferry-fares", "market-days", "rainy-day"];
    private static readonly string[] _roundTo = ["", "0.30", "2.50", "5.00", "15.00"];

    private static readonly Gen<string> _drawnRule =
        Gen.Select(Gen.Int[0, 2], Gen.Int[1, 30_000], Gen.Int[0, 4], Gen.Int[1, 4]).Select((kind, amount, step, rank) =>
        $$"""{{{(kind == 0 ? $"\"kind\": \"share\", \"share\": {1 + (amount % 100)}" : $"\"kind\": \"{(kind == 1 ? "fixed\", \"amount" : "ceiling\", \"ceiling")}\": {amount / 100m}")}}, "rank": {{rank}}{{(step == 0 ? "" : $", \"roundTo\": {_roundTo[step]}")}}}""");

    [Fact]
    public async Task Whatever_the_rules_and_the_notes_that_are_drawn_the_draw_slip_packs_every_cash_part_in_them()
    {
        var household = await RuledAsync(await shared.HarbourRowAsync());
        var packed = 0;

        await Gen.Select(_drawnRule.Array[3], Gen.Int[0, 3], Gen.Int[0, 100], Gen.Int[0, 2], Gen.Int[80_000, 140_000],
            Gen.Int[1_000, 60_000]).SampleAsync(
            async (rules, smallest, bankPercent, step, pay, goal) =>
            {
                (await household.Keeper.PutAsync("/api/household",
                    $$"""{"name": "Harbour Row", "currency": "EUR", "timeZone": "Europe/Dublin", "smallestNote": {{_faces[smallest]}}, "largestNote": {{(smallest % 2 == 0 ? 50 : 20)}}}""")).MustBe(200);
                (await household.Keeper.PutAsync("/api/sinking-funds/boat-insurance",
                    $$"""{"bankPercent": {{bankPercent}}}""")).MustBe(200);
                (await household.Keeper.PatchAsync("/api/goals/hull", $$"""{"amount": {{goal / 100m}}}""")).MustBe(200);
                await household.RuleAsync("boat-insurance",
                    step == 0
                        ? """{"kind": "contribution"}"""
                        : $$"""{"kind": "contribution", "roundTo": {{step * 5}}.00}""");
                foreach (var (compartment, rule) in _ruled.Zip(rules))
                {
                    await household.RuleAsync(compartment, rule);
                }

                var slip = await household.Keeper.GetAsync(
                    $"/api/fill-runs/2026-10-30/draw-slip?pay={(pay / 100m).ToString(CultureInfo.InvariantCulture)}");
                if (slip.Status == 409)
                {
                    slip.MustBeProblem(409, "nothing-to-draw");
                    return;
                }

                var face = decimal.Parse(_faces[smallest], CultureInfo.InvariantCulture);
                Assert.All(slip.MustBe(200).Json.GetProperty("compartments").EnumerateArray(), c =>
                {
                    Assert.Equal(c.GetProperty("amount").GetDecimal(), c.GetProperty("packed").GetDecimal());
                    Assert.Equal(0m, c.GetProperty("amount").GetDecimal() % face);
                    Assert.All(c.GetProperty("pieces").EnumerateArray(),
                        p => Assert.InRange(p.GetProperty("value").GetDecimal(), face, smallest % 2 == 0 ? 50m : 20m));
                });
                packed++;
            }, iter: 20, threads: 1);

        Assert.InRange(packed, 8, 20);
    }

    [Fact]
    public async Task A_run_in_whole_fives_can_be_drawn_where_a_fund_is_kept_half_in_the_bank()
    {
        var household = await (await shared.HarbourRowAsync()).PaidMonthlyAsync();
        (await household.Keeper.PutAsync("/api/sinking-funds/boat-insurance", """{"bankPercent": 50}""")).MustBe(200);
        (await household.Keeper.PostAsync("/api/goals",
            """{"compartment": "boat-insurance", "label": "Hull", "amount": 245.00, "due": "2027-05-01"}"""))
            .MustBe(201);
        await household.RuleAsync("boat-insurance", """{"kind": "contribution", "roundTo": 5.00}""");

        var slip = (await household.Keeper.GetAsync("/api/fill-runs/2026-10-30/draw-slip?denominations=50,20,10,5"))
            .MustBe(200).Json;

        Assert.Equal("20.00", slip.GetProperty("total").GetRawText());
        var run = (await household.FillPaydayAsync()).MustBe(201).Json.GetProperty("compartments")[0];
        Assert.Equal(("35.00", "20.00", "15.00"),
            (run.GetProperty("amount").GetRawText(), run.GetProperty("cash").GetRawText(),
                run.GetProperty("bank").GetRawText()));
    }

    [Fact]
    public async Task A_run_stands_on_the_day_on_which_the_cash_was_drawn_and_the_slip_says_so()
    {
        var household = await RuledAsync(await shared.HarbourRowAsync());
        const string slip = "/api/fill-runs/2026-10-30/draw-slip";
        static (string?, string?) Days(Reply reply) =>
            (reply.MustBe(200).Json.GetProperty("payday").GetString(),
                reply.Json.GetProperty("occurredOn").GetString());

        Assert.Equal(("2026-10-30", "2026-10-30"), Days(await household.Keeper.GetAsync(slip)));
        Assert.Equal(("2026-10-30", "2026-11-02"),
            Days(await household.Keeper.GetAsync($"{slip}?occurredOn=2026-11-02")));
        Assert.Equal("2026-11-02",
            (await household.FillPaydayAsync(more: ", \"occurredOn\": \"2026-11-02\", \"dryRun\": true"))
                .MustBe(200).Json.GetProperty("occurredOn").GetString());
        (await household.FillPaydayAsync(more: ", \"occurredOn\": \"2026-10-29\""))
            .MustBlame(422, "before-payday", "occurredOn");
        (await household.FillPaydayAsync(more: ", \"occurredOn\": \"2026-10-29\", \"dryRun\": true"))
            .MustBlame(422, "before-payday", "occurredOn");
        (await household.FillPaydayAsync(more: ", \"occurredOn\": \"2026-11-16\""))
            .MustBlame(422, "after-today", "occurredOn");
        (await household.Keeper.GetAsync($"{slip}?occurredOn=2026-10-29"))
            .MustBlame(422, "before-payday", "occurredOn");
        (await household.Keeper.GetAsync($"{slip}?occurredOn=soon")).MustBlame(400, "malformed", "occurredOn");

        var line = (await household.FillPaydayAsync(more: ", \"occurredOn\": \"2026-11-02\"")).MustBe(201).Lines[0];

        Assert.Equal("2026-11-02",
            (await household.Keeper.GetAsync("/api/fill-runs/2026-10-30")).MustBe(200).Json.GetProperty("occurredOn")
                .GetString());
        Assert.Equal("2026-11-02",
            (await household.Keeper.GetAsync($"/api/lines/{line}")).MustBe(200).Json.GetProperty("occurredOn")
                .GetString());
        Assert.Equal(("2026-10-30", "2026-11-02"), Days(await household.Keeper.GetAsync(slip)));
        Assert.Contains("on Mon 2 Nov 2026, for the payday of Fri 30 Oct 2026",
            (await PrintedSheet.GetAsync(household.Keeper, slip)).Document.QuerySelector("p.payday")!.TextContent,
            StringComparison.Ordinal);
        (await household.Keeper.GetAsync($"{slip}?occurredOn=2026-11-02")).MustBlame(400, "malformed", "occurredOn");
        // It is in November's sheet and in none of October's.
        Assert.Equal("0.00", (await household.Keeper.GetAsync("/api/months/2026-10/trail")).MustBe(200).Json
            .GetProperty("household").GetProperty("filled").GetRawText());
        Assert.Equal("210.00", (await household.Keeper.GetAsync("/api/months/2026-11/trail")).MustBe(200).Json
            .GetProperty("household").GetProperty("filled").GetRawText());
        var amounts = (await household.Keeper.PostAsync("/api/draw-slips", """{"amounts": {"ferry-fares": 5.00}}"""))
            .MustBe(200).Json;
        Assert.False(amounts.TryGetProperty("payday", out _) || amounts.TryGetProperty("occurredOn", out _));
    }

    [Fact]
    public async Task A_draw_slip_that_can_not_be_is_refused_with_the_mend()
    {
        var household = await RuledAsync(await shared.HarbourRowAsync());

        (await household.Keeper.GetAsync("/api/fill-runs/2026-10-30/draw-slip?denominations=50,20"))
            .MustBlame(422, "amount-not-in-notes", "denominations");
        (await household.Keeper.GetAsync("/api/fill-runs/2026-10-30/draw-slip?denominations=fifties"))
            .MustBlame(400, "malformed", "denominations");
        (await household.Keeper.GetAsync("/api/fill-runs/2026-10-30/draw-slip?denominations=3"))
            .MustBlame(422, "denomination-unknown", "denominations[0]");
        (await household.Keeper.GetAsync("/api/fill-runs/2026-10-30/draw-slip?inHand=20"))
            .MustBlame(400, "malformed", "inHand");
        (await household.Keeper.GetAsync("/api/fill-runs/2026-10-30/draw-slip?inHand=20:1,20:2"))
            .MustBlame(400, "malformed", "inHand");
        (await household.Keeper.GetAsync("/api/fill-runs/2026-10-31/draw-slip")).MustBeProblem(404, "payday-unknown");
        (await household.Keeper.GetAsync("/api/fill-runs/2026-10-30/draw-slip?pay=100"))
            .MustBeProblem(409, "nothing-to-draw");
        (await household.FillPaydayAsync()).MustBe(201);
        (await household.Keeper.GetAsync("/api/fill-runs/2026-10-30/draw-slip?pay=2000"))
            .MustBlame(400, "malformed", "pay");
    }
}
