using CashEvents.Api.Tests.Serving;
using CashEvents.Domain.Books;
using CashEvents.Domain.Compartments;
using CashEvents.Domain.Fills;
using CashEvents.Store.Writing;
using Xunit;

namespace CashEvents.Api.Tests.Concurrency;

/// <summary>A fault of the program in one command takes no other along.</summary>
public sealed class BrokenCommandTests(SharedServer shared)
{
    [Fact]
    public async Task Neighbours_of_a_command_that_breaks_are_written()
    {
        var household = await shared.HarbourRowAsync();
        var line = await household.LineAsync();
        var fill = new EntryRequest(new RecordFill("ferry-fares", Holding.Cash, 1m, null, null));

        var together = await Task.WhenAll(Enumerable.Range(0, 30).Select(i => household.Server.Writer.WriteAsync(
            new WriteRequest(household.Id, "keeper", [i % 3 == 0 ? new EntryRequest(new Broken()) : fill]))));

        Assert.Equal(20, together.Count(r => r.Outcomes.Single().Entry is not null));
        Assert.All(together.Where(r => r.Outcomes.Single().Entry is null), r => Assert.Equal((RefusalSort.Broken, "unexpected"), (r.Outcomes.Single().Refusal!.Sort, r.Outcomes.Single().Refusal!.Code)));
        Assert.Equal(line + 20, await household.LineAsync());
        Assert.Equal("20.00", await household.HoldsAsync("ferry-fares"));
    }

    [Fact]
    public async Task Of_a_batch_that_is_to_be_written_whole_nothing_is()
    {
        var household = await shared.HarbourRowAsync();
        var line = await household.LineAsync();

        var batch = await household.Server.Writer.WriteAsync(new WriteRequest(
            household.Id, "keeper", [new EntryRequest(new RecordFill("ferry-fares", Holding.Cash, 1m, null, null)), new EntryRequest(new Broken())]));

        Assert.Equal(["not-written-with-others", "unexpected"], batch.Outcomes.Select(o => o.Refusal?.Code));
        Assert.Equal(line, await household.LineAsync());
    }

    private sealed record Broken : ICommand
    {
        public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today) => throw new InvalidOperationException("A fault of the program.");
    }
}
