using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging.Abstractions;
using Npgsql;
using Xunit;

namespace CashEvents.Api.Tests.Writing;

/// <summary>
/// Households that write at the same time share a transaction. What goes wrong in one book is that household's alone.
/// </summary>
public sealed class ManyHouseholdsTests : IAsyncLifetime
{
    private const string Fill = """{"compartment": "ferry-fares", "amount": 1.00}""";

    private RunningServer _server = null!;
    private Household[] _households = null!;

    public async ValueTask InitializeAsync()
    {
        _server = await RunningServer.StartAsync();
        _households = await Task.WhenAll(Enumerable.Range(0, 10).Select(_ => Household.OpenAsync(_server)));
    }

    public ValueTask DisposeAsync() => _server.DisposeAsync();

    [Fact]
    public async Task A_book_that_somebody_holds_keeps_none_of_its_neighbours_waiting()
    {
        Task<Reply> waits;
        await using (var held = await HeldBook.HoldAsync(_households[0]))
        {
            waits = _households[0].Keeper.PostAsync("/api/fills", Fill);
            await held.WriterAsync();

            await Task.WhenAll(_households[1..].Select(h => h.FillAsync("ferry-fares", "1.00")));

            Assert.False(waits.IsCompleted);
        }

        var written = (await waits).MustBe(201);
        Assert.Equal([Household.SetUpLines + 1], written.Lines);
    }

    [Fact]
    public async Task Books_of_one_group_are_written_in_one_transaction()
    {
        var committed = await Group().CommitAsync(await WaitingAsync(_households));

        Assert.All(committed, c => Assert.Equal(Household.SetUpLines + 1, c!.Page.Book.Line));
        Assert.Equal("1", await Database.AskAsync(_server.Database,
            $"select count(distinct xmin::text) from cashevents.mt_events where version = {Household.SetUpLines + 1}"));
        await MustHoldOneAsync(_households);
    }

    [Fact]
    public async Task Books_that_are_read_together_are_each_as_they_are_alone()
    {
        await Task.WhenAll(_households.Select((h, i) => h.FillAsync("ferry-fares", $"{i + 1}.00")));
        var fares = new Part("ferry-fares", Holding.Cash);

        var pages = await BookLoader.LoadAsync(_server.Services.GetRequiredService<NpgsqlDataSource>(),
            [.. _households.Select(h => h.Id)], TestContext.Current.CancellationToken);

        Assert.Equal(_households.Select((_, i) => (100L * (i + 1), 100L * (i + 1))), pages.Select(page =>
            (page.Book.Compartments[fares.Compartment].Cash.Minor, page.Book.Days[fares].Days[^1].Closing.Minor)));
    }

    [Fact]
    public async Task A_refusal_in_a_group_is_told_and_its_neighbours_are_written()
    {
        var replies = await Task.WhenAll(_households.Select((h, i) => i == 4
            ? h.Keeper.PostAsync("/api/spends", """{"compartment": "ferry-fares", "amount": 9.00}""")
            : h.Keeper.PostAsync("/api/fills", Fill)));

        replies[4].MustBeProblem(409, "not-enough");
        await MustHoldOneAsync([.. _households.Where((_, i) => i != 4)]);
    }

    [Fact]
    public async Task A_book_that_another_server_has_written_in_is_written_after_all_and_its_neighbours_too()
    {
        var waiting = await WaitingAsync(_households);
        await using (var other = await RunningServer.StartAsync(_server.Database))
        {
            await _households[3].At(other).FillAsync("market-days", "5.00");
        }

        var committed = await Group().CommitAsync(waiting);
        var replies = await Task.WhenAll(_households.Select(h => h.FillAsync("ferry-fares", "1.00")));

        // Nothing of a group whose books are not all as they were known: each then goes by itself.
        Assert.All(committed, Assert.Null);
        Assert.All(replies, (reply, i) =>
            Assert.Equal(Household.SetUpLines + (i == 3 ? 2 : 1), Assert.Single(reply.Lines)));
        await MustHoldOneAsync(_households);
    }

