using System.Text.Json;
using Xunit;

namespace CashEvents.Api.Tests.Counts;

/// <summary>
/// A count disagrees because of one known mistake: it is explained, and what the explanation asks for makes the count
/// agree.
/// </summary>
public sealed class ExplanationTests(SharedServer shared)
{
    /// <summary>
    /// What is recorded besides the usual, what is counted, the explanation, and the requests that it is ready with.
    /// </summary>
    public static TheoryData<string, string[], string[], string, string[]> Mistakes => new()
    {
        {
            "a ticket that was not recorded", [], ["ferry-fares 31.60"], "notRecorded-spend-ferry-fares-cash-840",
            ["""POST /api/spends {"compartment": "ferry-fares", "holding": "cash", "amount": 8.40, "description": "Return to the mainland", "occurredOn": "2026-11-10"}"""]
        },
        {
            "a draw that was not recorded", [], ["ferry-fares 100.00"], "notRecorded-fill-ferry-fares-cash-6000",
            ["""POST /api/fills {"compartment": "ferry-fares", "holding": "cash", "amount": 60.00, "description": "November pay", "occurredOn": "2026-11-08"}"""]
        },
        {
            "a ticket recorded twice",
            ["spends ferry-fares 7.10 2026-11-12 Bus", "spends ferry-fares 7.10 2026-11-12 Bus"], ["ferry-fares 32.90"],
            "recordedTwice-LAST",
            ["""POST /api/lines/LAST/reversal {"reason": "Recorded twice, also in line EARLIER"}"""]
        },
        {
            "a refund recorded as a spend",
            ["refunds ferry-fares 2.35 2026-11-04 Ticket taken back",
                "spends ferry-fares 2.35 2026-11-12 Ticket taken back"], ["ferry-fares 44.70"],
                "wrongDirection-LAST-refund",
            ["""POST /api/lines/LAST/amendment {"reason": "Recorded in the wrong direction", "replacement": {"kind": "refund", "compartment": "ferry-fares", "holding": "cash", "amount": 2.35, "description": "Ticket taken back"}}"""]
        },
        {
            "a loaf recorded among the ferry fares", ["spends ferry-fares 5.35 2026-11-12 Two loaves"],
            ["bakery-van 54.65", "ferry-fares 40.00"], "wrongCompartment-LAST-bakery-van-cash-ferry-fares-cash",
            ["""POST /api/lines/LAST/amendment {"reason": "Recorded in the wrong place", "replacement": {"kind": "spend", "compartment": "bakery-van", "holding": "cash", "amount": 5.35, "description": "Two loaves"}}"""]
        },
        {
            "money that was moved and not recorded", [], ["bakery-van 73.35", "ferry-fares 26.65"],
            "notRecorded-transfer-ferry-fares-cash-bakery-van-cash-1335",
            ["""POST /api/transfers {"from": {"compartment": "ferry-fares", "holding": "cash"}, "to": {"compartment": "bakery-van", "holding": "cash"}, "amount": 13.35, "occurredOn": "2026-11-14"}"""]
        },
        {
            "8.90 written as 9.80", ["spends ferry-fares 9.80 2026-11-12 Bicycle"], ["ferry-fares 31.10"],
            "transposed-LAST-890",
            ["""POST /api/lines/LAST/amendment {"reason": "Two figures changed places", "replacement": {"kind": "spend", "compartment": "ferry-fares", "holding": "cash", "amount": 8.90, "description": "Bicycle"}}"""]
        },
        {
            "2.50 written as 25.00", ["spends ferry-fares 25.00 2026-11-12 Bicycle"], ["ferry-fares 37.50"],
            "slid-LAST-250",
            ["""POST /api/lines/LAST/amendment {"reason": "The point slid", "replacement": {"kind": "spend", "compartment": "ferry-fares", "holding": "cash", "amount": 2.50, "description": "Bicycle"}}"""]
        },
        {
            "a twenty counted as a ten", [], ["ferry-fares {\"10\": 1, \"5\": 4}"], "wrongDenomination-1000-2000",
            ["""POST /api/counts {"compartment": "ferry-fares", "holding": "cash", "denominations": {"20": 1, "5": 4}, "occurredOn": "2026-11-15"}"""]
        },
        {
            "one coin of change too little", ["spends ferry-fares 3.15 2026-11-12 Coffee on the boat"],
            ["ferry-fares 36.35"], "wrongChange-LAST-365",
            ["""POST /api/lines/LAST/amendment {"reason": "The change was wrong", "replacement": {"kind": "spend", "compartment": "ferry-fares", "holding": "cash", "amount": 3.65, "description": "Coffee on the boat"}}"""]
        },
        {
            "two lines of a day on which nobody went",
            ["spends ferry-fares 3.15 2026-11-12 Coffee", "spends ferry-fares 6.45 2026-11-12 Single"],
            ["ferry-fares 40.00"], "notMoved-EARLIER-LAST",
            ["""POST /api/lines/EARLIER/reversal {"reason": "The money did not move"}""",
                """POST /api/lines/LAST/reversal {"reason": "The money did not move"}"""]
        },
        {
            "a ticket not recorded and another with its figures transposed",
            ["spends ferry-fares 9.70 2026-11-12 Bicycle"], ["ferry-fares 23.70"],
            "notRecorded-spend-ferry-fares-cash-840+transposed-LAST-790",
            [
                """POST /api/spends {"compartment": "ferry-fares", "holding": "cash", "amount": 8.40, "description": "Return to the mainland", "occurredOn": "2026-11-10"}""",
                """POST /api/lines/LAST/amendment {"reason": "Two figures changed places", "replacement": {"kind": "spend", "compartment": "ferry-fares", "holding": "cash", "amount": 7.90, "description": "Bicycle"}}""",
            ]
        },
    };

