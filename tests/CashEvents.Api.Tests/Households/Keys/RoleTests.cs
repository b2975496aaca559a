using Microsoft.AspNetCore.Routing;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CashEvents.Api.Tests.Households;

/// <summary>What each role may and may not write, address by address.</summary>
public sealed class RoleTests(SharedServer shared)
{
    /// <summary>
    /// Every writing address with a request that a keeper may send, and the movements it is; null where only a keeper
    /// may.
    /// </summary>
    private static readonly (string Method, string Route, string Address, string? Body, string? Movement)[] _writes =
    [
        ("PUT", "/api/household", "/api/household",
            """{"name": "Harbour Row 2", "currency": "EUR", "timeZone": "Europe/Dublin"}""", null),
        ("POST", "/api/wallets", "/api/wallets", """{"label": "Sea chest"}""", null),
        ("PATCH", "/api/wallets/{id}", "/api/wallets/desk-drawer", """{"label": "Bureau"}""", null),
        ("POST", "/api/compartments", "/api/compartments",
            """{"label": "Vet visits", "wallet": "desk-drawer", "purpose": "saving"}""", null),
        ("PATCH", "/api/compartments/{id}", "/api/compartments/bakery-van", """{"label": "Baker"}""", null),
        ("PUT", "/api/compartments/{id}/notes", "/api/compartments/bakery-van/notes", """{"prefer": [5]}""", null),
        ("PUT", "/api/places/{id}", "/api/places/kitchen-safe",
            """{"label": "Kitchen safe", "wallets": ["oilskin-wallet"]}""", null),
        ("DELETE", "/api/places/{id}", "/api/places/boat-locker", null, null),
        ("PUT", "/api/caution-limits", "/api/caution-limits", """{"carried": 50.00}""", null),
        ("POST", "/api/keys", "/api/keys", """{"name": "another", "role": "viewer"}""", null),
        ("DELETE", "/api/keys/{name}", "/api/keys/another", null, null),
        ("DELETE", "/api/keys", "/api/keys?name=first%20another", null, null),
        ("PUT", "/api/plan", "/api/plan", """{"from": "2026-W46", "amounts": {"ferry-fares": 25.00}}""", null),
        ("PUT", "/api/set-up", "/api/set-up", """{"plan": {"2026-W46": {"ferry-fares": 26.00}}}""", null),
        ("PUT", "/api/income-sources/{id}", "/api/income-sources/harbour-office",
            """{"label": "Harbour office", "rule": "FREQ=WEEKLY", "first": "2026-11-02", "notBankDay": "next"}""",
            null),
        ("DELETE", "/api/income-sources/{id}", "/api/income-sources/harbour-office", null, null),
        ("PUT", "/api/standing-payments/{id}", "/api/standing-payments/quay-rent",
            """{"kind": "fixedBill", "label": "Quay rent", "rule": "FREQ=WEEKLY", "first": "2026-11-02", "notBankDay": "next", "amount": 1.00}""", null),
        ("DELETE", "/api/standing-payments/{id}", "/api/standing-payments/quay-rent", null, null),
        ("POST", "/api/goals", "/api/goals",
            """{"compartment": "boat-insurance", "label": "Hull", "amount": 480.00, "due": "2027-04-01"}""", null),
        ("PATCH", "/api/goals/{id}", "/api/goals/hull", """{"amount": 490.00}""", null),
        ("DELETE", "/api/goals/{id}", "/api/goals/hull", null, null),
        ("PUT", "/api/sinking-funds/{id}", "/api/sinking-funds/boat-insurance", """{"bankPercent": 60}""", null),
        ("PUT", "/api/saving-plans/{id}", "/api/saving-plans/rainy-day", """{"first": 1.00, "count": 52}""", null),
        ("POST", "/api/saving-plans/{id}/steps", "/api/saving-plans/rainy-day/steps", "{}", "fill"),
        ("POST", "/api/counts/{id:long}/set-aside", "/api/counts/NOTES/set-aside",
            """{"denomination": 5.00, "to": "rainy-day"}""", "transfer"),
        ("PUT", "/api/compartments/{id}/fill-rule", "/api/compartments/ferry-fares/fill-rule",
            """{"kind": "fixed", "amount": 1.00}""", null),
        ("DELETE", "/api/compartments/{id}/fill-rule", "/api/compartments/ferry-fares/fill-rule", null, null),
        ("POST", "/api/fill-runs", "/api/fill-runs", """{"payday": "2026-11-13"}""", "fill"),
        ("POST", "/api/clock-corrections", "/api/clock-corrections",
            """{"today": "2026-11-15", "reason": "The year was set wrong"}""", null),
        ("PUT", "/api/automatic-fills", "/api/automatic-fills", """{"at": "06:30", "from": "2027-01-01"}""", null),
        ("DELETE", "/api/automatic-fills", "/api/automatic-fills", null, null),
        ("POST", "/api/months/{month}/close", "/api/months/2026-10/close", """{"reason": "As it stands"}""", null),
        ("POST", "/api/months/{month}/reopen", "/api/months/2026-10/reopen", """{"reason": "A bill"}""", null),
        ("POST", "/api/fills", "/api/fills", """{"compartment": "ferry-fares", "amount": 1.00}""", "fill"),
        ("POST", "/api/spends", "/api/spends", """{"compartment": "ferry-fares", "amount": 1.00}""", "spend"),
        ("POST", "/api/refunds", "/api/refunds", """{"compartment": "ferry-fares", "amount": 1.00}""", "refund"),
        ("POST", "/api/transfers", "/api/transfers", """{"from": "ferry-fares", "to": "market-days", "amount": 1.00}""",
            "transfer"),
        ("POST", "/api/sweeps", "/api/sweeps", """{"from": ["ferry-fares"], "to": "rainy-day", "leave": 50.00}""",
            "sweep"),
        ("POST", "/api/counts", "/api/counts", """{"compartment": "market-days", "total": 1.00}""", "count"),
        ("POST", "/api/counts/{id:long}/settlement", "/api/counts/COUNT/settlement", """{"reason": "Gone"}""",
            "settlement"),
        ("POST", "/api/bank-statements/{id:long}/settlement", "/api/bank-statements/STATEMENT/settlement",
            """{"compartment": "rainy-day", "reason": "Interest"}""", "settlement"),
        ("POST", "/api/bank-statements", "/api/bank-statements", """{"total": 9.00}""", "count"),
        ("POST", "/api/handovers", "/api/handovers", """{"compartment": "market-days", "amount": 1.00}""", "handover"),
        ("POST", "/api/handovers/{id:long}/return", "/api/handovers/HANDOVER/return", """{"total": 2.00}""",
            "handover count"),
        ("POST", "/api/count-rounds", "/api/count-rounds", """{"wallet": "oilskin-wallet", "blind": true}""", "count"),
        ("POST", "/api/count-rounds/{id:long}/counts", "/api/count-rounds/ROUND/counts",
            """{"compartment": "boat-insurance", "total": 1.00, "carried": true}""", "count"),
        ("POST", "/api/count-rounds/{id:long}/confirmations", "/api/count-rounds/ROUND/confirmations",
            """{"compartments": ["rainy-day"]}""", "count"),
        ("POST", "/api/count-rounds/{id:long}/close", "/api/count-rounds/ROUND/close", "{}", "count"),
        ("POST", "/api/lines/{n:long}/reversal", "/api/lines/FIRST/reversal", """{"reason": "Twice"}""", "reversal"),
        ("POST", "/api/lines/{n:long}/amendment", "/api/lines/SECOND/amendment",
            """{"reason": "Wrong", "replacement": {"kind": "fill", "compartment": "rainy-day", "amount": 2.00}}""",
            "amendment fill"),
        ("POST", "/api/exchanges", "/api/exchanges",
            """{"compartment": "ferry-fares", "with": "market-days", "gives": {"1": 1}, "takes": {"0.50": 2}}""",
            "exchange"),
        ("POST", "/api/imports", "/api/imports",
            """{"compartment": "boat-insurance", "csv": "date,description,amount,balance\n2026-11-02,Found in the hull,5.00,6.00"}""", "fill"),
        ("POST", "/api/batches", "/api/batches",
            """{"movements": [{"kind": "fill", "compartment": "ferry-fares", "amount": 1.00}]}""", "fill"),
    ];

