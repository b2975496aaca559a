using Xunit;

namespace CashEvents.Api.Tests.Writing;

public sealed class TwoServersTests : IAsyncLifetime
{
    private RunningServer _one = null!;
    private RunningServer _other = null!;

    public async ValueTask InitializeAsync()
    {
        _one = await RunningServer.StartAsync();
        _other = await RunningServer.StartAsync(_one.Database);
    }

    public async ValueTask DisposeAsync()
    {
        await _other.DisposeAsync();
        await _one.DisposeAsync();
    }

    [Fact]
    public async Task Two_servers_that_write_the_same_books_lose_and_double_nothing()
    {
        var shared = await Household.OpenAsync(_one);
        var neighbour = await Household.OpenAsync(_other);
        Household[] ways = [shared, shared.At(_other), neighbour, neighbour.At(_one)];

        var replies = await Task.WhenAll(Enumerable.Range(0, 400).Select(i =>
            ways[i % 4].Keeper.PostAsync("/api/fills", $$"""{"compartment": "ferry-fares", "amount": {{i + 1}}.00}""",
                ("Idempotency-Key", $"fill-{i}"))));

        Assert.All(replies, reply => reply.MustBe(201));
        foreach (var (household, own) in new[] { (shared, 0), (neighbour, 2) })
        {
            var amounts = Enumerable.Range(0, 400).Where(i => i % 4 == own || i % 4 == own + 1).Select(i => i + 1m)
                .ToList();
            foreach (var seen in new[] { household, household.At(_one), household.At(_other) })
            {
                var lines = await seen.LinesAsync();
                Assert.Equal(Enumerable.Range(1, Household.SetUpLines + 200).Select(n => (long)n),
                    lines.Select(l => l.GetProperty("line").GetInt64()));
                Assert.Equal(amounts, lines.Skip(Household.SetUpLines).Select(l => l.GetProperty("amount").GetDecimal())
                    .Order());
                Assert.Equal(amounts.Sum(), decimal.Parse(await seen.HoldsAsync("ferry-fares")));
                Assert.Equal(await seen.HashAsync(Household.SetUpLines + 200),
                    (await seen.Keeper.GetAsync("/api/verification")).MustBe(200).Json.GetProperty("hash").GetString());
            }
        }
    }

    [ThoroughFact]
    public async Task A_refusal_takes_account_of_what_the_other_server_wrote_just_before()
    {
        var here = await Household.OpenAsync(_one);
        var there = here.At(_other);
        await there.FillAsync("ferry-fares", "10.00");
        await here.SpendAsync("ferry-fares", "9.00");

        var refused = await there.Keeper.PostAsync("/api/spends", """{"compartment": "ferry-fares", "amount": 2.00}""");

        Assert.Equal("1.00", refused.MustBeProblem(409, "not-enough").GetProperty("shortage").GetProperty("available")
            .GetRawText());
        await here.FillAsync("ferry-fares", "1.00");
        (await there.Keeper.PostAsync("/api/spends", """{"compartment": "ferry-fares", "amount": 2.00}""")).MustBe(201);
    }

    [Fact]
    public async Task Both_servers_together_never_take_more_than_is_there()
    {
        var here = await Household.OpenAsync(_one);
        var there = here.At(_other);
        await here.FillAsync("bakery-van", "10.00");

        var replies = await Task.WhenAll(Enumerable.Range(0, 60).Select(i =>
            (i % 2 == 0 ? here : there).Keeper.PostAsync("/api/spends",
                """{"compartment": "bakery-van", "amount": 0.30}""")));

        Assert.Equal(33, replies.Count(r => r.Status == 201));
        Assert.Equal(27, replies.Count(r => r.Status == 409));
        Assert.Equal("0.10", await here.HoldsAsync("bakery-van"));
    }

    [ThoroughFact]
    public async Task The_same_request_sent_to_both_at_once_is_written_once()
    {
        var here = await Household.OpenAsync(_one);
        var there = here.At(_other);

        var pairs = await Task.WhenAll(
            Enumerable.Range(1, 30).Select(i => Task.WhenAll(new[] { here, there }.Select(household =>
            household.Keeper.PostAsync("/api/fills", $$"""{"compartment": "ferry-fares", "amount": {{i}}.00}""",
                ("Idempotency-Key", $"pay-{i}"))))));

        Assert.All(pairs, pair =>
            Assert.Equal((201, pair[0].Text, pair[0].ETag), (pair[1].Status, pair[1].Text, pair[1].ETag)));
        Assert.Equal(Household.SetUpLines + 30, await here.LineAsync());
    }

    [Fact]
    public async Task A_key_revoked_at_one_server_is_refused_by_the_other_at_once()
    {
        var here = await Household.OpenAsync(_one);
        var display = await here.IssueAsync("wall display", "viewer");
        var displayThere = _other.Client(display.Key);
        (await displayThere.GetAsync("/api/balances")).MustBe(200);

        (await here.Keeper.DeleteAsync("/api/keys/wall%20display")).MustBe(204);

        (await display.GetAsync("/api/balances")).MustBeProblem(401, "key-unknown");
        // It is told by PostgreSQL, on its way to the other: the clock there stands, so that nothing else is looked up.
        while ((await displayThere.GetAsync("/api/balances")) is { Status: 200 })
        {
            await Task.Delay(10, TestContext.Current.CancellationToken);
        }

        (await displayThere.GetAsync("/api/balances")).MustBeProblem(401, "key-unknown");
    }
}