    [Theory]
    [MemberData(nameof(Mistakes))]
    public async Task Each_kind_of_mistake_is_listed_with_the_requests_that_make_the_count_agree(string what,
        string[] recorded, string[] counted, string code, string[] requests)
    {
        Assert.NotEmpty(what);
        var (household, count, lines) = await CountedAsync(recorded, counted);
        string Told(string text) =>
            text.Replace("LAST", $"{lines[^1]}", StringComparison.Ordinal)
                .Replace("EARLIER", $"{lines.ElementAtOrDefault(lines.Count - 2)}", StringComparison.Ordinal);

        var answer = await household.WithoutWritingAsync(
            keeper => keeper.GetAsync($"/api/counts/{count}/explanations?limit=20"));
        var listed = answer.MustBe(200).Json.GetProperty("explanations").EnumerateArray().ToList();
        var explanation = listed.SingleOrDefault(e => e.GetProperty("explanation").GetString() == Told(code));
        Assert.True(explanation.ValueKind == JsonValueKind.Object,
            $"{Told(code)} is not listed: "
                + string.Join(' ',
                    listed.Select(e => $"{e.GetProperty("explanation")} {e.GetProperty("likelihood")},")));
        var ready = explanation.GetProperty("requests").EnumerateArray().ToList();

        Assert.Equal(requests.Select(Told).Select(Compact),
            ready.Select(r => Compact(
                $"{r.GetProperty("method").GetString()} {r.GetProperty("path").GetString()} "
                    + $"{r.GetProperty("body").GetRawText()}")));
        foreach (var request in ready)
        {
            (await household.Keeper.SendAsync(request.GetProperty("method").GetString()!,
                request.GetProperty("path").GetString()!, request.GetProperty("body").GetRawText())).MustBe(201);
        }

        await MustAgreeAsync(household);
    }

    private static string Compact(string request)
    {
        var at = request.IndexOf('{', StringComparison.Ordinal);
        return request[..at] + string.Join(", ",
            System.Text.Json.Nodes.JsonNode.Parse(request[at..])!.AsObject().OrderBy(p => p.Key, StringComparer.Ordinal)
                .Select(p => $"{p.Key}: {p.Value!.ToJsonString()}"));
    }

