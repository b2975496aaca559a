using Xunit;

namespace CashEvents.Api.Tests.Writing;

public sealed class ParallelWritersTests(SharedServer shared)
{
    [Fact]
    public async Task Two_hundred_writers_on_one_book_lose_and_double_nothing()
    {
        const int writers = 200;
        const int spendsEach = 5;
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "100000.00");
        await household.FillAsync("market-days", "1000.00");

        // Each spend has an amount that no other has, from 0.01 on, so that one lost or doubled shows in the sum and in
        // the list.
        var replies = (await Task.WhenAll(Enumerable.Range(0, writers).Select(async writer =>
        {
            var mine = new List<Reply>();
            for (var i = 1; i <= spendsEach; i++)
            {
                mine.Add(await household.Keeper.PostAsync("/api/spends",
                    $$"""{"compartment": "ferry-fares", "amount": {{Amount((writer * spendsEach) + i)}}}"""));
            }

            if (writer % 4 == 0)
            {
                mine.Add(await household.Keeper.PostAsync("/api/transfers",
                    """{"from": "market-days", "to": "rainy-day", "amount": 1.25}"""));
            }

            return mine;
        }))).SelectMany(r => r).ToList();

        const int spends = writers * spendsEach;
        const int transfers = writers / 4;
        Assert.All(replies, reply => reply.MustBe(201));
        var lines = await household.LinesAsync();
        Assert.Equal(Enumerable.Range(1, Household.SetUpLines + 2 + spends + transfers).Select(n => (long)n),
            lines.Select(l => l.GetProperty("line").GetInt64()));
        Assert.Equal(Enumerable.Range(1, spends).Select(Amount),
            lines.Where(l => l.GetProperty("kind").GetString() == "spend")
                .Select(l => l.GetProperty("amount").GetRawText()).OrderBy(decimal.Parse));
        Assert.Equal(lines.Skip(Household.SetUpLines + 2).Select(l => l.GetProperty("line").GetInt64()),
            replies.Select(r => r.Lines.Single()).Order());
        Assert.Equal("94995.00", await household.HoldsAsync("ferry-fares"));
        Assert.Equal("937.50", await household.HoldsAsync("market-days"));
        Assert.Equal("62.50", await household.HoldsAsync("rainy-day"));
    }

    [Fact]
    public async Task Many_who_take_the_last_of_a_compartment_never_take_more_than_is_there()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("bakery-van", "10.00");

        var replies = await Task.WhenAll(Enumerable.Range(0, 60).Select(_ =>
            household.Keeper.PostAsync("/api/spends", """{"compartment": "bakery-van", "amount": 0.30}""")));

        Assert.Equal(33, replies.Count(r => r.Status == 201));
        Assert.All(replies.Where(r => r.Status != 201), r => r.MustBeProblem(409, "not-enough"));
        Assert.Equal("0.10", await household.HoldsAsync("bakery-van"));
    }

    [Fact]
    public async Task A_refused_request_never_fails_those_that_are_written_with_it()
    {
        var household = await shared.HarbourRowAsync();
        string[] bad =
        [
            """{"compartment": "lighthouse", "amount": 1.00}""",
            """{"compartment": "\uFFFE", "amount": 1.00}""",
            """{"compartment": "ferry-fares", "amount": 1.001}""",
            """{"compartment": "ferry-fares", "amount": 1.00, "occurredOn": "2030-01-01"}""",
            """{"compartment": "ferry-fares", "amount": 1.00, "description": "two\nlines"}""",
        ];

        var replies = await Task.WhenAll(Enumerable.Range(0, 100).Select(async i => i % 2 == 0
            ? (await household.Keeper.PostAsync("/api/fills",
                """{"compartment": "ferry-fares", "amount": 1.00}""")).Status
            : (await household.Keeper.PostAsync("/api/fills", bad[i / 2 % bad.Length])).Status));

        Assert.Equal([.. Enumerable.Repeat(201, 50), .. Enumerable.Repeat(422, 50)], replies.Order());
        Assert.Equal("50.00", await household.HoldsAsync("ferry-fares"));
    }

    private static string Amount(int cents) => (cents / 100m).ToString("0.00");
}
