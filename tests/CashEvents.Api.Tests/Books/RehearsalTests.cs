using System.Text.Json;
using Npgsql;
using Xunit;

namespace CashEvents.Api.Tests.Books;

public sealed class RehearsalTests(SharedServer shared)
{
    [Fact]
    public async Task A_rehearsal_shows_balances_changes_sheets_and_counts()
    {
        var household = await CountedAsync(shared);

        var reply = await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/rehearsals", """
            {"suppose": [
              {"reverse": 13},
              {"amend": 12, "replacement": {"kind": "spend", "compartment": "ferry-fares", "amount": 8.90, "description": "Return"}},
              {"record": {"kind": "transfer", "from": "ferry-fares", "to": "rainy-day", "amount": 10.00}}]}
            """));

        reply.MustBe(200).MustSay("""
            {"bookLine": 14,
             "balances": {"line": 14, "currency": "EUR",
              "compartments": [
               {"compartment": "ferry-fares", "label": "Ferry fares", "wallet": "oilskin-wallet", "purpose": "spending", "cash": 45.10, "bank": 0.00, "total": 45.10},
               {"compartment": "market-days", "label": "Market days", "wallet": "oilskin-wallet", "purpose": "spending", "cash": 0.00, "bank": 0.00, "total": 0.00},
               {"compartment": "bakery-van", "label": "Bakery van", "wallet": "oilskin-wallet", "purpose": "spending", "cash": 0.00, "bank": 0.00, "total": 0.00},
               {"compartment": "boat-insurance", "label": "Boat insurance", "wallet": "desk-drawer", "purpose": "sinkingFund", "cash": 0.00, "bank": 0.00, "total": 0.00},
               {"compartment": "rainy-day", "label": "Rainy day", "wallet": "desk-drawer", "purpose": "saving", "cash": 10.00, "bank": 0.00, "total": 10.00}],
              "wallets": [
               {"wallet": "oilskin-wallet", "label": "Oilskin wallet", "cash": 45.10, "bank": 0.00, "total": 45.10},
               {"wallet": "desk-drawer", "label": "Desk drawer", "cash": 10.00, "bank": 0.00, "total": 10.00}],
              "household": {"name": "Harbour Row", "cash": 55.10, "bank": 0.00, "total": 55.10}},
             "changes": [
              {"compartment": "ferry-fares", "holding": "cash", "now": 47.20, "then": 45.10, "change": -2.10},
              {"compartment": "rainy-day", "holding": "cash", "now": 0.00, "then": 10.00, "change": 10.00}],
             "trackers": [
              {"compartment": "ferry-fares", "label": "Ferry fares", "from": "2026-11-03", "openingBalance": 64.00,
               "rows": [
                {"date": "2026-11-03", "kind": "spend", "holding": "cash", "description": "Return", "amount": -8.40, "balance": 55.60, "line": 12},
                {"date": "2026-11-03", "kind": "spend", "holding": "cash", "description": "Return", "amount": -8.40, "balance": 47.20, "line": 13},
                {"date": "2026-11-03", "kind": "reversal", "holding": "cash", "description": "Supposed", "amount": 8.40, "balance": 55.60, "supposed": 0, "reverses": 13},
                {"date": "2026-11-03", "kind": "reversal", "holding": "cash", "description": "Supposed", "amount": 8.40, "balance": 64.00, "supposed": 1, "reverses": 12},
                {"date": "2026-11-03", "kind": "spend", "holding": "cash", "description": "Return", "amount": -8.90, "balance": 55.10, "supposed": 1, "amends": 12},
                {"date": "2026-11-15", "kind": "transfer", "holding": "cash", "description": "", "amount": -10.00, "balance": 45.10, "supposed": 2}],
               "closingBalance": 45.10},
              {"compartment": "rainy-day", "label": "Rainy day", "from": "2026-11-15", "openingBalance": 0.00,
               "rows": [{"date": "2026-11-15", "kind": "transfer", "holding": "cash", "description": "", "amount": 10.00, "balance": 10.00, "supposed": 2}],
               "closingBalance": 10.00}],
             "counts": [
              {"compartment": "ferry-fares", "holding": "cash", "occurredOn": "2026-11-10", "counted": 55.60, "expected": 55.10, "difference": 0.50, "settled": false, "agrees": false,
               "countId": 14, "expectedNow": 47.20, "differenceNow": 8.40}]}
            """);
        Assert.Equal("\"14\"", reply.ETag);
    }

    [Fact]
    public async Task A_count_agrees_once_the_line_that_was_written_twice_is_supposed_away()
    {
        var household = await CountedAsync(shared);

        var counts = (await household.Keeper.PostAsync("/api/rehearsals", """{"suppose": [{"reverse": 13}]}"""))
            .MustBe(200).Json.GetProperty("counts");

        Assert.True(counts[0].GetProperty("agrees").GetBoolean());
        Assert.Equal(("0.00", "8.40"),
            (counts[0].GetProperty("difference").GetRawText(), counts[0].GetProperty("differenceNow").GetRawText()));
    }

    [Fact]
    public async Task A_supposed_count_has_no_number_and_a_supposed_settlement_makes_the_book_agree()
    {
        var household = await CountedAsync(shared);

        var settled = (await household.Keeper.PostAsync("/api/rehearsals",
            """{"suppose": [{"record": {"kind": "settlement", "count": 14, "reason": "Found"}}]}""")).MustBe(200).Json;
        var counted = (await household.Keeper.PostAsync("/api/rehearsals",
            """{"suppose": [{"record": {"kind": "count", "compartment": "ferry-fares", "total": 47.20}}]}"""))
            .MustBe(200).Json.GetProperty("counts")[0];

        Assert.True(settled.GetProperty("counts")[0].GetProperty("agrees").GetBoolean()
            && settled.GetProperty("counts")[0].GetProperty("settled").GetBoolean());
        Assert.Equal("55.60", settled.GetProperty("changes")[0].GetProperty("then").GetRawText());
        Assert.True(counted.GetProperty("agrees").GetBoolean());
        Assert.False(counted.TryGetProperty("countId", out _) || counted.TryGetProperty("expectedNow", out _));
    }

    [Fact]
    public async Task A_payday_filled_with_other_pay_once_its_run_is_undone_comes_to_what_doing_it_comes_to()
    {
        var household = await FilledAsync(shared);
        var run = await household.LineAsync();
        await household.FillAsync("ferry-fares", "20.00");
        await household.SpendAsync("ferry-fares", "8.40");

        // 210.00 were shared out: 60.00 for the ferry, and 150.00 for the boat, which are 40.00 with 110.00 less pay.
        var rehearsed = (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/rehearsals",
                $$"""{"suppose": [{"reverse": {{run}}}, {"fillRun": {"payday": "2026-10-30", "pay": 890.00} }]}""")))
                .MustBe(200).Json;
        (await household.Keeper.PostAsync($"/api/lines/{run}/reversal", """{"reason": "Supposed"}""")).MustBe(201);
        (await household.FillPaydayAsync(more: ", \"pay\": 890.00")).MustBe(201);

        Assert.Equal(
            ["boat-insurance 150.00 40.00 -110.00", "ferry-fares 71.60 71.60 0.00"],
            rehearsed.GetProperty("changes").EnumerateArray()
                .Select(c => string.Join(' ', c.GetProperty("compartment").GetString(), c.GetProperty("now"),
                    c.GetProperty("then"), c.GetProperty("change"))).Order());
        var balances = (await household.Keeper.GetAsync("/api/balances")).MustBe(200).Json;
        foreach (var part in new[] { "compartments", "wallets", "household" })
        {
            Assert.Equal(balances.GetProperty(part).GetRawText(),
                rehearsed.GetProperty("balances").GetProperty(part).GetRawText());
        }

        foreach (var sheet in rehearsed.GetProperty("trackers").EnumerateArray())
        {
            var written = new List<JsonElement>();
            foreach (var month in new[] { "2026-10", "2026-11" })
            {
                written.AddRange((await household.Keeper.GetAsync(
                    $"/api/compartments/{sheet.GetProperty("compartment").GetString()}/tracker?month={month}"))
                    .MustBe(200).Json.GetProperty("rows").EnumerateArray());
            }

            Assert.Equal(written.Select(Said), sheet.GetProperty("rows").EnumerateArray().Select(Said));
        }
    }

    private static readonly string[] _cells = ["date", "kind", "holding", "description", "amount", "balance"];

    private static string Said(JsonElement row) =>
        string.Join(' ', _cells.Select(cell => row.GetProperty(cell).GetRawText()));

    [Theory]
    [InlineData(409, "payday-filled", "suppose[0].fillRun.payday", """[{"fillRun": {"payday": "2026-10-30"}}]""")]
    [InlineData(422, "payday-unknown", "suppose[0].fillRun.payday", """[{"fillRun": {"payday": "2026-10-29"}}]""")]
    [InlineData(422, "after-today", "suppose[0].fillRun.payday", """[{"fillRun": {"payday": "2026-11-30"}}]""")]
    [InlineData(409, "payday-filled", "suppose[1].fillRun.payday",
        """[{"fillRun": {"payday": "2026-09-30"}}, {"fillRun": {"payday": "2026-09-30"}}]""")]
    [InlineData(422, "too-many-decimals", "suppose[0].fillRun.pay",
        """[{"fillRun": {"payday": "2026-09-30", "pay": 10.001}}]""")]
    [InlineData(400, "malformed", "suppose[0].fillRun.pay", """[{"fillRun": {"payday": "2026-09-30", "pay": 0}}]""")]
    [InlineData(400, "malformed", "suppose[0].fillRun.payday", """[{"fillRun": {}}]""")]
    [InlineData(400, "malformed", "suppose[0].fillRun.dryRun",
        """[{"fillRun": {"payday": "2026-09-30", "dryRun": true}}]""")]
    [InlineData(400, "malformed", "suppose[0]", """[{"reverse": 12, "fillRun": {"payday": "2026-09-30"}}]""")]
    public async Task A_payday_that_can_not_be_filled_is_refused_as_it_would_be(int status, string code, string field,
        string suppose)
    {
        var household = await FilledAsync(shared);

        (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/rehearsals", $$"""{"suppose": {{suppose}}}""")))
            .MustBlame(status, code, field);
    }

    // Paid 210.00 beyond what the bank pays by itself.
    private static async Task<Household> FilledAsync(SharedServer shared)
    {
        var household = await (await shared.HarbourRowAsync()).PaidMonthlyAsync();
        await household.RuleAsync("ferry-fares", """{"kind": "fixed", "amount": 60.00}""");
        await household.RuleAsync("boat-insurance",
            """{"kind": "fixed", "amount": 200.00, "holding": "bank", "rank": 2}""");
        (await household.FillPaydayAsync()).MustBe(201);
        return household;
    }

    [Fact]
    public async Task Nothing_is_written_not_a_line_and_not_a_row_of_any_table()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        await household.FillAsync("ferry-fares", "64.00");
        await household.SpendAsync("ferry-fares", "8.40");
        var (before, line) = (await EveryTableAsync(server), await household.LineAsync());

        foreach (var suppose in new[]
        {
            """[{"reverse": 12}, {"amend": 11, "replacement": {"kind": "fill", "compartment": "market-days", "amount": 1.00}}, {"record": {"kind": "count", "compartment": "ferry-fares", "total": 1.00}}]""",
            """[{"record": {"kind": "fill", "compartment": "rainy-day", "amount": 1.00}}, {"reverse": 11}]""",
        })
        {
            var reply = await household.Keeper.PostAsync("/api/rehearsals", $$"""{"suppose": {{suppose}}}""",
                ("Idempotency-Key", "rehearsed"));
            Assert.True(reply.Status is 200 or 409, reply.Text);
            Assert.Equal(line, await household.LineAsync());
            Assert.Equal(before, await EveryTableAsync(server));
        }

        await household.FillAsync("ferry-fares", "1.00");
        Assert.NotEqual(before, await EveryTableAsync(server));
    }

    [Fact]
    public async Task One_that_would_be_refused_is_named_with_its_refusal()
    {
        var household = await CountedAsync(shared);

        var reply = await household.Keeper.PostAsync("/api/rehearsals", """
            {"suppose": [{"record": {"kind": "spend", "compartment": "ferry-fares", "amount": 40.00}}, {"record": {"kind": "spend", "compartment": "ferry-fares", "amount": 7.21}}]}
            """);

        Assert.StartsWith("The cash of 'ferry-fares' holds 7.20 EUR",
            reply.MustBlame(409, "not-enough", "suppose[1].record.amount"));
        Assert.Equal("0.01", reply.Json.GetProperty("shortage").GetProperty("missing").GetRawText());
    }

    [Theory]
    [InlineData(409, "not-enough", "suppose[0]", """[{"reverse": 11}]""")]
    [InlineData(409, "line-corrected", "suppose[1]", """[{"reverse": 13}, {"reverse": 13}]""")]
    [InlineData(422, "line-unknown", "suppose[1].reverse", """[{"reverse": 13}, {"reverse": 15}]""")]
    [InlineData(422, "line-unknown", "suppose[0].amend",
        """[{"amend": 999, "replacement": {"kind": "fill", "compartment": "ferry-fares", "amount": 1.00}}]""")]
    [InlineData(422, "count-not-open", "suppose[0].record",
        """[{"record": {"kind": "settlement", "count": 11, "reason": "Gone"}}]""")]
    [InlineData(422, "compartment-unknown", "suppose[0].replacement.compartment",
        """[{"amend": 13, "replacement": {"kind": "fill", "compartment": "ferry-fare", "amount": 1.00}}]""")]
    [InlineData(422, "replacement-unfit", "suppose[0].replacement.kind",
        """[{"amend": 13, "replacement": {"kind": "count", "compartment": "ferry-fares", "total": 1.00}}]""")]
    [InlineData(400, "malformed", "suppose[1].record.amount",
        """[{"reverse": 13}, {"record": {"kind": "fill", "compartment": "ferry-fares"}}]""")]
    [InlineData(400, "malformed", "suppose[0].replacement.amount",
        """[{"amend": 13, "replacement": {"kind": "fill", "compartment": "ferry-fares", "amount": -1.00}}]""")]
    [InlineData(400, "malformed", "suppose[0].record.idempotencyKey",
        """[{"record": {"kind": "fill", "compartment": "ferry-fares", "amount": 1.00, "idempotencyKey": "phone-1"}}]""")]
    [InlineData(400, "malformed", "suppose[0].record.kind",
        """[{"record": {"compartment": "ferry-fares", "amount": 1.00}}]""")]
    [InlineData(400, "malformed", "suppose[0].revers", """[{"revers": 13}]""")]
    [InlineData(400, "malformed", "suppose[0].reverse", """[{"reverse": "13"}]""")]
    [InlineData(400, "malformed", "suppose[0]", """[{}]""")]
    [InlineData(400, "malformed", "suppose[0]", """[null]""")]
    [InlineData(400, "malformed", "suppose[1]", """[{"reverse": 13}, {"reverse": 13, "amend": 12}]""")]
    [InlineData(400, "malformed", "suppose[0]", """[{"amend": 13}]""")]
    [InlineData(400, "malformed", "suppose[0]",
        """[{"reverse": 13, "replacement": {"kind": "fill", "compartment": "ferry-fares", "amount": 1.00}}]""")]
    [InlineData(400, "malformed", "suppose", """[]""")]
    [InlineData(400, "malformed", "suppose", """null""")]
    public async Task What_does_not_fit_is_refused_and_named(int status, string code, string field, string suppose)
    {
        var household = await CountedAsync(shared);

        (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/rehearsals", $$"""{"suppose": {{suppose}}}""")))
            .MustBlame(status, code, field);
    }

    [Fact]
    public async Task A_hundred_things_are_supposed_at_most()
    {
        var household = await shared.HarbourRowAsync();
        Task<Reply> Suppose(int times) => household.Keeper.PostAsync("/api/rehearsals",
            $$"""{"suppose": [{{string.Join(", ", Enumerable.Repeat("""{"record": {"kind": "fill", "compartment": "ferry-fares", "amount": 0.01}}""", times))}}]}""");

        Assert.Equal("1.00", (await Suppose(100)).MustBe(200).Json.GetProperty("changes")[0].GetProperty("change")
            .GetRawText());
        (await Suppose(101)).MustBlame(400, "malformed", "suppose");
    }

    [Fact]
    public async Task A_long_sheet_is_cut_and_says_so_and_its_closing_balance_is_right()
    {
        var household = await shared.HarbourRowAsync();
        var fills = string.Join(", ",
            Enumerable.Repeat(
                """{"kind": "fill", "compartment": "ferry-fares", "amount": 0.01, "occurredOn": "2026-11-02"}""", 999));
        (await household.Keeper.PostAsync("/api/batches", $$"""{"movements": [{{fills}}]}""")).MustBe(200);
        async Task<JsonElement> SheetAsync(string suppose) =>
            (await household.Keeper.PostAsync("/api/rehearsals", $$"""{"suppose": [{{suppose}}]}""")).MustBe(200).Json
                .GetProperty("trackers")[0];

        var whole = await SheetAsync("""{"reverse": 11}""");
        var cut = await SheetAsync("""{"reverse": 11}, {"reverse": 12}""");

        Assert.Equal((1000, false), (whole.GetProperty("rows").GetArrayLength(), whole.TryGetProperty("note", out _)));
        Assert.Equal(whole.GetProperty("closingBalance").GetRawText(),
            whole.GetProperty("rows")[999].GetProperty("balance").GetRawText());
        Assert.Equal((1000, true, "9.97"),
            (cut.GetProperty("rows").GetArrayLength(), cut.TryGetProperty("note", out _),
                cut.GetProperty("closingBalance").GetRawText()));
    }

    [Fact]
    public async Task A_household_that_has_named_no_currency_can_not_suppose_an_amount()
    {
        var household = await Household.OpenEmptyAsync(await shared.ServerAsync());

        (await household.Keeper.PostAsync("/api/rehearsals",
            """{"suppose": [{"record": {"kind": "fill", "compartment": "ferry-fares", "amount": 1.00}}]}"""))
            .MustBeProblem(422, "compartment-unknown");
    }

    // A ticket was written down twice, and the count found it.
    private static async Task<Household> CountedAsync(SharedServer shared)
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "64.00");
        await household.SpendAsync("ferry-fares", "8.40", description: "Return");
        await household.SpendAsync("ferry-fares", "8.40", description: "Return");
        (await household.Keeper.PostAsync("/api/counts",
            """{"compartment": "ferry-fares", "total": 55.60, "occurredOn": "2026-11-10"}""")).MustBe(201);
        return household;
    }

    /// <summary>Every row of every table, as text.</summary>
    private static async Task<List<string>> EveryTableAsync(RunningServer server)
    {
        await using var database = NpgsqlDataSource.Create(server.Database);
        var tables = await AskAsync(database,
            "select table_name::text from information_schema.tables where table_schema = 'cashevents' and table_type = "
                + "'BASE TABLE' order by 1");
        Assert.Contains("mt_events", tables);
        var rows = new List<string>();
        // When a book was looked at last for notices changes moments after its lines.
        foreach (var table in tables.Where(table => table != "notice_look"))
        {
            rows.AddRange((await AskAsync(database, $"select t::text from cashevents.{table} t order by 1"))
                .Select(row => $"{table} {row}"));
        }

        return rows;
    }

    private static async Task<List<string>> AskAsync(NpgsqlDataSource database, string sql)
    {
        await using var command = database.CreateCommand(sql);
        await using var reader = await command.ExecuteReaderAsync();
        var rows = new List<string>();
        while (await reader.ReadAsync())
        {
            rows.Add(reader.GetString(0));
        }

        return rows;
    }
}
