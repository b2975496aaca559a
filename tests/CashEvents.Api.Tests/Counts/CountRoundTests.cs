using System.Text.Json;
using Xunit;

namespace CashEvents.Api.Tests.Counts;

public sealed class CountRoundTests(SharedServer shared)
{
    [Fact]
    public async Task A_round_goes_from_compartment_to_compartment_and_says_what_is_still_to_count()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "64.00");
        await household.FillAsync("market-days", "20.00");

        var opened = (await household.Keeper.PostAsync("/api/count-rounds", """{"wallet": "oilskin-wallet"}"""))
            .MustBe(201);
        opened.MustSay(
            """{"lines": [13], "entryId": 13, "id": 13, "counted": [], "notCounted": ["ferry-fares", "market-days", "bakery-van"], "confirmed": []}""");
        Assert.Equal("/api/count-rounds/13", opened.Headers["Location"]);
        (await CountAsync(household.Keeper, 13,
            """{"compartment": "ferry-fares", "denominations": {"20": 3, "2": 1, "0.50": 2}, "witness": "partner"}"""))
            .MustHave("""
            {"lines": [14], "entryId": 14, "round": 13, "compartment": "ferry-fares", "countId": 14, "countedOn": "2026-11-15", "atLine": 13, "expected": 64.00, "counted": 63.00, "difference": -1.00}
            """);
        await CountAsync(household.Keeper, 13, """{"compartment": "bakery-van", "total": 0.00}""");

        (await household.Keeper.GetAsync("/api/count-rounds/13")).MustBe(200).MustHave("""
            {"round": {"id": 13, "state": "open", "blind": false, "openedAt": "2026-11-15T12:00:00+00:00", "openedBy": "keeper", "counted": ["ferry-fares", "bakery-van"], "toCount": ["market-days"], "wallet": "oilskin-wallet"},
             "currency": "EUR",
             "compartments": [
               {"compartment": "ferry-fares", "label": "Ferry fares", "wallet": "oilskin-wallet", "expected": 64.00, "counted": 63.00, "difference": -1.00, "countId": 14, "countedOn": "2026-11-15", "atLine": 13, "by": "keeper",
                "denominations": [{"value": 20.00, "count": 3}, {"value": 2.00, "count": 1}, {"value": 0.50, "count": 2}]},
               {"compartment": "market-days", "label": "Market days", "wallet": "oilskin-wallet", "expected": 20.00},
               {"compartment": "bakery-van", "label": "Bakery van", "wallet": "oilskin-wallet", "expected": 0.00, "counted": 0.00, "difference": 0.00, "countId": 15, "countedOn": "2026-11-15", "atLine": 14, "by": "keeper"}],
             "wallets": [{"wallet": "oilskin-wallet", "label": "Oilskin wallet", "total": {"counted": 63.00, "expected": 64.00, "difference": -1.00,
               "denominations": [{"value": 20.00, "count": 3, "amount": 60.00}, {"value": 2.00, "count": 1, "amount": 2.00}, {"value": 0.50, "count": 2, "amount": 1.00}], "withoutDenominations": 0.00}}],
             "total": {"counted": 63.00, "expected": 64.00, "difference": -1.00,
               "denominations": [{"value": 20.00, "count": 3, "amount": 60.00}, {"value": 2.00, "count": 1, "amount": 2.00}, {"value": 0.50, "count": 2, "amount": 1.00}], "withoutDenominations": 0.00},
             "bookLine": 15}
            """);
        (await household.Keeper.PostAsync("/api/counts/14/settlement", """{"reason": "A coin on the pier"}"""))
            .MustBe(201);
        Assert.Equal("63.00", await household.HoldsAsync("ferry-fares"));
    }

    [Fact]
    public async Task The_notes_of_a_wallet_are_added_up_by_denomination()
    {
        var household = await shared.HarbourRowAsync();
        var round = await OpenAsync(household.Keeper, "{}");
        await CountAsync(household.Keeper, round,
            """{"compartment": "ferry-fares", "denominations": {"20": 3, "0.50": 2}}""");
        await CountAsync(household.Keeper, round,
            """{"compartment": "market-days", "denominations": {"20": 1, "5": 4}}""");
        await CountAsync(household.Keeper, round, """{"compartment": "bakery-van", "total": 7.30}""");
        await CountAsync(household.Keeper, round, """{"compartment": "rainy-day", "denominations": {"20": 2}}""");

        var answer = (await household.Keeper.GetAsync($"/api/count-rounds/{round}")).MustBe(200).Json;

        Assert.Equal(
            """[{"value":20.00,"count":4,"amount":80.00},{"value":5.00,"count":4,"amount":20.00},{"value":0.50,"count":2,"amount":1.00}]""",
            Wallet(answer, "oilskin-wallet").GetProperty("denominations").GetRawText());
        Assert.Equal(("108.30", "7.30"),
            (Wallet(answer, "oilskin-wallet").GetProperty("counted").GetRawText(),
                Wallet(answer, "oilskin-wallet").GetProperty("withoutDenominations").GetRawText()));
        Assert.Equal("40.00", Wallet(answer, "desk-drawer").GetProperty("counted").GetRawText());
        Assert.Equal(6, answer.GetProperty("total").GetProperty("denominations")[0].GetProperty("count").GetInt32());
    }

    [Fact]
    public async Task A_blind_round_tells_nothing_of_what_is_expected_until_the_figure_is_in()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "64.17");
        await household.FillAsync("market-days", "20.29");

        var opened = await household.Keeper.PostAsync("/api/count-rounds",
            """{"purpose": "spending", "blind": true}""");
        var round = opened.MustBe(201).Json.GetProperty("id").GetInt64();
        string[] addresses = ["/api/count-rounds", $"/api/count-rounds/{round}", $"/api/count-rounds/{round}/sheet"];
        foreach (var address in addresses)
        {
            var (json, html) = ((await household.Keeper.GetAsync(address)).MustBe(200).Text,
                (await household.Keeper.GetAsync(address, ("Accept", "text/html, */*;q=0.1"))).MustBe(200).Text);
            Assert.All([opened.Text, json, html], text => Assert.DoesNotContain("64.17", text));
            Assert.All([opened.Text, json, html], text => Assert.DoesNotContain("20.29", text));
        }

        var counted = await CountAsync(household.Keeper, round, """{"compartment": "ferry-fares", "total": 64.00}""");

        Assert.Equal(("64.17", "-0.17"),
            (counted.Json.GetProperty("expected").GetRawText(), counted.Json.GetProperty("difference").GetRawText()));
        foreach (var address in addresses)
        {
            Assert.DoesNotContain("20.29", (await household.Keeper.GetAsync(address)).Text);
            Assert.DoesNotContain("20.29",
                (await household.Keeper.GetAsync(address, ("Accept", "text/html, */*;q=0.1"))).Text);
        }

        Assert.Equal("64.17", Compartment((await household.Keeper.GetAsync($"/api/count-rounds/{round}")).Json,
            "ferry-fares").GetProperty("expected").GetRawText());
    }

    [Fact]
    public async Task A_count_is_compared_with_the_balance_at_its_own_moment()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        var partner = await household.IssueAsync("partner", "member");
        await household.FillAsync("ferry-fares", "64.00");
        At(18, 0);
        var round = await OpenAsync(household.Keeper, """{"wallet": "oilskin-wallet"}""");
        At(18, 10);
        (await partner.PostAsync("/api/spends",
            """{"compartment": "ferry-fares", "amount": 8.40, "description": "Evening boat"}""")).MustBe(201);
        (await partner.PostAsync("/api/spends",
            """{"compartment": "ferry-fares", "amount": 3.00, "occurredOn": "2026-11-14", "description": "Forgotten yesterday"}""")).MustBe(201);
        At(18, 20);

        var counted = await CountAsync(household.Keeper, round,
            """{"compartment": "ferry-fares", "total": 60.50, "countedAt": "2026-11-15T18:05:00Z"}""");

        // 64.00 less the 3.00 that were gone since yesterday; the evening boat was paid after the count.
        Assert.Equal(("61.00", "-0.50", round),
            (counted.Json.GetProperty("expected").GetRawText(), counted.Json.GetProperty("difference").GetRawText(),
                counted.Json.GetProperty("atLine").GetInt64()));
        (await household.Keeper.PostAsync($"/api/counts/{counted.Json.GetProperty("countId")}/settlement",
            """{"reason": "Gone"}""")).MustBe(201);
        Assert.Equal("52.10", await household.HoldsAsync("ferry-fares"));

        void At(int hour, int minute) =>
            server.Clock.SetUtcNow(new DateTimeOffset(2026, 11, 15, hour, minute, 0, TimeSpan.Zero));
    }

    [Fact]
    public async Task A_count_of_last_night_that_is_written_in_the_morning_belongs_to_last_night()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        await household.FillAsync("ferry-fares", "64.00");
        server.Clock.SetUtcNow(new DateTimeOffset(2026, 11, 15, 22, 0, 0, TimeSpan.Zero));
        var round = await OpenAsync(household.Keeper, """{"wallet": "oilskin-wallet"}""");
        server.Clock.SetUtcNow(new DateTimeOffset(2026, 11, 16, 8, 0, 0, TimeSpan.Zero));
        await household.SpendAsync("ferry-fares", "8.40", on: "2026-11-16");

        var counted = (await CountAsync(household.Keeper, round,
            """{"compartment": "ferry-fares", "total": 64.00, "countedAt": "2026-11-15T22:30:00+00:00"}""")).Json;

        Assert.Equal(("64.00", "2026-11-15"),
            (counted.GetProperty("expected").GetRawText(), counted.GetProperty("countedOn").GetString()));
    }

    [Fact]
    public async Task The_line_up_to_which_things_had_happened_can_be_named_where_the_books_order_is_another()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "64.00");
        var round = await OpenAsync(household.Keeper, "{}");
        var before = (await household.SpendAsync("ferry-fares", "4.00", on: "2026-11-15",
            description: "Before the count, written down after it")).Lines[0];
        await household.SpendAsync("ferry-fares", "8.40", on: "2026-11-15", description: "After the count");

        var counted = (await CountAsync(household.Keeper, round,
            $$"""{"compartment": "ferry-fares", "total": 60.00, "atLine": {{before}}}""")).Json;

        Assert.Equal(("60.00", "0.00", before),
            (counted.GetProperty("expected").GetRawText(), counted.GetProperty("difference").GetRawText(),
                counted.GetProperty("atLine").GetInt64()));
    }

    [Fact]
    public async Task A_figure_stays_of_its_moment_when_older_spends_become_known()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "64.00");
        var round = await OpenAsync(household.Keeper, "{}");
        await CountAsync(household.Keeper, round, """{"compartment": "ferry-fares", "total": 60.00}""");
        await household.SpendAsync("ferry-fares", "4.00", on: "2026-11-10", description: "Forgotten");

        var figure = Compartment((await household.Keeper.GetAsync($"/api/count-rounds/{round}")).MustBe(200).Json,
            "ferry-fares");

        Assert.Equal(("60.00", "0.00"),
            (figure.GetProperty("expected").GetRawText(), figure.GetProperty("difference").GetRawText()));
    }

    [Fact]
    public async Task A_second_person_confirms_with_a_key_of_their_own()
    {
        var household = await shared.HarbourRowAsync();
        var partner = await household.IssueAsync("partner", "member");
        var round = await OpenAsync(household.Keeper, """{"wallet": "desk-drawer"}""");
        await CountAsync(household.Keeper, round, """{"compartment": "rainy-day", "total": 0.00}""");

        (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync($"/api/count-rounds/{round}/confirmations", "{}")))
            .MustBeProblem(409, "same-key");
        (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync($"/api/count-rounds/{round}/confirmations",
                """{"compartments": ["rainy-day"]}"""))).MustBlame(409, "same-key", "compartments[0]");
        (await household.WithoutWritingAsync(
            _ => partner.PostAsync($"/api/count-rounds/{round}/confirmations",
                """{"compartments": ["boat-insurance"]}"""))).MustBlame(409, "not-counted-yet", "compartments[0]");
        var confirmed = (await partner.PostAsync($"/api/count-rounds/{round}/confirmations", "{}")).MustBe(201);

        Assert.Equal(["rainy-day"], Words(confirmed.Json.GetProperty("confirmed")));
        Assert.Equal("partner", Compartment((await household.Keeper.GetAsync($"/api/count-rounds/{round}")).Json,
            "rainy-day").GetProperty("confirmedBy").GetString());
        Assert.Equal("[]", (await household.WithoutWritingAsync(
            _ => partner.PostAsync($"/api/count-rounds/{round}/confirmations", "{}"))).MustBe(200).Json
            .GetProperty("lines").GetRawText());

        // Whoever confirms may count too, but then somebody else has to confirm.
        await CountAsync(partner, round, """{"compartment": "rainy-day", "total": 1.00}""");
        var again = Compartment((await household.Keeper.GetAsync($"/api/count-rounds/{round}")).Json, "rainy-day");
        Assert.False(again.TryGetProperty("confirmedBy", out _));
        Assert.Single(again.GetProperty("earlierCounts").EnumerateArray());
        (await household.WithoutWritingAsync(_ => partner.PostAsync($"/api/count-rounds/{round}/confirmations", "{}")))
            .MustBeProblem(409, "same-key");
        (await household.Keeper.PostAsync($"/api/count-rounds/{round}/confirmations", "{}")).MustBe(201);
    }

    [Fact]
    public async Task A_round_is_closed_when_all_is_counted_or_given_up_with_a_reason_and_can_still_be_read()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("rainy-day", "5.00");
        var first = await OpenAsync(household.Keeper, """{"wallet": "desk-drawer"}""");
        var count = (await CountAsync(household.Keeper, first,
            """{"compartment": "rainy-day", "denominations": {"5": 1}}""")).Json.GetProperty("countId").GetInt64();
        var mend = (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync($"/api/count-rounds/{first}/close", "{}")))
            .MustBlame(409, "count-round-unfinished", "reason");
        Assert.Contains("boat-insurance", mend);
        var second = await OpenAsync(household.Keeper, """{"wallet": "oilskin-wallet", "blind": true}""");
        foreach (var compartment in new[] { "ferry-fares", "market-days", "bakery-van" })
        {
            await CountAsync(household.Keeper, second, $$"""{"compartment": "{{compartment}}", "total": 0.00}""");
        }

        Assert.Equal([first, second],
            Ids((await household.Keeper.GetAsync("/api/count-rounds")).MustBe(200).Json.GetProperty("open")));
        (await household.Keeper.PostAsync($"/api/count-rounds/{second}/close", "{}")).MustBe(201);
        (await household.Keeper.PostAsync($"/api/count-rounds/{first}/close",
            """{"reason": "The strongbox is at the yard"}""")).MustBe(201);

        var list = (await household.Keeper.GetAsync("/api/count-rounds?limit=1")).MustBe(200);
        Assert.Empty(list.Json.GetProperty("open").EnumerateArray());
        Assert.Equal([second], Ids(list.Json.GetProperty("closed")));
        var next = (await household.Keeper.GetAsync(list.Json.GetProperty("next").GetString()!)).MustBe(200).Json;
        Assert.Equal([first], Ids(next.GetProperty("closed")));
        Assert.False(next.TryGetProperty("next", out _));
        var read = (await household.Keeper.GetAsync($"/api/count-rounds/{first}")).MustBe(200).Json;
        Assert.Equal(("closed", "The strongbox is at the yard"),
            (read.GetProperty("round").GetProperty("state").GetString(),
                read.GetProperty("round").GetProperty("reason").GetString()));
        Assert.Equal(["boat-insurance"], Words(read.GetProperty("round").GetProperty("toCount")));
        Assert.Equal(("5.00", count),
            (Compartment(read, "rainy-day").GetProperty("counted").GetRawText(),
                Compartment(read, "rainy-day").GetProperty("countId").GetInt64()));
        Assert.False(Compartment(read, "boat-insurance").TryGetProperty("expected", out _));
        Assert.Equal("closed", (await household.Keeper.GetAsync($"/api/count-rounds/{second}")).MustBe(200).Json
            .GetProperty("round").GetProperty("state").GetString());
        (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync($"/api/count-rounds/{first}/counts",
                """{"compartment": "rainy-day", "total": 1.00}"""))).MustBeProblem(404, "count-round-not-open");
    }

    [Fact]
    public async Task A_round_is_still_there_when_the_program_starts_again()
    {
        var before = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(before);
        await household.FillAsync("ferry-fares", "64.00");
        var round = await OpenAsync(household.Keeper, "{}");
        await CountAsync(household.Keeper, round, """{"compartment": "rainy-day", "total": 0.00}""");
        await household.SpendAsync("ferry-fares", "8.40", on: "2026-11-15");
        await before.DisposeAsync();
        await using var after = await RunningServer.StartAsync(before.Database);
        household = household.At(after);

        var counted = (await CountAsync(household.Keeper, round,
            $$"""{"compartment": "ferry-fares", "total": 64.00, "atLine": {{round}}}""")).Json;

        Assert.Equal("0.00", counted.GetProperty("difference").GetRawText());
        Assert.Equal(["market-days", "bakery-van", "boat-insurance"],
            Words((await household.Keeper.GetAsync($"/api/count-rounds/{round}")).Json.GetProperty("round")
                .GetProperty("toCount")));
    }

    [Fact]
    public async Task A_figure_that_is_sent_again_under_its_name_is_written_once()
    {
        var household = await shared.HarbourRowAsync();
        var round = await OpenAsync(household.Keeper, "{}");
        const string figure = """{"compartment": "rainy-day", "total": 1.00}""";
        var first = (await household.Keeper.PostAsync($"/api/count-rounds/{round}/counts", figure,
            ("Idempotency-Key", "rainy"))).MustBe(201);

        var again = await household.WithoutWritingAsync(
            keeper => keeper.PostAsync($"/api/count-rounds/{round}/counts", figure, ("Idempotency-Key", "rainy")));

        Assert.Equal(first.Text, again.MustBe(201).Text);
    }

    [Theory]
    [InlineData(422, "wallet-unknown", "wallet", """{"wallet": "oilskin-walet"}""")]
    [InlineData(400, "malformed", "purpose", """{"purpose": "fun"}""")]
    [InlineData(400, "malformed", "blind", """{"blind": "yes"}""")]
    public async Task A_round_that_does_not_fit_is_refused(int status, string code, string field, string body)
    {
        var household = await shared.HarbourRowAsync();

        (await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/count-rounds", body)))
            .MustBlame(status, code, field);
    }

    [Fact]
    public async Task A_compartment_is_in_one_open_round_and_a_round_counts_something()
    {
        var household = await shared.HarbourRowAsync();
        var round = await OpenAsync(household.Keeper, """{"wallet": "desk-drawer"}""");

        var twice = (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/count-rounds", """{"purpose": "saving"}""")))
            .MustBeProblem(409, "count-round-open");

        Assert.Contains($"count round {round}", twice.GetProperty("detail").GetString());
        (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/count-rounds", """{"wallet": "oilskin-wallet", "purpose": "saving"}""")))
            .MustBeProblem(409, "nothing-to-count");
    }

    [Theory]
    [InlineData(400, "malformed", "total", """{"compartment": "ferry-fares"}""")]
    [InlineData(400, "malformed", "atLine",
        """{"compartment": "ferry-fares", "total": 1.00, "atLine": 12, "countedAt": "2026-11-15T12:00:00Z"}""")]
    [InlineData(400, "malformed", "countedAt",
        """{"compartment": "ferry-fares", "total": 1.00, "countedAt": "2026-11-15T12:00:00"}""")]
    [InlineData(422, "after-now", "countedAt",
        """{"compartment": "ferry-fares", "total": 1.00, "countedAt": "2026-11-15T12:00:01Z"}""")]
    [InlineData(422, "before-round", "countedAt",
        """{"compartment": "ferry-fares", "total": 1.00, "countedAt": "2026-11-15T11:59:59Z"}""")]
    [InlineData(422, "before-round", "atLine", """{"compartment": "ferry-fares", "total": 1.00, "atLine": 10}""")]
    [InlineData(422, "after-last-line", "atLine", """{"compartment": "ferry-fares", "total": 1.00, "atLine": 12}""")]
    [InlineData(422, "compartment-not-in-round", "compartment", """{"compartment": "rainy-day", "total": 1.00}""")]
    [InlineData(422, "compartment-unknown", "compartment", """{"compartment": "lighthouse", "total": 1.00}""")]
    [InlineData(422, "denomination-unknown", "denominations.3",
        """{"compartment": "ferry-fares", "denominations": {"3": 1}}""")]
    public async Task A_figure_that_does_not_fit_is_refused(int status, string code, string field, string body)
    {
        var household = await shared.HarbourRowAsync();
        Assert.Equal(11, await OpenAsync(household.Keeper, """{"wallet": "oilskin-wallet"}"""));

        (await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/count-rounds/11/counts", body)))
            .MustBlame(status, code, field);
    }

    [Theory]
    [InlineData("GET", "/api/count-rounds/10")]
    [InlineData("GET", "/api/count-rounds/11")]
    [InlineData("GET", "/api/count-rounds/0/sheet")]
    [InlineData("POST", "/api/count-rounds/10/close")]
    public async Task A_round_that_is_not_there_is_not_found(string method, string address)
    {
        var household = await shared.HarbourRowAsync();

        (await household.Keeper.SendAsync(method, address, method == "POST" ? "{}" : null))
            .MustBeProblem(404, method == "POST" ? "count-round-not-open" : "count-round-unknown");
    }

    private static async Task<long> OpenAsync(ApiClient keeper, string json) =>
        (await keeper.PostAsync("/api/count-rounds", json)).MustBe(201).Json.GetProperty("id").GetInt64();

    private static async Task<Reply> CountAsync(ApiClient counter, long round, string figure) =>
        (await counter.PostAsync($"/api/count-rounds/{round}/counts", figure)).MustBe(201);

    private static JsonElement Compartment(JsonElement round, string id) =>
        round.GetProperty("compartments").EnumerateArray().Single(c => c.GetProperty("compartment").GetString() == id);

    private static JsonElement Wallet(JsonElement round, string id) =>
        round.GetProperty("wallets").EnumerateArray().Single(w => w.GetProperty("wallet").GetString() == id)
            .GetProperty("total");

    private static IEnumerable<string> Words(JsonElement list) => list.EnumerateArray().Select(w => w.GetString()!);

    private static IEnumerable<long> Ids(JsonElement rounds) =>
        rounds.EnumerateArray().Select(r => r.GetProperty("id").GetInt64());
}
