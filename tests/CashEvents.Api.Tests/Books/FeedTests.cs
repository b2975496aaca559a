using System.Globalization;
using Microsoft.AspNetCore.Server.Kestrel.Transport.Sockets;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;
using Xunit;

namespace CashEvents.Api.Tests.Books;

public sealed class FeedTests(SharedServer shared)
{
    // Between server and listener the system would keep megabytes, and nobody would seem slow.
    private static Task<RunningServer> WithSmallBuffersAsync() => RunningServer.StartAsync(services: services =>
        services.Configure<SocketTransportOptions>(sockets => sockets.CreateBoundListenSocket = at =>
        {
            var socket = SocketTransportOptions.CreateDefaultBoundListenSocket(at);
            socket.SendBufferSize = 4096;
            return socket;
        }));

    [Fact]
    public async Task Each_line_is_an_event_with_its_number_its_kind_and_what_the_line_says()
    {
        var household = await shared.HarbourRowAsync();
        var line = await household.LineAsync();
        await using var feed = await Listener.ListenAsync(household.Keeper, $"?after={line}");
        await household.FillAsync("market-days", "100.00");
        await household.SpendAsync("market-days", "9.60");

        var (id, kind, data) = Assert.NotNull(await feed.NextAsync());
        Assert.Equal(($"{line + 1}", "fill"), (id, kind));
        Assert.Equal((await household.Keeper.GetAsync($"/api/lines/{line + 1}")).MustBe(200).Text, data.GetRawText());
        (id, kind, _) = Assert.NotNull(await feed.NextAsync());
        Assert.Equal(($"{line + 2}", "spend"), (id, kind));
    }

    [Fact]
    public async Task Who_asks_for_no_line_hears_the_next_and_knows_the_last_from_the_start()
    {
        var household = await shared.HarbourRowAsync();
        var line = await household.LineAsync();
        await using var feed = await Listener.ListenAsync(household.Keeper);
        await household.FillAsync("market-days", "100.00");

        Assert.Equal(line + 1, await feed.LineAsync());

        await using var silent = await Listener.ListenAsync(household.Keeper);
        var next = silent.NextAsync();
        while (silent.Heard != $"{line + 1}")
        {
            await Task.Delay(10, TestContext.Current.CancellationToken);
        }

        await household.FillAsync("market-days", "1.00");
        Assert.Equal($"{line + 2}", Assert.NotNull(await next).Id);
    }

    [Fact]
    public async Task Every_kind_of_line_is_told_from_the_first_on_as_the_list_tells_it()
    {
        var household = await EveryKind.WrittenAsync(shared);
        var lines = await household.LinesAsync();
        await using var feed = await Listener.ListenAsync(household.Keeper, "?after=0");

        foreach (var line in lines)
        {
            var said = Assert.NotNull(await feed.NextAsync());
            Assert.Equal(line.GetRawText(), said.Data.GetRawText());
            Assert.Equal(line.GetProperty("kind").GetString(), said.Kind);
        }
    }

    [Fact]
    public async Task Who_comes_back_again_and_again_while_lines_are_written_misses_none_and_gets_none_twice()
    {
        const int Written = 400;
        var household = await shared.HarbourRowAsync();
        var first = await household.LineAsync();
        var writes = Task.Run(async () =>
        {
            for (var n = 0; n < Written / 4; n++)
            {
                await Task.WhenAll(Enumerable.Range(0, 4).Select(_ => household.FillAsync("market-days", "1.00")));
            }
        }, TestContext.Current.CancellationToken);
        var random = new Random(2026);
        var heard = new List<long>();
        var last = first;
        while (heard.Count < Written)
        {
            await using var feed = random.Next(2) == 0
                ? await Listener.ListenAsync(household.Keeper, $"?after={last}")
                : await Listener.ListenAsync(household.Keeper, "?after=0", last.ToString(CultureInfo.InvariantCulture));
            for (var n = random.Next(1, 40); n > 0 && heard.Count < Written; n--)
            {
                heard.Add(last = await feed.LineAsync());
            }
        }

        await writes;
        Assert.Equal(Enumerable.Range(1, Written).Select(n => first + n), heard);
    }