    [Theory]
    [MemberData(nameof(Mistakes))]
    public async Task A_count_is_settled_by_its_explanation_in_one_entry_and_once(string what, string[] recorded,
        string[] counted, string code, string[] requests)
    {
        Assert.NotEmpty(what);
        var (household, count, lines) = await CountedAsync(recorded, counted);
        var told = code.Replace("LAST", $"{lines[^1]}", StringComparison.Ordinal)
            .Replace("EARLIER", $"{lines.ElementAtOrDefault(lines.Count - 2)}", StringComparison.Ordinal);
        var before = await household.LineAsync();

        var settled = (await household.Keeper.PostAsync($"/api/counts/{count}/settlement",
            $$"""{"explanation": "{{told}}"}""", ("Idempotency-Key", "settle-by-it"))).MustBe(201);
        var again = await household.Keeper.PostAsync($"/api/counts/{count}/settlement",
            $$"""{"explanation": "{{told}}"}""", ("Idempotency-Key", "settle-by-it"));

        Assert.Equal(before + 1, settled.Json.GetProperty("entryId").GetInt64());
        Assert.True(settled.Lines.Length >= requests.Length);
        Assert.All(await household.LinesAsync($"after={before}"),
            line => Assert.Equal(before + 1, line.GetProperty("entryId").GetInt64()));
        again.MustBe(201).MustSay(settled.Text);
        Assert.Equal(before + settled.Lines.Length, await household.LineAsync());
        await MustAgreeAsync(household);
    }

    [Fact]
    public async Task The_answer_tells_the_count_where_it_was_looked_and_what_each_explanation_rests_on()
    {
        var (household, count, lines) =
            await CountedAsync(["spends ferry-fares 9.80 2026-11-12 Bicycle"], ["ferry-fares 31.10"]);

        var answer = (await household.Keeper.GetAsync($"/api/counts/{count}/explanations?limit=1")).MustBe(200);

        Assert.Equal(await household.LineAsync(), answer.BookLine);
        var json = answer.Json;
        Assert.Equal((count, "30.20", "31.10", "0.90", "2026-11-08"), (
            json.GetProperty("countId").GetInt64(), json.GetProperty("expected").GetRawText(),
            json.GetProperty("counted").GetRawText(), json.GetProperty("difference").GetRawText(),
            json.GetProperty("since").GetString()));
        var first = Assert.Single(json.GetProperty("explanations").EnumerateArray());
        var mistake = Assert.Single(first.GetProperty("mistakes").EnumerateArray());
        Assert.Equal([lines[^1]], mistake.GetProperty("lines").EnumerateArray().Select(l => l.GetInt64()));
        Assert.Equal("transposed", mistake.GetProperty("kind").GetString());
        Assert.Equal($"In line {lines[^1]} (spend of 9.80 EUR on 2026-11-12, \"Bicycle\") two figures changed places: "
            + $"it was 8.90 EUR.", mistake.GetProperty("says").GetString());
        Assert.Equal("0.90", mistake.GetProperty("effects")[0].GetProperty("difference").GetRawText());
        Assert.Equal(1m, first.GetProperty("likelihood").GetDecimal() + json.GetProperty("somethingElse").GetDecimal());
        Assert.Equal(count, Assert.Single(first.GetProperty("counts").EnumerateArray()).GetInt64());
    }

    [Fact]
    public async Task Counts_of_one_day_are_explained_together_by_the_fewest_mistakes()
    {
        // Ferry fares are over and the bakery van is short by the same loaf; on market days a ticket of another kind is
        // missing.
        var (household, count, lines) = await CountedAsync(
            ["spends ferry-fares 5.35 2026-11-12 Two loaves"],
            ["bakery-van 54.65", "market-days 66.30", "ferry-fares 40.00"]);

        var answer = (await household.Keeper.GetAsync($"/api/counts/{count}/explanations")).MustBe(200).Json;
        var together = answer.GetProperty("together");

        Assert.Equal(2, together.GetProperty("mistakes").GetArrayLength());
        Assert.Equal(3, together.GetProperty("counts").GetArrayLength());
        Assert.Contains($"wrongCompartment-{lines[^1]}", together.GetProperty("explanation").GetString(),
            StringComparison.Ordinal);
        Assert.StartsWith($"wrongCompartment-{lines[^1]}",
            answer.GetProperty("explanations")[0].GetProperty("explanation").GetString(), StringComparison.Ordinal);
        Assert.Equal(2, answer.GetProperty("explanations")[0].GetProperty("counts").GetArrayLength());
        (await household.Keeper.PostAsync($"/api/counts/{count}/settlement",
            $$"""{"explanation": "{{together.GetProperty("explanation").GetString()}}"}""")).MustBe(201);
        await MustAgreeAsync(household);
    }

