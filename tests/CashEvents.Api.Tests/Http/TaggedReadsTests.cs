using Xunit;

namespace CashEvents.Api.Tests.Http;

/// <summary>
/// An answer's identity is whose it is, in which form, on which day and at which line, at every address that is read.
/// </summary>
public sealed class TaggedReadsTests(DemoServer demo)
{
    // Not of a line: the lines' own rows may have been changed behind the book, a rebuild writes none, and origins of
    // pages, notices and the calendar's address stand beside it.
    private static readonly string[] _untagged =
        ["/api/verification", "/api/rebuilds/{id}", "/api/page-origins", "/api/calendar-address", "/api/notices",
            "/api/webhooks"];

    [ThoroughFact]
    public async Task Two_households_with_the_same_lines_and_two_forms_of_one_answer_never_share_a_tag()
    {
        var (ours, theirs) = (await ReadyAsync(), await ReadyAsync());
        var reads = (await demo.OperationsAsync())
            .Where(o => o.Method == "GET" && o.Path.StartsWith("/api/", StringComparison.Ordinal)
                && o.Path != "/api/feed" && !o.Path.StartsWith("/api/webhooks/", StringComparison.Ordinal)
                && !o.Path.StartsWith("/api/households", StringComparison.Ordinal)).ToList();
        Assert.True(reads.Count > 40);

        foreach (var read in reads)
        {
            var tags = new HashSet<string>();
            foreach (var form in read.Forms)
            {
                var our = await ReadAsync(read, ours, form);
                var their = await ReadAsync(read, theirs, form);
                Assert.Equal((form, "no-store"), (our.ContentType, our.Headers["Cache-Control"]));
                Assert.Contains("Authorization", our.Headers["Vary"]);
                Assert.True(read.Forms.Count == 1 || our.Headers["Vary"].Contains("Accept", StringComparison.Ordinal),
                    $"{read}: {our.Headers["Vary"]}");
                if (_untagged.Contains(read.Path))
                {
                    Assert.Null(our.ETag);
                    continue;
                }

                Assert.Equal((ours.Line, ours.Line), (our.BookLine, their.BookLine));
                Assert.True(tags.Add(our.ETag!) && tags.Add(their.ETag!),
                    $"{read} as {form}: {our.ETag} is not its own.");
                var known = await ReadAsync(read, ours, form, ("If-None-Match", $"\"{ours.Line}\", {our.ETag}"), 304);
                Assert.Equal(("", our.ETag), (known.Text, known.ETag));
                Assert.Equal(their.Text, (await ReadAsync(read, theirs, form, ("If-None-Match", our.ETag!))).Text);
                await ReadAsync(read, ours, form, ("If-None-Match", $"\"{ours.Line}\""));
            }
        }
    }

    [Fact]
    public async Task On_the_next_day_what_reads_otherwise_has_another_tag()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        await household.FillAsync("ferry-fares", "60.00");
        string[] addresses = ["/api/weeks", "/api/custody", "/api/outlook", "/api/balances",
            "/api/compartments/ferry-fares/tracker"];
        var first = await ReadAllAsync();

        server.Clock.Advance(TimeSpan.FromDays(1));
        var next = await ReadAllAsync();

        Assert.All(first.Zip(next),
            pair => Assert.Equal(pair.First.Text == pair.Second.Text, pair.First.ETag == pair.Second.ETag));
        Assert.NotEqual(first[0].ETag, next[0].ETag);
        Assert.Equal(first[3].ETag, next[3].ETag);

        async Task<Reply[]> ReadAllAsync() =>
            [.. await Task.WhenAll(addresses.Select(
                async address => (await household.Keeper.GetAsync(address)).MustBe(200)))];
    }

    private static async Task<Reply> ReadAsync(Operation read, Ready by, string form, (string, string)? header = null,
        int status = 200) =>
        (await by.Household.Keeper.GetAsync(read.Address(by.InsteadOf(read)),
            [("Accept", form), .. header is { } one ? [one] : Array.Empty<(string, string)>()])).MustBe(status);

    private async Task<Ready> ReadyAsync()
    {
        var household = await demo.DemoAsync();
        (await household.Keeper.PostAsync("/api/fill-runs", """{"payday": "2026-11-02", "pay": 1000.00}"""))
            .MustBe(201);
        var round = (await household.Keeper.PostAsync("/api/count-rounds", """{"wallet": "desk-drawer"}"""))
            .MustBe(201).Json.GetProperty("entryId").GetRawText();
        var rebuild = (await household.Keeper.PostAsync("/api/rebuilds", "{}")).Json.GetProperty("id").ToString();
        (await household.Keeper.PostAsync("/api/calendar-address", "{}")).MustBe(201);
        return new Ready(household, await household.LineAsync(), round, rebuild);
    }

    /// <summary>A demo household in which there is something to read at every address.</summary>
    private sealed record Ready(Household Household, long Line, string Round, string Rebuild)
    {
        public (string, string)[] InsteadOf(Operation read) => read.Path switch
        {
            "/api/count-rounds/{id}" or "/api/count-rounds/{id}/sheet" => [("id", Round)],
            "/api/rebuilds/{id}" => [("id", Rebuild)],
            "/api/fill-runs/{payday}" => [("payday", "2026-11-02")],
            _ => [],
        };
    }
}