    [Fact]
    public async Task Another_households_lines_are_not_told()
    {
        var (household, other) = (await shared.HarbourRowAsync(), await shared.HarbourRowAsync());
        await using var feed = await Listener.ListenAsync(household.Keeper);
        for (var n = 0; n < 20; n++)
        {
            await other.FillAsync("market-days", "77.00");
            await household.FillAsync("market-days", "1.00");
        }

        for (var n = 1; n <= 20; n++)
        {
            var said = Assert.NotNull(await feed.NextAsync());
            Assert.Equal($"{Household.SetUpLines + n}", said.Id);
            Assert.Equal("1.00", said.Data.GetProperty("amount").GetRawText());
        }
    }

    [Fact]
    public async Task A_key_has_so_many_streams_and_no_more_until_it_closes_one()
    {
        var household = await shared.HarbourRowAsync();
        var display = await household.IssueAsync("wall display", "viewer");
        var open = new List<Listener>();
        for (var n = 0; n < Feed.MostOfAKey; n++)
        {
            open.Add(await Listener.ListenAsync(display));
        }

        var refused = await Listener.RefusedAsync(display);
        refused!.MustBeProblem(429, "too-many-streams");
        Assert.Equal("60", refused.Headers["Retry-After"]);
        await using var keepers = await Listener.ListenAsync(household.Keeper);

        await open[0].DisposeAsync();
        while ((await Listener.RefusedAsync(display, orNot: true)) is { Status: 429 })
        {
            await Task.Delay(10, TestContext.Current.CancellationToken);
        }

        foreach (var one in open)
        {
            await one.DisposeAsync();
        }
    }

    [Fact]
    public async Task Who_is_too_slow_is_cut_off_with_the_number_to_go_on_from_and_slows_nobody()
    {
        const int Written = 2_000;
        await using var server = await WithSmallBuffersAsync();
        server.Services.GetRequiredService<Feed>().Patience = TimeSpan.FromMinutes(10);
        var household = await Household.OpenAsync(server);
        var first = await household.LineAsync();
        await using var slow = await Listener.ListenAsync(household.Keeper, $"?after={first}", smallBuffer: true);
        await using var quick = await Listener.ListenAsync(household.Keeper, $"?after={first}");
        await household.FillAsync("market-days", "1.00");
        Assert.Equal(first + 1, await slow.LineAsync());

        var heard = Task.Run(async () =>
        {
            for (var line = first + 1; line <= first + 1 + Written; line++)
            {
                Assert.Equal(line, await quick.LineAsync());
            }
        }, TestContext.Current.CancellationToken);
        for (var written = 0; written < Written; written += 200)
        {
            await household.Server.Writer.WriteAsync(new WriteRequest(household.Id, "keeper",
                [.. Enumerable.Range(0, 200).Select(_ => new EntryRequest(
                    new RecordFill("market-days", Holding.Cash, 1.00m, null, new string('x', 190))))]));
        }

        await heard;
        var rest = await slow.RestAsync();
        Assert.True(rest[^1].Kind == "cutOff", $"{rest.Count} events, the last {rest[^1].Kind} {rest[^1].Id}.");
        var after = rest[^1].Data.GetProperty("after").GetInt64();
        Assert.InRange(after, first + 1, first + Written);
        Assert.Equal(Enumerable.Range(2, rest.Count - 1).Select(n => $"{first + n}"),
            rest.SkipLast(1).Select(said => said.Id));
        Assert.Equal($"{after}", rest[^2].Id);

        await using var again = await Listener.ListenAsync(household.Keeper, $"?after={after}");
        for (var line = after + 1; line <= first + 1 + Written; line++)
        {
            Assert.Equal(line, await again.LineAsync());
        }
    }

    [Fact]
    public async Task Who_takes_nothing_at_all_is_let_go()
    {
        await using var server = await WithSmallBuffersAsync();
        var feed = server.Services.GetRequiredService<Feed>();
        feed.Patience = TimeSpan.FromMilliseconds(100);
        var household = await Household.OpenAsync(server);
        await using var gone = await Listener.ListenAsync(household.Keeper, smallBuffer: true);
        Assert.Equal(1, feed.Streams);

        while (feed.Streams > 0)
        {
            await server.Writer.WriteAsync(new WriteRequest(household.Id, "keeper",
                [.. Enumerable.Range(0, 200).Select(_ => new EntryRequest(
                    new RecordFill("market-days", Holding.Cash, 1.00m, null, new string('x', 190))))]));
        }
    }