    [Fact]
    public async Task A_line_of_the_next_day_is_named_with_what_dates_it_before_it_is_written_a_second_time()
    {
        // Written before the count of the 11th, and dated the day after it.
        var household = await shared.HarbourRowAsync();
        await RecordAsync(household, "fills ferry-fares 60.00 2026-10-18 Pay");
        await RecordAsync(household, "spends ferry-fares 8.40 2026-10-20 Return");
        var line = await RecordAsync(household, "spends ferry-fares 11.70 2026-11-12 Bicycle");
        var count = await CountAsync(household, "ferry-fares", "39.90", on: "2026-11-11");

        var listed = (await household.Keeper.GetAsync($"/api/counts/{count}/explanations")).MustBe(200).Json
            .GetProperty("explanations").EnumerateArray().ToList();
        var dated = listed.Single(e => e.GetProperty("explanation").GetString() == $"wrongDay-{line}");
        var missing = listed.Single(e => e.GetProperty("explanation").GetString()
            == $"notRecorded-spend-ferry-fares-cash-1170-beside-{line}");

        var mayBe = Assert.Single(Assert.Single(missing.GetProperty("mistakes").EnumerateArray())
            .GetProperty("mayBe").EnumerateArray());
        Assert.Equal(line, mayBe.GetProperty("line").GetInt64());
        Assert.Equal(dated.GetProperty("requests")[0].GetRawText(), mayBe.GetProperty("request").GetRawText());
        Assert.True(dated.GetProperty("likelihood").GetDecimal()
            + missing.GetProperty("likelihood").GetDecimal() <= 1m);
        (await household.Keeper.PostAsync(mayBe.GetProperty("request").GetProperty("path").GetString()!,
            mayBe.GetProperty("request").GetProperty("body").GetRawText())).MustBe(201);
        await MustAgreeAsync(household);
    }

    [Fact]
    public async Task Who_accepts_that_nothing_was_recorded_is_told_which_line_it_would_be_twice()
    {
        var (household, count, lines) =
            await CountedAsync(["spends market-days 11.70 2026-11-12 Bicycle"], ["ferry-fares 28.30"]);
        var settle = $$"""{"explanation": "notRecorded-spend-ferry-fares-cash-1170-beside-{{lines[0]}}"}""";

        var settled = (await household.Keeper.PostAsync($"/api/counts/{count}/settlement", settle,
            ("Idempotency-Key", "none-of-them"))).MustBe(201);

        Assert.Equal($"This says that it is not in line {lines[0]}. If it is, reverse what was written here.",
            settled.Json.GetProperty("note").GetString());
        (await household.Keeper.PostAsync($"/api/counts/{count}/settlement", settle,
            ("Idempotency-Key", "none-of-them"))).MustBe(201).MustSay(settled.Text);
        await MustAgreeAsync(household);
    }

    [Fact]
    public async Task The_answer_tells_why_what_to_look_at_and_which_count_would_decide()
    {
        var (household, count, lines) =
            await CountedAsync(["spends market-days 11.70 2026-11-12 Bicycle"], ["ferry-fares 28.30"]);

        var answer = (await household.Keeper.GetAsync($"/api/counts/{count}/explanations")).MustBe(200).Json;

        Assert.All(answer.GetProperty("explanations").EnumerateArray(), e =>
        {
            Assert.NotEqual("", e.GetProperty("why").GetString());
            Assert.NotEqual("", e.GetProperty("look").GetString());
        });
        Assert.Equal("market-days", answer.GetProperty("nextCount").GetProperty("compartment").GetString());
        Assert.Contains("over by 11.70 EUR", answer.GetProperty("nextCount").GetProperty("says").GetString(),
            StringComparison.Ordinal);
    }

