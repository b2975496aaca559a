using Xunit;

namespace CashEvents.Api.Tests.Writing;

public sealed class IdleBooksTests
{
    [Fact]
    public async Task A_book_that_nobody_writes_in_leaves_the_memory_and_comes_back_when_it_is_written_in()
    {
        await using var server = await RunningServer.StartAsync();
        var (idle, busy) = (await Household.OpenAsync(server), await Household.OpenAsync(server));
        Assert.Equal(2, server.Writer.InMemory);

        for (var waited = TimeSpan.Zero; waited < BookWriter.KeptFor; waited += TimeSpan.FromMinutes(5))
        {
            server.Clock.Advance(TimeSpan.FromMinutes(5));
            await busy.FillAsync("ferry-fares", "1.00");
        }

        Assert.Equal(1, server.Writer.InMemory);
        await idle.FillAsync("ferry-fares", "60.00");
        Assert.Equal(2, server.Writer.InMemory);
        Assert.Equal(Household.SetUpLines + 1, await idle.LineAsync());
    }

    [Fact]
    public async Task While_books_leave_the_memory_nothing_that_is_sent_is_lost_or_written_twice()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);

        // Each of them comes about when the book is let go.
        var sent = new List<Task<Reply>>();
        for (var round = 0; round < 40; round++)
        {
            sent.Add(household.FillAsync("ferry-fares", "1.00"));
            server.Clock.Advance(BookWriter.KeptFor + TimeSpan.FromMinutes(1));
            sent.Add(household.FillAsync("ferry-fares", "1.00"));
        }

        var lines = (await Task.WhenAll(sent)).SelectMany(reply => reply.Lines).Order();
        Assert.Equal(Enumerable.Range(Household.SetUpLines + 1, sent.Count).Select(n => (long)n), lines);
        Assert.Equal("80.00", await household.HoldsAsync("ferry-fares"));
    }
}
