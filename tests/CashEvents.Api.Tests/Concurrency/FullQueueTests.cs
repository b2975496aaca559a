using CashEvents.Api.Tests.Serving;
using CashEvents.Domain.Compartments;
using CashEvents.Domain.Fills;
using CashEvents.Store.Writing;
using Xunit;

namespace CashEvents.Api.Tests.Concurrency;

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
                    household.Id, "keeper", [new EntryRequest(new RecordFill("ferry-fares", Holding.Cash, 0.01m, null, null))])));
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
}