    [Fact]
    public async Task A_book_that_can_not_be_written_fails_and_its_neighbours_are_written()
    {
        var broken = _households[2];
        await Database.AskAsync(_server.Database, $"""
            create function full_disk() returns trigger language plpgsql as $$ begin raise exception 'could not extend file' using errcode = '53100'; end $$;
            create trigger full_disk before insert on cashevents.mt_events for each row when (new.tenant_id = '{broken.Id}') execute function full_disk()
            """);

        var replies = await Task.WhenAll(_households.Select(h => h.Keeper.PostAsync("/api/fills", Fill)));

        replies[2].MustBeProblem(503, "storage-failed");
        Assert.All(replies.Where((_, i) => i != 2), reply => reply.MustBe(201));
        Assert.Equal(Household.SetUpLines, await broken.LineAsync());
        await MustHoldOneAsync([.. _households.Where(h => h != broken)]);
    }

    [Fact]
    public async Task A_damaged_book_is_refused_and_its_neighbours_are_written()
    {
        var damaged = _households[5];
        await Database.AskAsync(_server.Database, "update cashevents.mt_doc_bookpage set data = jsonb_set(data, "
            + $"'{{hash}}', '\"another\"') where tenant_id = '{damaged.Id}'");
        await using var server = await RunningServer.StartAsync(_server.Database);

        var replies = await Task.WhenAll(_households.Select(h => h.At(server).Keeper.PostAsync("/api/fills", Fill)));

        Assert.NotEqual(201, replies[5].Status);
        Assert.Equal(Household.SetUpLines, await damaged.LineAsync());
        await MustHoldOneAsync([.. _households.Where(h => h != damaged)]);
    }

    [Fact]
    public async Task Connections_cut_in_the_middle_of_groups_lose_nothing_acknowledged_and_double_nothing()
    {
        using var done = new CancellationTokenSource();
        var cutting = CutAsync(done.Token);

        await Task.WhenAll(_households.SelectMany(h => Enumerable.Range(0, 4).Select(lane => Task.Run(async () =>
        {
            for (var i = 0; i < 6; i++)
            {
                // Whoever is told that it is unknown sends it again under the same key.
                while ((await h.Keeper.PostAsync("/api/fills", Fill, ("Idempotency-Key", $"{lane}-{i}"))).Status != 201)
                {
                    await Task.Delay(5, TestContext.Current.CancellationToken);
                }
            }
        }))));
        await done.CancelAsync();

        Assert.True(await cutting > 0);
        foreach (var household in _households)
        {
            Assert.Equal(Enumerable.Range(1, Household.SetUpLines + 24).Select(n => (long)n),
                (await household.LinesAsync()).Select(l => l.GetProperty("line").GetInt64()));
            Assert.Equal("24.00", await household.HoldsAsync("ferry-fares"));
        }
    }

    // Again and again, whoever is in the middle of writing.
    private async Task<int> CutAsync(CancellationToken done)
    {
        var cut = 0;
        await using var connection = new NpgsqlConnection(
            new NpgsqlConnectionStringBuilder(_server.Database) { Pooling = false }.ConnectionString);
        await connection.OpenAsync(TestContext.Current.CancellationToken);
        while (!done.IsCancellationRequested)
        {
            await using var command = new NpgsqlCommand("select count(pg_terminate_backend(pid)) from pg_stat_activity "
                + "where datname = current_database() and state = 'active' and query ~ '(mt_events|mt_streams)' "
                + "and pid <> pg_backend_pid()", connection);
            cut += (int)(long)(await command.ExecuteScalarAsync(TestContext.Current.CancellationToken))!;
            await Task.Delay(20, TestContext.Current.CancellationToken);
        }

        return cut;
    }

    private GroupCommitter Group() => new(_server.Services.GetRequiredService<NpgsqlDataSource>(),
        new Clerk(_server.Clock, new ClockTrust(), NullLogger.Instance),
        _server.Services.GetRequiredService<WritingMeasures>());

    private async Task<IReadOnlyList<WaitingBook>> WaitingAsync(Household[] households) =>
        await Task.WhenAll(households.Select(async h => new WaitingBook(h.Id,
            await BookLoader.LoadAsync(_server.Services.GetRequiredService<NpgsqlDataSource>(), h.Id,
                TestContext.Current.CancellationToken),
            [new WriteRequest(h.Id, "keeper",
                [new EntryRequest(new RecordFill("ferry-fares", Holding.Cash, 1m, null, null))])])));

    private static async Task MustHoldOneAsync(Household[] households)
    {
        foreach (var household in households)
        {
            Assert.Equal("1.00", await household.HoldsAsync("ferry-fares"));
            (await household.Keeper.GetAsync("/api/verification")).MustBe(200);
        }
    }
}
