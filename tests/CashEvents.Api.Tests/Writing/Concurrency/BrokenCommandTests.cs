using Microsoft.AspNetCore.Http;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;
using Xunit;

namespace CashEvents.Api.Tests.Writing;

/// <summary>A fault of the program in one command takes no other along.</summary>
public sealed class BrokenCommandTests(SharedServer shared)
{
    [Fact]
    public async Task Neighbours_of_a_command_that_breaks_are_written()
    {
        var household = await shared.HarbourRowAsync();
        var line = await household.LineAsync();

        var together = await Task.WhenAll(Enumerable.Range(0, 30).Select(i => household.Server.Writer.WriteAsync(
            new WriteRequest(household.Id, "keeper", [i % 3 == 0 ? new EntryRequest(new Broken()) : Fill]))));

        Assert.Equal(20, together.Count(r => r.Outcomes.Single().Entry is not null));
        Assert.All(together.Where(r => r.Outcomes.Single().Entry is null),
            r => Assert.Equal((RefusalSort.Broken, "unexpected"),
                (r.Outcomes.Single().Refusal!.Sort, r.Outcomes.Single().Refusal!.Code)));
        Assert.Equal(line + 20, await household.LineAsync());
        Assert.Equal("20.00", await household.HoldsAsync("ferry-fares"));
    }

    [Fact]
    public async Task Of_a_batch_that_is_to_be_written_whole_nothing_is()
    {
        var household = await shared.HarbourRowAsync();
        var line = await household.LineAsync();

        var batch = await household.Server.Writer.WriteAsync(new WriteRequest(
            household.Id, "keeper", [new EntryRequest(new RecordFill("ferry-fares", Holding.Cash, 1m, null, null)),
                new EntryRequest(new Broken())]));

        Assert.Equal(["not-written-with-others", "unexpected"], batch.Outcomes.Select(o => o.Refusal?.Code));
        Assert.Equal(line, await household.LineAsync());
    }

    [Fact]
    public async Task Neighbours_of_a_command_that_breaks_while_its_answer_is_made_are_written_and_nothing_of_it_stays()
    {
        var household = await shared.HarbourRowAsync();
        var line = await household.LineAsync();
        EntryRequest[] commands = [Fill, new EntryRequest(new ReturnOfNothing()), Fill];

        var together = await household.Server.Writer.WriteAsync(
            new WriteRequest(household.Id, "keeper", [.. commands], Together: false));

        Assert.Equal([null, "unexpected", null], together.Outcomes.Select(o => o.Refusal?.Code));
        Assert.Equal([line + 1, line + 2], together.Outcomes.SelectMany(o => o.Entry?.Lines ?? []));
        Assert.Equal("2.00", await household.HoldsAsync("ferry-fares"));
    }

    [Fact]
    public async Task Over_HTTP_it_is_a_500_that_is_logged_once_with_its_stack_and_frees_its_key()
    {
        var log = new KeptLog();
        await using var server = await RunningServer.StartAsync(
            services: services => services.AddLogging(logging => logging.AddProvider(log)),
            map: app => app.MapPost("/api/broken",
                (HttpContext http, WriteDesk desk) => desk.WriteAsync(http, new Broken(), "broken", "")));
        var household = await Household.OpenAsync(server);

        var broken = await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/broken", "{}", ("Idempotency-Key", "pay")));

        broken.MustBeProblem(500, "unexpected");
        var told = Assert.Single(log.Errors);
        Assert.Contains(nameof(Broken.Decide), Assert.IsType<InvalidOperationException>(told).StackTrace);
        (await household.Keeper.PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 1.00}""",
            ("Idempotency-Key", "pay"))).MustBe(201);
    }

    private static EntryRequest Fill => new(new RecordFill("ferry-fares", Holding.Cash, 1m, null, null));

    private sealed record ReturnOfNothing : ICommand
    {
        public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today) =>
            [new HandoverReturned(1, "ferry-fares", today, "")];
    }

    private sealed record Broken : ICommand
    {
        public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today) =>
            throw new InvalidOperationException("A fault of the program.");
    }
}
