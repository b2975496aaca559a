using Xunit;

namespace CashEvents.Api.Tests.Writing;

/// <summary>No unbounded queue: past a limit a request is sent away, and what was accepted is written.</summary>
public sealed class FullQueueTests
{
    [Fact]
    public async Task Past_the_limit_a_request_is_sent_away_and_every_accepted_one_is_written()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        var before = await household.LineAsync();
        var accepted = new List<Task<WriteResult>>();
        var sentAway = 0;

        for (var i = 0; i < 20_000 && sentAway < 100; i++)
        {
            try
            {
                accepted.Add(server.Writer.WriteAsync(new WriteRequest(
                    household.Id, "keeper", [new EntryRequest(
                        new RecordFill("ferry-fares", Holding.Cash, 0.01m, null, null))])));
            }
            catch (BookBusyException)
            {
                sentAway++;
            }
        }

        var results = await Task.WhenAll(accepted);
        Assert.Equal(100, sentAway);
        Assert.All(results, r => Assert.NotNull(r.Outcomes.Single().Entry));
        Assert.Equal(before + accepted.Count, await household.LineAsync());
    }

    [Fact]
    public async Task Over_HTTP_it_is_told_to_come_back_in_a_second_and_is_written_then()
    {
        const string pay = """{"compartment": "ferry-fares", "amount": 60.00}""";
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        var accepted = new List<Task<WriteResult>>();
        Reply sentAway;
        await using (var held = await HeldBook.HoldAsync(household))
        {
            accepted.Add(WriteAsync());
            await held.WriterAsync();
            try
            {
                while (accepted.Count < 20_000)
                {
                    accepted.Add(WriteAsync());
                }
            }
            catch (BookBusyException)
            {
                // Full: the first one is being written, and does not get on.
            }

            sentAway = await household.WithoutWritingAsync(
                keeper => keeper.PostAsync("/api/fills", pay, ("Idempotency-Key", "pay")));
        }

        await Task.WhenAll(accepted);

        Assert.Contains("are waiting for this book",
            sentAway.MustBeProblem(503, "book-busy").GetProperty("detail").GetString());
        Assert.Equal("1", sentAway.Headers["Retry-After"]);
        Assert.Equal(Household.SetUpLines + accepted.Count, await household.LineAsync());
        Assert.Equal([Household.SetUpLines + accepted.Count + 1],
            (await household.Keeper.PostAsync("/api/fills", pay, ("Idempotency-Key", "pay"))).MustBe(201).Lines);

        Task<WriteResult> WriteAsync() =>
            server.Writer.WriteAsync(
                new WriteRequest(household.Id, "keeper",
                    [new EntryRequest(new RecordFill("ferry-fares", Holding.Cash, 0.01m, null, null))]));
    }
}