    public static TheoryData<string, string?> Roles => new()
    {
        { "keeper", null }, { "member", null }, { "viewer", null },
        { "script", "fill" }, { "script", "spend" }, { "script", "refund" }, { "script", "transfer" },
        { "script", "sweep" }, { "script", "count" }, { "script", "settlement" }, { "script", "exchange" },
        { "script", "handover" }, { "script", "handover count" }, { "script", "reversal" }, { "script", "amendment" },
        { "script", "amendment fill" },
    };

    [Fact]
    public async Task Every_writing_address_is_in_the_list_of_these_tests()
    {
        var server = await shared.ServerAsync();

        var addresses = server.Services.GetRequiredService<IEnumerable<EndpointDataSource>>()
            .SelectMany(s => s.Endpoints).OfType<RouteEndpoint>()
            .Where(e => e.RoutePattern.RawText!.StartsWith("/api", StringComparison.Ordinal))
            .SelectMany(e => e.Metadata.GetRequiredMetadata<HttpMethodMetadata>().HttpMethods
                .Select(method => $"{method} {e.RoutePattern.RawText}"))
            .Where(address => !address.StartsWith("GET ", StringComparison.Ordinal)
                && !address.Contains("/api/webhooks", StringComparison.Ordinal)
                && address is not ("POST /api/rehearsals" or "POST /api/rebuilds" or "POST /api/packings"
                    or "POST /api/draw-slips" or "PUT /api/page-origins" or "POST /api/households"
                    or "PUT /api/notices"
                    or "POST /api/sessions" or "DELETE /api/sessions" or "POST /api/pairings"
                    or "POST /api/calendar-address" or "DELETE /api/calendar-address"));

        Assert.Equal(_writes.Select(w => $"{w.Method} {w.Route}").Order(), addresses.Order());
    }

