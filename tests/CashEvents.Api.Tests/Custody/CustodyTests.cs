using System.Text.Json;
using Xunit;

namespace CashEvents.Api.Tests.Custody;

public sealed class CustodyTests(SharedServer shared)
{
    [Fact]
    public async Task What_is_where_and_with_whom_is_told_with_since_when_and_for_how_long()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        var keeper = household.Keeper;
        (await keeper.PutAsync("/api/places/kitchen-safe",
            """{"label": "Kitchen safe", "wallets": ["oilskin-wallet"]}""")).MustBe(200)
            .MustSay("""{"lines": [11], "entryId": 11, "place": "kitchen-safe"}""");
        await household.FillAsync("ferry-fares", "64.00");
        await household.FillAsync("market-days", "20.00");
        await household.FillAsync("rainy-day", "7.00");
        await household.FillAsync("rainy-day", "900.00", holding: "bank");
        server.Clock.SetUtcNow(RunningServer.Noon.AddDays(13));

        (await keeper.PostAsync("/api/handovers",
            """{"compartment": "ferry-fares", "amount": 40.00, "carrier": "partner", "description": "To the mainland"}""")).MustBe(201).MustHave("""
            {"lines": [16], "entryId": 16, "id": 16, "compartment": "ferry-fares", "carrier": "partner", "amount": 40.00, "since": "2026-11-28", "liesInPlace": 24.00}
            """);
        server.Clock.SetUtcNow(RunningServer.Noon.AddDays(14));

        var custody = (await keeper.GetAsync("/api/custody")).MustBe(200);
        custody.MustHave("""
            {"day": "2026-11-29", "currency": "EUR",
             "places": [
               {"atHome": true, "cash": 44.00, "wallets": [
                 {"wallet": "oilskin-wallet", "label": "Oilskin wallet", "cash": 44.00, "compartments": [
                   {"compartment": "ferry-fares", "label": "Ferry fares", "cash": 24.00}, {"compartment": "market-days", "label": "Market days", "cash": 20.00}, {"compartment": "bakery-van", "label": "Bakery van", "cash": 0.00}],
                  "since": "2026-11-15", "days": 14}],
                "place": "kitchen-safe", "label": "Kitchen safe"},
               {"atHome": true, "cash": 7.00, "wallets": [
                 {"wallet": "desk-drawer", "label": "Desk drawer", "cash": 7.00, "compartments": [
                   {"compartment": "boat-insurance", "label": "Boat insurance", "cash": 0.00}, {"compartment": "rainy-day", "label": "Rainy day", "cash": 7.00}]}]}],
             "carried": [{"handover": 16, "compartment": "ferry-fares", "label": "Ferry fares", "carrier": "partner", "amount": 40.00, "since": "2026-11-28", "days": 1}],
             "cashAtHome": 51.00, "cashElsewhere": 0.00, "cashCarried": 40.00, "limits": {}, "bookLine": 16}
            """);
        Assert.Equal(16, custody.BookLine);