    [Fact]
    public async Task A_number_that_no_line_has_yet_is_refused()
    {
        var household = await shared.HarbourRowAsync();
        var line = await household.LineAsync();

        (await Listener.RefusedAsync(household.Keeper, $"?after={line + 1}"))!.MustBeProblem(404, "line-unknown");
        (await Listener.RefusedAsync(household.Keeper, heard: $"{line + 1}"))!.MustBeProblem(404, "line-unknown");
        (await Listener.RefusedAsync(household.Keeper, heard: "then"))!.MustBeProblem(400, "malformed");
        (await Listener.RefusedAsync(household.Keeper, "?after=-1"))!.MustBeProblem(400, "malformed");
        (await Listener.RefusedAsync(household.Keeper, "?since=1"))!.MustBeProblem(400, "malformed");
    }

    [Fact]
    public async Task Who_asks_for_the_headers_alone_gets_them_and_an_end()
    {
        var household = await shared.HarbourRowAsync();

        var reply = await household.Keeper.SendAsync("HEAD", "/api/feed", null);

        Assert.Equal("text/event-stream", reply.MustBe(200).ContentType);
    }

    [Fact]
    public async Task The_stream_of_a_key_ends_when_the_key_expires()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        var key = (await household.Keeper.PostAsync("/api/keys",
            """{"name": "for today", "role": "viewer", "expires": "2026-11-15"}""")).MustBe(201).Json
            .GetProperty("key").GetString();
        await using var feed = await Listener.ListenAsync(server.Client(key));
        server.Clock.Advance(TimeSpan.FromHours(12));

        await household.FillAsync("market-days", "1.00");

        Assert.Empty(await feed.RestAsync());
    }
}

public sealed class FeedOfTwoServersTests : IAsyncLifetime
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
    public async Task What_is_written_at_one_server_is_heard_at_the_other_in_order()
    {
        var household = await Household.OpenAsync(_one);
        var there = household.At(_other);
        await using var feed = await Listener.ListenAsync(there.Keeper);
        await using var here = await Listener.ListenAsync(household.Keeper);
        for (var n = 0; n < 10; n++)
        {
            await Task.WhenAll(household.FillAsync("market-days", "1.00"), there.FillAsync("market-days", "1.00"));
        }

        for (var line = Household.SetUpLines + 1; line <= Household.SetUpLines + 20; line++)
        {
            Assert.Equal(line, await feed.LineAsync());
            Assert.Equal(line, await here.LineAsync());
        }
    }

    [Fact]
    public async Task A_server_whose_connection_was_cut_hears_what_was_written_meanwhile()
    {
        var household = await Household.OpenAsync(_one);
        await using var feed = await Listener.ListenAsync(household.At(_other).Keeper);
        await household.FillAsync("market-days", "1.00");
        Assert.Equal(Household.SetUpLines + 1, await feed.LineAsync());

        for (var n = 2; n <= 4; n++)
        {
            await Database.AskAsync(_one.Database,
                "select count(pg_terminate_backend(pid)) from pg_stat_activity where "
                + "datname = current_database() and query like 'listen %'");
            await household.FillAsync("market-days", "1.00");
            Assert.Equal(Household.SetUpLines + n, await feed.LineAsync());
        }
    }

    [Fact]
    public async Task What_a_server_did_not_come_to_tell_is_found_by_the_others()
    {
        var household = await Household.OpenAsync(_one);
        await using var feed = await Listener.ListenAsync(household.At(_other).Keeper);
        await _one.Services.GetServices<IHostedService>().OfType<Announcements>().Single()
            .StopAsync(TestContext.Current.CancellationToken);

        await household.FillAsync("market-days", "1.00");

        Assert.Equal(Household.SetUpLines + 1, await feed.LineAsync());
    }

    [Fact]
    public async Task The_stream_of_a_revoked_key_ends_at_once_at_both()
    {
        var household = await Household.OpenAsync(_one);
        var display = await household.IssueAsync("wall display", "viewer");
        await using var here = await Listener.ListenAsync(display);
        await using var there = await Listener.ListenAsync(_other.Client(display.Key));
        await using var keepers = await Listener.ListenAsync(household.At(_other).Keeper);

        (await household.Keeper.DeleteAsync("/api/keys/wall%20display")).MustBe(204);
        await household.FillAsync("market-days", "1.00");

        Assert.DoesNotContain(await here.RestAsync(), said => said.Kind == "fill");
        Assert.DoesNotContain(await there.RestAsync(), said => said.Kind == "fill");
        Assert.Equal("keyRevoked", Assert.NotNull(await keepers.NextAsync()).Kind);
        Assert.Equal("fill", Assert.NotNull(await keepers.NextAsync()).Kind);
    }
}