    [Theory]
    [MemberData(nameof(Roles))]
    public async Task A_key_writes_what_its_role_allows_and_nothing_else(string role, string? movement)
    {
        var household = await shared.HarbourRowAsync();
        await household.StampAheadAsync((await household.FillAsync("ferry-fares", "100.00")).Lines[0]);
        await household.FillAsync("market-days", "100.00");
        await household.IssueAsync("first another", "viewer");
        (await household.Keeper.PutAsync("/api/places/boat-locker", """{"label": "Boat locker", "wallets": []}"""))
            .MustBe(200);
        var count = (await household.Keeper.PostAsync("/api/counts",
            """{"compartment": "ferry-fares", "total": 99.00}""")).MustBe(201).Json.GetProperty("countId").GetInt64();
        await household.FillAsync("bakery-van", "10.00");
        await household.FillAsync("boat-insurance", "1.00");
        var notes = (await household.Keeper.PostAsync("/api/counts",
            """{"compartment": "bakery-van", "denominations": {"5": 2}}""")).MustBe(201).Json.GetProperty("countId")
            .GetInt64();
        (await household.Keeper.PutAsync("/api/saving-plans/rainy-day", """{"first": 1.00, "count": 2}""")).MustBe(200);
        (await household.Keeper.PutAsync("/api/income-sources/market-stall",
            """{"label": "Market stall", "rule": "FREQ=WEEKLY", "first": "2026-11-06", "notBankDay": "next", "amount": 10.00}""")).MustBe(200);
        (await household.Keeper.PutAsync("/api/compartments/boat-insurance/fill-rule",
            """{"kind": "fixed", "amount": 1.00}""")).MustBe(200);
        var lines = new[] { (await household.FillAsync("rainy-day", "1.00")).Lines[0],
            (await household.FillAsync("rainy-day", "1.00")).Lines[0] };
        var round = (await household.Keeper.PostAsync("/api/count-rounds", """{"wallet": "desk-drawer"}"""))
            .MustBe(201).Json.GetProperty("id").GetInt64();
        (await household.Keeper.PostAsync($"/api/count-rounds/{round}/counts",
            """{"compartment": "rainy-day", "total": 2.00}""")).MustBe(201);
        var handover = (await household.Keeper.PostAsync("/api/handovers", """{"compartment": "boat-insurance"}"""))
            .MustBe(201).Json.GetProperty("id").GetInt64();
        await household.FillAsync("rainy-day", "5.00", holding: "bank");
        var statement = (await household.Keeper.PostAsync("/api/bank-statements", """{"total": 6.00}"""))
            .MustBe(201).Lines[0];
        var holder = await household.IssueAsync("holder", role, Listed(movement));

        foreach (var write in _writes)
        {
            var allowed = role == "keeper"
                || (write.Movement is not null
                    && (role == "member" || (movement is not null
                        && write.Movement.Split(' ').All(movement.Split(' ').Contains))));
            var line = await household.LineAsync();

            var reply = await holder.SendAsync(write.Method,
                write.Address.Replace("COUNT", $"{count}", StringComparison.Ordinal)
                    .Replace("STATEMENT", $"{statement}", StringComparison.Ordinal)
                    .Replace("ROUND", $"{round}", StringComparison.Ordinal)
                    .Replace("HANDOVER", $"{handover}", StringComparison.Ordinal)
                    .Replace("NOTES", $"{notes}", StringComparison.Ordinal)
                    .Replace("FIRST", $"{lines[0]}", StringComparison.Ordinal)
                    .Replace("SECOND", $"{lines[1]}", StringComparison.Ordinal), write.Body);

            if (allowed)
            {
                Assert.True(reply.Status is 200 or 201 or 204,
                    $"{role} {movement}: {write.Route} {reply.Status} {reply.Text}");
                Assert.True(await household.LineAsync() > line, $"{write.Route} wrote nothing");
                Assert.Equal("holder", (await household.LinesAsync($"after={line}"))[0].GetProperty("by").GetString());
            }
            else
            {
                reply.MustBeProblem(403, "not-allowed");
                Assert.Equal(line, await household.LineAsync());
            }
        }
    }