        var then = (await keeper.GetAsync("/api/custody?atLine=12")).MustBe(200).Json;
        Assert.Equal(("2026-11-15", "64.00", 0),
            (then.GetProperty("day").GetString(), then.GetProperty("cashAtHome").GetRawText(),
                then.GetProperty("carried").GetArrayLength()));
        (await keeper.GetAsync("/api/custody?atLine=17")).MustBeProblem(404, "line-unknown");
    }

    [Fact]
    public async Task What_somebody_else_carries_is_spent_when_it_is_confirmed_and_comes_back_with_a_count()
    {
        var household = await shared.HarbourRowAsync();
        var partner = await household.IssueAsync("partner", "member");
        await household.FillAsync("ferry-fares", "64.00");
        var handover = (await partner.PostAsync("/api/handovers", """{"compartment": "ferry-fares"}"""))
            .MustBe(201).Json;
        Assert.Equal(("partner", "64.00", "0.00"),
            (handover.GetProperty("carrier").GetString(), handover.GetProperty("amount").GetRawText(),
                handover.GetProperty("liesInPlace").GetRawText()));
        var id = handover.GetProperty("id").GetInt64();

        var asked = await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/spends", """{"compartment": "ferry-fares", "amount": 8.40}"""));
        Assert.Contains($"POST /api/handovers/{id}/return", asked.MustBlame(409, "carried-by-another", "carried"));
        var confirmed = (await household.Keeper.PostAsync("/api/spends",
            """{"compartment": "ferry-fares", "amount": 8.40, "carried": true}""")).MustBe(201).Lines[0];
        (await partner.PostAsync("/api/spends",
            """{"compartment": "ferry-fares", "amount": 4.00, "description": "Lunch on board"}""")).MustBe(201);

        var line = (await household.Keeper.GetAsync($"/api/lines/{confirmed}")).MustBe(200).Json;
        Assert.Equal((id, "-8.40"),
            (line.GetProperty("handover").GetInt64(), line.GetProperty("carried").GetRawText()));
        Assert.Equal("51.60", (await CarriedAsync(household))[0].GetProperty("amount").GetRawText());

        var back = (await partner.PostAsync($"/api/handovers/{id}/return",
            """{"denominations": {"20": 2, "5": 2, "1": 1}, "witness": "keeper"}""")).MustBe(201).Json;
        Assert.Equal(("51.60", "51.00", "-0.60"),
            (back.GetProperty("expected").GetRawText(), back.GetProperty("counted").GetRawText(),
                back.GetProperty("difference").GetRawText()));
        Assert.Equal(2, back.GetProperty("lines").GetArrayLength());
        Assert.Empty(await CarriedAsync(household));
        (await household.Keeper.PostAsync($"/api/counts/{back.GetProperty("countId")}/settlement",
            """{"reason": "Gone on board"}""")).MustBe(201);
        Assert.Equal("51.00", await household.HoldsAsync("ferry-fares"));
        (await partner.PostAsync($"/api/handovers/{id}/return", """{"total": 51.00}"""))
            .MustBeProblem(404, "handover-not-open");
        (await household.Keeper.PostAsync("/api/spends", """{"compartment": "ferry-fares", "amount": 51.00}"""))
            .MustBe(201);
    }

    [ThoroughFact]
    public async Task A_short_that_was_settled_and_is_undone_is_carried_again_also_on_a_server_that_starts()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "15.00");
        (await household.Keeper.PostAsync("/api/handovers", """{"compartment": "ferry-fares", "carrier": "partner"}"""))
            .MustBe(201);
        var count = (await household.Keeper.PostAsync("/api/counts",
            """{"compartment": "ferry-fares", "total": 10.00, "carried": true}""")).MustBe(201).Lines[0];
        var settlement = (await household.Keeper.PostAsync($"/api/counts/{count}/settlement",
            """{"reason": "Looked everywhere"}""")).MustBe(201).Lines[0];
        Assert.Equal("10.00", (await CarriedAsync(household))[0].GetProperty("amount").GetRawText());

        // Another server takes the book up as it is kept.
        await using var other = await RunningServer.StartAsync(household.Server.Database);
        (await household.At(other).Keeper
            .PostAsync($"/api/lines/{settlement}/reversal", """{"reason": "Found in the other pocket"}""")).MustBe(201);

        Assert.Equal("15.00", (await CarriedAsync(household))[0].GetProperty("amount").GetRawText());
        Assert.Equal("15.00", await household.HoldsAsync("ferry-fares"));
    }

    [Fact]
    public async Task What_lies_in_its_place_is_free_and_what_the_carrier_gets_back_is_carried_on()
    {
        var household = await shared.HarbourRowAsync();
        var partner = await household.IssueAsync("partner", "member");
        await household.FillAsync("ferry-fares", "64.00");
        (await household.Keeper.PostAsync("/api/handovers",
            """{"compartment": "ferry-fares", "amount": 40.00, "carrier": "partner"}""")).MustBe(201);

        await household.SpendAsync("ferry-fares", "24.00");
        (await partner.PostAsync("/api/spends", """{"compartment": "ferry-fares", "amount": 10.00}""")).MustBe(201);
        (await partner.PostAsync("/api/refunds", """{"compartment": "ferry-fares", "amount": 1.50}""")).MustBe(201);

        Assert.Equal("31.50", (await CarriedAsync(household))[0].GetProperty("amount").GetRawText());
        Assert.Equal("31.50", await household.HoldsAsync("ferry-fares"));
        (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/transfers",
                """{"from": "ferry-fares", "to": "market-days", "amount": 1.00}""")))
                .MustBlame(409, "carried-by-another", "carried");
        (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/counts", """{"compartment": "ferry-fares", "total": 31.50}""")))
            .MustBlame(409, "carried-by-another", "carried");
        var round = (await household.Keeper.PostAsync("/api/count-rounds", """{"wallet": "oilskin-wallet"}"""))
            .MustBe(201).Json.GetProperty("id").GetInt64();
        (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync($"/api/count-rounds/{round}/counts",
                """{"compartment": "ferry-fares", "total": 31.50}"""))).MustBlame(409, "carried-by-another", "carried");
        (await household.Keeper.PostAsync($"/api/count-rounds/{round}/counts",
            """{"compartment": "ferry-fares", "total": 31.50, "carried": true}""")).MustBe(201);
        (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/sweeps", """{"from": ["ferry-fares"], "to": "rainy-day"}"""))).MustBe(200);
    }

    [Fact]
    public async Task A_batch_an_amendment_and_a_rehearsal_ask_as_the_movement_alone_does()
    {
        var household = await shared.HarbourRowAsync();
        var partner = await household.IssueAsync("partner", "member");
        var fill = (await household.FillAsync("ferry-fares", "64.00")).Lines[0];
        var lunch = await household.SpendAsync("ferry-fares", "4.00");
        (await partner.PostAsync("/api/handovers", """{"compartment": "ferry-fares"}""")).MustBe(201);
        const string spend = """{"kind": "spend", "compartment": "ferry-fares", "amount": 8.40}""";
        const string confirmed = """{"kind": "spend", "compartment": "ferry-fares", "amount": 8.40, "carried": true}""";

        var batch = (await household.Keeper.PostAsync("/api/batches",
            $$"""{"mode": "eachOnItsOwn", "movements": [{{spend}}, {{confirmed}}]}""")).MustBe(200).Json;
        Assert.Equal("carried-by-another",
            batch.GetProperty("answers")[0].GetProperty("problem").GetProperty("code").GetString());
        Assert.Equal(201, batch.GetProperty("answers")[1].GetProperty("status").GetInt32());
        (await household.Keeper.PostAsync("/api/rehearsals", $$"""{"suppose": [{"record": {{spend}}}]}"""))
            .MustBlame(409, "carried-by-another", "suppose[0].record.carried");
        (await partner.PostAsync("/api/rehearsals", $$"""{"suppose": [{"record": {{spend}}}]}""")).MustBe(200);
        (await household.Keeper.PostAsync($"/api/lines/{lunch.Lines[0]}/amendment",
            $$"""{"reason": "Dearer", "replacement": {{spend}}}"""))
            .MustBlame(409, "carried-by-another", "replacement.carried");
        (await household.Keeper.PostAsync($"/api/lines/{lunch.Lines[0]}/amendment",
            $$"""{"reason": "Dearer", "replacement": {{confirmed}}}""")).MustBe(201);
        (await partner.PostAsync($"/api/lines/{fill}/amendment",
            """{"reason": "Read again", "replacement": {"kind": "fill", "compartment": "ferry-fares", "amount": 70.00}}""")).MustBe(201);

        // 60.00 less 8.40 twice; what the amended lunch gave back, and what the fill was more, lies in its place.
        Assert.Equal("43.20", (await CarriedAsync(household))[0].GetProperty("amount").GetRawText());
        Assert.Equal("53.20", await household.HoldsAsync("ferry-fares"));
    }

    [Fact]
    public async Task A_repeated_handover_or_return_is_written_once()
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PutAsync("/api/caution-limits", """{"carried": 50.00}""")).MustBe(200);
        await household.FillAsync("ferry-fares", "64.00");
        var handed = (await household.Keeper.PostAsync("/api/handovers", """{"compartment": "ferry-fares"}""",
            ("Idempotency-Key", "out"))).MustBe(201);
        Assert.Equal("cash-carried", handed.Json.GetProperty("cautions")[0].GetProperty("code").GetString());
        var back = $"/api/handovers/{handed.Lines[0]}/return";
        var returned = (await household.Keeper.PostAsync(back, """{"total": 64.00}""", ("Idempotency-Key", "back")))
            .MustBe(201);

        Assert.Equal(handed.Text,
            (await household.Keeper.PostAsync("/api/handovers", """{"compartment": "ferry-fares"}""",
                ("Idempotency-Key", "out"))).MustBe(201).Text);
        Assert.Equal(returned.Text,
            (await household.Keeper.PostAsync(back, """{"total": 64.00}""", ("Idempotency-Key", "back")))
                .MustBe(201).Text);
        Assert.Equal(returned.Lines[^1], await household.LineAsync());
    }

    [Fact]
    public async Task A_replay_and_a_rebuild_know_who_holds_what()
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PutAsync("/api/places/kitchen-safe",
            """{"label": "Kitchen safe", "wallets": ["oilskin-wallet", "desk-drawer"]}""")).MustBe(200);
        (await household.Keeper.PutAsync("/api/places/boat-locker",
            """{"label": "Boat locker", "wallets": ["desk-drawer"], "atHome": false}""")).MustBe(200);
        (await household.Keeper.PutAsync("/api/caution-limits", """{"cashAtHome": 1.00, "carried": 2.00}"""))
            .MustBe(200);
        await household.FillAsync("ferry-fares", "64.00");
        await household.FillAsync("rainy-day", "5.00");
        (await household.Keeper.PostAsync("/api/handovers",
            """{"compartment": "ferry-fares", "amount": 40.00, "carrier": "partner"}""")).MustBe(201);
        var spent = (await household.Keeper.PostAsync("/api/spends",
            """{"compartment": "ferry-fares", "amount": 8.40, "carried": true}""")).MustBe(201).Lines[0];
        (await household.Keeper.PostAsync($"/api/lines/{spent}/reversal", """{"reason": "Twice"}""")).MustBe(201);
        (await household.Keeper.PostAsync("/api/spends",
            """{"compartment": "ferry-fares", "amount": 1.00, "carried": true}""")).MustBe(201);

        var custody = (await household.Keeper.GetAsync("/api/custody")).MustBe(200);
        Assert.Equal(("24.00", "39.00"),
            (custody.Json.GetProperty("cashAtHome").GetRawText(),
                custody.Json.GetProperty("cashCarried").GetRawText()));
        Assert.Equal(custody.Text,
            (await household.Keeper.GetAsync($"/api/custody?atLine={await household.LineAsync()}")).MustBe(200).Text);
        var started = (await household.Keeper.PostAsync("/api/rebuilds", "")).MustBe(202);
        Assert.Contains("event: ended",
            (await household.Keeper.GetAsync(started.Headers["Location"], ("Accept", "text/event-stream")))
                .MustBe(200).Text);
        var rebuilt = (await household.Keeper.GetAsync(started.Headers["Location"])).MustBe(200).Json;
        Assert.Equal(("done", 0),
            (rebuilt.GetProperty("status").GetString(), rebuilt.GetProperty("drifts").GetInt32()));
        Assert.Equal(custody.Text, (await household.Keeper.GetAsync("/api/custody")).MustBe(200).Text);
    }

    [Fact]
    public async Task A_place_is_removed_when_nothing_lies_in_it_and_its_line_says_so()
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PutAsync("/api/places/kitchen-safe",
            """{"label": "Kitchen safe", "wallets": ["oilskin-wallet"]}""")).MustBe(200);

        var refused = (await household.WithoutWritingAsync(keeper => keeper.DeleteAsync("/api/places/kitchen-safe")))
            .MustBeProblem(409, "place-in-use");
        Assert.Equal(
            "oilskin-wallet lies in 'kitchen-safe': name another place for it with PUT /api/places/{id}, or say with "
                + "PUT /api/places/kitchen-safe and \"wallets\": [] that nothing lies there any more, then remove it.",
            refused.GetProperty("detail").GetString());
        Assert.Equal("kitchen-safe",
            (await household.WithoutWritingAsync(keeper => keeper.DeleteAsync("/api/places/kitchen-saf")))
                .MustBeProblem(404, "place-unknown").GetProperty("suggestions")[0].GetString());

        (await household.Keeper.PutAsync("/api/places/boat-locker",
            """{"label": "Boat locker", "wallets": ["oilskin-wallet"]}""")).MustBe(200);
        (await household.Keeper.DeleteAsync("/api/places/kitchen-safe", ("Idempotency-Key", "given up"))).MustBe(204);
        (await household.Keeper.DeleteAsync("/api/places/kitchen-safe", ("Idempotency-Key", "given up"))).MustBe(204);
        Assert.Equal(13, await household.LineAsync());
        var line = (await household.Keeper.GetAsync("/api/lines/13")).MustBe(200).Json;
        Assert.Equal(("placeRemoved", "kitchen-safe"),
            (line.GetProperty("kind").GetString(), line.GetProperty("place").GetString()));
        Assert.Contains("PUT /api/places/kitchen-safe",
            (await household.Keeper.PostAsync("/api/lines/13/reversal", """{"reason": "Back"}"""))
                .MustBeProblem(409, "line-moves-nothing").GetProperty("detail").GetString());
        (await household.Keeper.DeleteAsync("/api/places/kitchen-safe")).MustBeProblem(404, "place-unknown");
    }

    [Theory]
    [InlineData("POST", "/api/handovers", """{"amount": 5.00}""", 400, "malformed", "compartment")]
    [InlineData("POST", "/api/handovers", """{"compartment": "ferry-fares", "amount": 0}""", 400, "malformed",
        "amount")]
    [InlineData("POST", "/api/handovers", """{"compartment": "ferry-fare"}""", 422, "compartment-unknown",
        "compartment")]
    [InlineData("POST", "/api/handovers", """{"compartment": "ferry-fares"}""", 409, "nothing-to-hand-over",
        "compartment")]
    [InlineData("POST", "/api/handovers", """{"compartment": "ferry-fares", "whom": "partner"}""", 400, "malformed",
        "whom")]
    [InlineData("POST", "/api/handovers/7/return", "{}", 400, "malformed", "total")]
    [InlineData("POST", "/api/handovers/7/return", """{"total": 1.00, "denominations": {"1": 1}}""", 400, "malformed",
        "total")]
    [InlineData("PUT", "/api/places/kitchen-safe", """{"label": "Kitchen safe"}""", 400, "malformed", "wallets")]
    [InlineData("PUT", "/api/places/kitchen-safe", """{"wallets": []}""", 400, "malformed", "label")]
    [InlineData("PUT", "/api/places/kitchen-safe", """{"label": "Kitchen safe", "wallets": ["oilskin"]}""", 422,
        "wallet-unknown", "wallets[0]")]
    [InlineData("PUT", "/api/places/Kitchen%20safe", """{"label": "Kitchen safe", "wallets": []}""", 422,
        "id-unreadable", "id")]
    [InlineData("PUT", "/api/caution-limits", """{"cashAtHome": -1}""", 400, "malformed", "cashAtHome")]
    [InlineData("PUT", "/api/caution-limits", """{"carried": 0.001}""", 422, "too-many-decimals", "carried")]
    public async Task Bad_words_name_the_field_and_the_mend(string method, string address, string body, int status,
        string code, string field)
    {
        var household = await shared.HarbourRowAsync();

        Assert.NotEmpty((await household.WithoutWritingAsync(keeper => keeper.SendAsync(method, address, body)))
            .MustBlame(status, code, field));
    }

    private static async Task<JsonElement[]> CarriedAsync(Household household) =>
        [.. (await household.Keeper.GetAsync("/api/custody")).MustBe(200).Json.GetProperty("carried").EnumerateArray()];
}