    [Fact]
    public async Task What_is_probably_lost_is_said_to_be_none_of_what_is_listed()
    {
        var (household, count, _) = await CountedAsync([], ["ferry-fares 39.50"]);

        var answer = (await household.Keeper.GetAsync($"/api/counts/{count}/explanations")).MustBe(200).Json;

        Assert.InRange(answer.GetProperty("somethingElse").GetDecimal(), 0.5m, 1m);
        Assert.Contains("three mistakes", answer.GetProperty("note").GetString(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_movement_on_the_only_day_there_is_is_written_with_the_count_after_it()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "40.00", on: "2026-11-15");
        await CountAsync(household, "ferry-fares", "40.00");
        var count = await CountAsync(household, "ferry-fares", "31.60");

        var answer = (await household.Keeper.GetAsync($"/api/counts/{count}/explanations")).MustBe(200).Json;
        var explanation = answer.GetProperty("explanations").EnumerateArray()
            .First(e => e.GetProperty("explanation").GetString() == "notRecorded-spend-ferry-fares-cash-840");

        Assert.Equal(["/api/spends", "/api/counts"],
            explanation.GetProperty("requests").EnumerateArray().Select(r => r.GetProperty("path").GetString()));
        (await household.Keeper.PostAsync($"/api/counts/{count}/settlement",
            """{"explanation": "notRecorded-spend-ferry-fares-cash-840"}""")).MustBe(201);
        await MustAgreeAsync(household);
    }

    [Fact]
    public async Task A_count_that_agrees_has_nothing_to_explain_and_one_that_is_settled_or_replaced_is_refused()
    {
        var (household, count, _) = await CountedAsync([], ["ferry-fares 40.00"]);
        var agrees = (await household.Keeper.GetAsync($"/api/counts/{count}/explanations")).MustBe(200).Json;
        Assert.Equal((0, "The count agrees: there is nothing to explain."),
            (agrees.GetProperty("explanations").GetArrayLength(), agrees.GetProperty("note").GetString()));

        var next = await CountAsync(household, "ferry-fares", "39.00");
        (await household.Keeper.GetAsync($"/api/counts/{count}/explanations")).MustBeProblem(404, "count-not-open");
        (await household.Keeper.PostAsync($"/api/counts/{next}/settlement", """{"reason": "Gone"}""")).MustBe(201);
        (await household.Keeper.GetAsync($"/api/counts/{next}/explanations")).MustBeProblem(409, "count-settled");
        (await household.Keeper.GetAsync("/api/counts/1/explanations")).MustBeProblem(404, "count-not-open");
        (await household.Keeper.GetAsync($"/api/counts/{next}/explanations?limit=21"))
            .MustBlame(400, "malformed", "limit");
        (await household.Keeper.GetAsync($"/api/counts/{next}/explanations?most=2"))
            .MustBlame(400, "malformed", "most");
    }

    [Fact]
    public async Task An_explanation_that_is_not_one_writes_nothing()
    {
        var (household, count, _) = await CountedAsync([], ["ferry-fares 31.60"]);

        var unknown = await household.WithoutWritingAsync(
            keeper => keeper.PostAsync($"/api/counts/{count}/settlement", """{"explanation": "slid-1-250"}"""));
        unknown.MustBlame(409, "explanation-unknown", "explanation");
        (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync($"/api/counts/{count}/settlement",
                """{"explanation": "slid-1-250", "reason": "Gone"}"""))).MustBlame(400, "malformed", "reason");
        (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync($"/api/counts/{count}/settlement",
                """{"explanation": "slid-1-250", "occurredOn": "2026-11-15"}""")))
                .MustBlame(400, "malformed", "occurredOn");
        (await household.WithoutWritingAsync(keeper => keeper.PostAsync($"/api/counts/{count}/settlement", "{}")))
            .MustBlame(400, "malformed", "reason");
        (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/counts/999/settlement", """{"explanation": "slid-1-250"}""")))
            .MustBeProblem(404, "count-not-open");
    }

    [Fact]
    public async Task A_script_settles_by_an_explanation_only_with_the_movements_that_it_may_write()
    {
        var (household, count, _) = await CountedAsync([], ["ferry-fares 31.60"]);
        const string body = """{"explanation": "notRecorded-spend-ferry-fares-cash-840"}""";
        var settler = await household.IssueAsync("settler", "script", """["settlement"]""");
        var both = await household.IssueAsync("settler and spender", "script", """["settlement", "spend"]""");

        (await household.WithoutWritingAsync(_ => settler.PostAsync($"/api/counts/{count}/settlement", body)))
            .MustBeProblem(403, "not-allowed");
        (await both.PostAsync($"/api/counts/{count}/settlement", body)).MustBe(201);
    }

    // Tickets on Tuesdays and loaves on Wednesdays; all agreed on the 8th, before what is recorded besides.
    private async Task<(Household Household, long Count, List<long> Lines)> CountedAsync(string[] recorded,
        string[] counted)
    {
        var household = await shared.HarbourRowAsync();
        await RecordAsync(household, "fills ferry-fares 60.00 2026-10-18 November pay");
        await RecordAsync(household, "fills market-days 80.00 2026-10-18 November pay");
        await RecordAsync(household, "fills bakery-van 70.70 2026-10-18 November pay");
        await RecordAsync(household, "spends ferry-fares 8.40 2026-10-20 Return to the mainland");
        await RecordAsync(household, "spends bakery-van 5.35 2026-10-21 Two loaves");
        await RecordAsync(household, "spends ferry-fares 8.40 2026-11-03 Return to the mainland");
        await RecordAsync(household, "spends bakery-van 5.35 2026-11-04 Two loaves");
        await RecordAsync(household, "spends ferry-fares 3.20 2026-11-05 Bus");
        await RecordAsync(household, "spends market-days 6.90 2026-11-05 Cheese and eggs");
        foreach (var (compartment, total) in new[] { ("ferry-fares", "40.00"), ("market-days", "73.10"),
            ("bakery-van", "60.00") })
        {
            await CountAsync(household, compartment, total, on: "2026-11-08");
        }

        await RecordAsync(household, "spends market-days 4.10 2026-11-09 Apples");
        var lines = new List<long>();
        foreach (var line in recorded)
        {
            lines.Add(await RecordAsync(household, line));
        }

        lines = lines.Count > 0 ? lines : [await household.LineAsync()];
        var count = 0L;
        foreach (var found in counted)
        {
            var at = found.IndexOf(' ', StringComparison.Ordinal);
            count = await CountAsync(household, found[..at], found[(at + 1)..]);
        }

        return (household, count, lines);
    }

    private static async Task<long> RecordAsync(Household household, string line)
    {
        var parts = line.Split(' ', 5);
        return (await household.Keeper.PostAsync($"/api/{parts[0]}",
            $$"""{"compartment": "{{parts[1]}}", "amount": {{parts[2]}}, "occurredOn": "{{parts[3]}}", "description": "{{parts[4]}}"}""")).MustBe(201).Lines[^1];
    }

    private static async Task<long> CountAsync(Household household, string compartment, string found,
        string on = "2026-11-15") =>
        (await household.Keeper.PostAsync("/api/counts",
            $$"""{"compartment": "{{compartment}}", "{{(found[0] == '{' ? "denominations" : "total")}}": {{found}}, "occurredOn": "{{on}}"}"""))
            .MustBe(201).Json.GetProperty("countId").GetInt64();

    // As a rehearsal of something else tells it.
    private static async Task MustAgreeAsync(Household household)
    {
        var rehearsal = (await household.Keeper.PostAsync("/api/rehearsals",
            """{"suppose": [{"record": {"kind": "fill", "compartment": "rainy-day", "amount": 1.00}}]}"""))
            .MustBe(200).Json;
        Assert.All(rehearsal.GetProperty("counts").EnumerateArray(),
            count => Assert.True(count.GetProperty("difference").GetDecimal() == 0m, count.GetRawText()));
    }
}