    [Theory]
    [MemberData(nameof(Roles))]
    public async Task Every_role_reads_and_only_a_keeper_sees_the_keys(string role, string? movement)
    {
        var household = await shared.HarbourRowAsync();
        var round = (await household.Keeper.PostAsync("/api/count-rounds", "{}")).MustBe(201).Json.GetProperty("id")
            .GetInt64();
        var holder = await household.IssueAsync("holder", role, Listed(movement));

        foreach (var address in new[] { "/api/household", "/api/wallets", "/api/wallets/desk-drawer",
            "/api/compartments", "/api/compartments/ferry-fares", "/api/compartments/ferry-fares/tracker",
            "/api/compartments/ferry-fares/notes", "/api/balances", "/api/reconciliation", "/api/over-and-short",
            "/api/count-rounds", $"/api/count-rounds/{round}", $"/api/count-rounds/{round}/sheet", "/api/plan",
            "/api/income-sources", "/api/standing-payments", "/api/paydays", "/api/weeks", "/api/weeks/2026-W46",
            "/api/months/2026-11/weeks", "/api/months/2026-11/trail", "/api/verification", "/api/saving-plans",
            "/api/goals", "/api/sinking-funds", "/api/sinking-funds/boat-insurance", "/api/outlook", "/api/custody",
            "/api/lines", "/api/lines/1", "/api/fill-rules", "/api/fill-runs", "/api/automatic-fills" })
        {
            (await holder.GetAsync(address)).MustBe(200);
        }

        (await holder.PostAsync("/api/rehearsals",
            """{"suppose": [{"record": {"kind": "fill", "compartment": "ferry-fares", "amount": 1.00}}]}"""))
            .MustBe(200);

        (await holder.PostAsync("/api/packings", """{"inHand": {"5": 1}, "amounts": {"ferry-fares": 5.00}}"""))
            .MustBe(200);
        (await holder.PostAsync("/api/draw-slips", """{"amounts": {"ferry-fares": 5.00}}""")).MustBe(200);

        var keys = await holder.GetAsync("/api/keys");
        if (role == "keeper")
        {
            keys.MustBe(200);
        }
        else
        {
            keys.MustBeProblem(403, "not-allowed");
        }
    }

    private static string Listed(string? movements) =>
        movements is null ? "null" : $"[{string.Join(", ", movements.Split(' ').Select(m => $"\"{m}\""))}]";

    [Fact]
    public async Task A_script_may_send_a_batch_of_its_movements_and_of_no_others()
    {
        var household = await shared.HarbourRowAsync();
        var script = await household.IssueAsync("payday script", "script", """["fill", "count"]""");
        const string fill = """{"kind": "fill", "compartment": "ferry-fares", "amount": 1.00}""";

        (await script.PostAsync("/api/batches",
            $$"""{"movements": [{{fill}}, {"kind": "count", "compartment": "ferry-fares", "total": 1.00}]}"""))
            .MustBe(200);
        var refused = await household.WithoutWritingAsync(
            _ => script.PostAsync("/api/batches",
                $$"""{"mode": "eachOnItsOwn", "movements": [{{fill}}, {"kind": "spend", "compartment": "ferry-fares", "amount": 1.00}]}"""));

        Assert.Contains("may write fill, count, not spend",
            refused.MustBeProblem(403, "not-allowed").GetProperty("detail").GetString());
    }
}
