using Xunit;

namespace CashEvents.Api.Tests.Writing;

public sealed class IdempotencyKeyTests(SharedServer shared)
{
    private const string Ferry =
        """{"compartment": "ferry-fares", "amount": 8.40, "occurredOn": "2026-11-03", "description": "Return to the mainland"}""";

    public static TheoryData<string, string, string> Writes => new()
    {
        { "PUT", "/api/household", """{"name": "Harbour Row 2", "currency": "EUR", "timeZone": "Europe/Dublin"}""" },
        { "POST", "/api/wallets", """{"label": "Sea chest"}""" },
        { "POST", "/api/compartments",
            """{"label": "Vet visits", "wallet": "desk-drawer", "purpose": "sinkingFund"}""" },
        { "PATCH", "/api/compartments/ferry-fares", """{"label": "Ferry and bus fares"}""" },
        { "POST", "/api/fills", """{"compartment": "ferry-fares", "amount": 60.00}""" },
        { "POST", "/api/spends", """{"compartment": "bakery-van", "amount": 4.20, "restFrom": "market-days"}""" },
        { "POST", "/api/refunds", """{"compartment": "market-days", "amount": 4.80}""" },
        { "POST", "/api/transfers", """{"from": "market-days", "to": "ferry-fares", "amount": 5.00}""" },
        { "POST", "/api/sweeps", """{"from": {"wallet": "oilskin-wallet"}, "to": "rainy-day"}""" },
        { "POST", "/api/counts", """{"compartment": "market-days", "total": 99.00}""" },
    };

    [Theory]
    [MemberData(nameof(Writes))]
    public async Task A_repeated_request_gets_the_same_answer_and_writes_once(string method, string address,
        string body)
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("market-days", "100.00");

        var first = await household.Keeper.SendAsync(method, address, body, ("Idempotency-Key", "\"8e03978e\""));
        var line = await household.LineAsync();
        await household.FillAsync("market-days", "1.00");
        var again = await household.Keeper.SendAsync(method, address, body, ("Idempotency-Key", "8e03978e"));

        Assert.InRange(first.Status, 200, 201);
        Assert.InRange(line, Household.SetUpLines + 2, Household.SetUpLines + 3);
        Assert.Equal((first.Status, first.Text, first.ETag), (again.Status, again.Text, again.ETag));
        Assert.Equal(first.Headers.GetValueOrDefault("Location"), again.Headers.GetValueOrDefault("Location"));
        Assert.Equal(line + 1, await household.LineAsync());
    }

    [Fact]
    public async Task A_repeated_settlement_and_a_repeated_revocation_are_written_once()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("market-days", "100.00");
        await household.IssueAsync("wall display", "viewer");
        var count = (await household.Keeper.PostAsync("/api/counts",
            """{"compartment": "market-days", "total": 99.00}""")).MustBe(201).Json.GetProperty("countId").GetInt64();

        foreach (var (method, address,
            body) in new[] { ("POST", $"/api/counts/{count}/settlement", """{"reason": "Gone over the rail"}"""),
                ("DELETE", "/api/keys/wall%20display", null) })
        {
            var first = await household.Keeper.SendAsync(method, address, body, ("Idempotency-Key", address));
            var line = await household.LineAsync();
            var again = await household.Keeper.SendAsync(method, address, body, ("Idempotency-Key", address));

            Assert.InRange(first.Status, 200, 204);
            Assert.Equal((first.Status, first.Text, first.ETag), (again.Status, again.Text, again.ETag));
            Assert.Equal(line, await household.LineAsync());
        }
    }

    [Fact]
    public async Task A_repeated_issue_of_a_key_writes_once_and_does_not_show_the_key_again()
    {
        var household = await shared.HarbourRowAsync();
        const string display = """{"name": "wall display", "role": "viewer"}""";

        var first = (await household.Keeper.PostAsync("/api/keys", display, ("Idempotency-Key", "k"))).MustBe(201);
        var again = (await household.Keeper.PostAsync("/api/keys", display, ("Idempotency-Key", "k"))).MustBe(201);

        Assert.True(first.Json.TryGetProperty("key", out _));
        Assert.False(again.Json.TryGetProperty("key", out _));
        Assert.Equal(first.Lines, again.Lines);
        Assert.Equal(first.ETag, again.ETag);
        Assert.Equal(Household.SetUpLines + 1, await household.LineAsync());
    }

    [Fact]
    public async Task Two_that_arrive_together_write_once_and_get_the_same_answer()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "2000.00");

        var pairs = await Task.WhenAll(Enumerable.Range(1, 50).Select(async i =>
        {
            var body = $$"""{"compartment": "ferry-fares", "amount": {{i}}.05}""";
            return await Task.WhenAll(
                household.Keeper.PostAsync("/api/spends", body, ("Idempotency-Key", $"pair-{i}")),
                household.Keeper.PostAsync("/api/spends", body, ("Idempotency-Key", $"pair-{i}")));
        }));

        Assert.All(pairs, pair =>
            Assert.Equal((201, pair[0].Text, pair[0].ETag), (pair[1].Status, pair[1].Text, pair[1].ETag)));
        Assert.Equal(50, pairs.Select(pair => pair[0].Lines.Single()).Distinct().Count());
        Assert.Equal(Household.SetUpLines + 1 + 50, await household.LineAsync());
        Assert.Equal("722.50", await household.HoldsAsync("ferry-fares"));
    }

    [ThoroughFact]
    public async Task A_repeated_request_gets_its_answer_from_another_server_after_a_restart()
    {
        Reply first;
        Household household;
        await using (var before = await RunningServer.StartAsync())
        {
            household = await Household.OpenAsync(before);
            await household.FillAsync("ferry-fares", "60.00");
            first = (await household.Keeper.PostAsync("/api/spends", Ferry, ("Idempotency-Key", "ferry"))).MustBe(201);
        }

        await using var after = await RunningServer.StartAsync(household.Server.Database);
        household = household.At(after);
        var again = await household.Keeper.PostAsync("/api/spends", Ferry, ("Idempotency-Key", "ferry"));

        Assert.Equal((first.Status, first.Text, first.ETag), (again.Status, again.Text, again.ETag));
        Assert.Equal(Household.SetUpLines + 2, await household.LineAsync());
    }

    [Theory]
    [InlineData("/api/spends",
        """{"compartment": "ferry-fares", "amount": 8.41, "occurredOn": "2026-11-03", "description": "Return to the mainland"}""")]
    [InlineData("/api/fills", Ferry)]
    public async Task A_key_that_stood_for_another_request_is_refused(string address, string body)
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "60.00");
        (await household.Keeper.PostAsync("/api/spends", Ferry, ("Idempotency-Key", "ferry"))).MustBe(201);

        var refused = await household.WithoutWritingAsync(
            keeper => keeper.PostAsync(address, body, ("Idempotency-Key", "ferry")));

        refused.MustBlame(422, "idempotency-key-reused", "Idempotency-Key");
        (await household.Keeper.PostAsync("/api/fills",
            """{"compartment": "ferry-fares", "amount": 1.00, "idempotencyKey": "ferry"}"""))
            .MustBlame(422, "idempotency-key-reused", "idempotencyKey");
    }

    [Fact]
    public async Task A_refused_request_does_not_use_its_key_up()
    {
        var household = await shared.HarbourRowAsync();

        (await household.Keeper.PostAsync("/api/spends", Ferry, ("Idempotency-Key", "ferry")))
            .MustBeProblem(409, "not-enough");
        await household.FillAsync("ferry-fares", "60.00");

        (await household.Keeper.PostAsync("/api/spends", Ferry, ("Idempotency-Key", "ferry"))).MustBe(201);
        Assert.Equal("51.60", await household.HoldsAsync("ferry-fares"));
    }

    [Fact]
    public async Task A_sweep_that_found_nothing_does_not_use_its_key_up()
    {
        var household = await shared.HarbourRowAsync();
        const string sweep = """{"from": ["ferry-fares"], "to": "rainy-day"}""";

        Assert.Empty((await household.Keeper.PostAsync("/api/sweeps", sweep, ("Idempotency-Key", "sweep")))
            .MustBe(200).Lines);
        await household.FillAsync("ferry-fares", "60.00");

        Assert.Single((await household.Keeper.PostAsync("/api/sweeps", sweep, ("Idempotency-Key", "sweep")))
            .MustBe(201).Lines);
    }

    [Fact]
    public async Task The_key_may_be_sent_in_the_body_too_and_means_the_same()
    {
        var household = await shared.HarbourRowAsync();
        const string fill = """{"compartment": "ferry-fares", "amount": 60.00}""";

        var first = (await household.Keeper.PostAsync("/api/fills", fill, ("Idempotency-Key", "pay"))).MustBe(201);
        var again = (await household.Keeper.PostAsync("/api/fills",
            """{"compartment": "ferry-fares", "amount": 60.00, "idempotencyKey": "pay"}""")).MustBe(201);

        Assert.Equal(first.Text, again.Text);
        Assert.Equal(Household.SetUpLines + 1, await household.LineAsync());
    }

    [Theory]
    [InlineData("")]
    [InlineData("\"\"")]
    [InlineData("ferry\tfares")]
    public async Task A_key_that_can_not_be_one_is_refused(string key)
    {
        var household = await shared.HarbourRowAsync();

        var refused = await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 60.00}""",
                ("Idempotency-Key", key)));

        refused.MustBeProblem(400, "malformed");
    }

    [Fact]
    public async Task A_key_longer_than_two_hundred_characters_is_refused()
    {
        var household = await shared.HarbourRowAsync();
        const string fill = """{"compartment": "ferry-fares", "amount": 60.00}""";

        var refused = await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/fills", fill, ("Idempotency-Key", new string('k', 201))));
        var longest = await household.Keeper.PostAsync("/api/fills", fill, ("Idempotency-Key", new string('k', 200)));

        refused.MustBlame(400, "malformed", "Idempotency-Key");
        longest.MustBe(201);
    }
}
