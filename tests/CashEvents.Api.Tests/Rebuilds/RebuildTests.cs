using System.Text.Json;
using Microsoft.Extensions.DependencyInjection;
using Npgsql;
using Xunit;

namespace CashEvents.Api.Tests.Rebuilds;

/// <summary>
/// What is kept beside the lines is made anew from them, compared and put right, while the book is read and written.
/// </summary>
public sealed class RebuildTests
{
    [Fact]
    public async Task Whatever_was_written_the_tables_are_what_the_lines_give()
    {
        var seed = SameSeedsAttribute.Next();
        TestContext.Current.TestOutputHelper?.WriteLine($"Seed {seed}");
        await using var server = await RunningServer.StartAsync();
        var household = await HistoryAsync(server, seed);

        var ended = await RebuildAsync(household);

        Assert.Equal(("done", 0, false), Outcome(ended));
        Assert.Equal(await household.LineAsync(), ended.GetProperty("lines").GetInt64());
    }

    [Theory]
    [InlineData("update cashevents.day_closing set closing = closing + 1 where ctid = (select ctid from "
        + "cashevents.day_closing where tenant_id = $1 limit 1)", "day_closing", "closing")]
    [InlineData("update cashevents.day_total set change = change - 100 where ctid = (select ctid from "
        + "cashevents.day_total where tenant_id = $1 limit 1)", "day_total", "change")]
    [InlineData("update cashevents.spent_to_date set closing = 0 where ctid = (select ctid from "
        + "cashevents.spent_to_date where tenant_id = $1 and closing <> 0 limit 1)", "spent_to_date", "closing")]
    [InlineData("update cashevents.planned_amount set amount = 1 where tenant_id = $1", "planned_amount", "amount")]
    [InlineData("update cashevents.tracker_row set description = 'another' where tenant_id = $1 and line = 12",
        "tracker_row", "description")]
    [ThoroughData("update cashevents.tracker_row r set amount = o.amount from cashevents.tracker_row o where "
        + "r.tenant_id = $1 and o.tenant_id = $1 and r.leg = 0 and o.leg = 0 and array[r.line, o.line] <@ (select "
        + "array[min(line), max(line)] from cashevents.tracker_row where tenant_id = $1 and amount is not null) "
        + "and r.line <> o.line",
        "tracker_row", "amount")]
    [ThoroughData("update cashevents.line set written_by = 'nobody' where tenant_id = $1 and line = 12", "line",
        "written_by")]
    [ThoroughData("update cashevents.line set reversed_by = 3 where tenant_id = $1 and line = 12", "line", "*")]
    [ThoroughData("update cashevents.key set role = 'viewer' where tenant_id = $1 and name = 'till script'",
        "key", "role")]
    [ThoroughData("update cashevents.key set movements = '{fill}' where tenant_id = $1 and name = 'till script'",
        "key", "movements")]
    [ThoroughData("delete from cashevents.tracker_row where tenant_id = $1", "tracker_row", "*")]
    [ThoroughData("delete from cashevents.day_closing where tenant_id = $1", "day_closing", "*")]
    [ThoroughData("delete from cashevents.line where tenant_id = $1 and line > 20", "line", "*")]
    [ThoroughData("insert into cashevents.line (tenant_id, line, kind, written_by) "
        + "values ($1, 99999, 'spend', 'nobody')", "line", "*")]
    [ThoroughData("insert into cashevents.day_total (tenant_id, day, compartment, holding, sheet_column, change) "
        + "values ($1, '2020-02-02', 'rainy-day', 'cash', 'filled', 5)", "day_total", "*")]
    [ThoroughData("update cashevents.mt_doc_bookpage set data = jsonb_set(data, "
        + "'{book,compartments,market-days,cash}', '123456') where tenant_id = $1",
        "page", "book.compartments.market-days.cash")]
    [ThoroughData("update cashevents.mt_doc_bookpage set data = data #- '{book,compartments,rainy-day}' "
        + "where tenant_id = $1", "page", "book.compartments.rainy-day")]
    [ThoroughData("delete from cashevents.mt_doc_bookpage where tenant_id = $1", "page", "book")]
    public async Task What_was_changed_by_SQL_is_told_by_document_and_field_and_put_right(string change,
        string document, string field)
    {
        await using var server = await RunningServer.StartAsync();
        var household = await HistoryAsync(server, seed: 7);
        await household.IssueAsync("till script", "script", """["spend", "refund"]""");
        var before = await KeptAsync(household);
        await DoAsync(household, change);
        Assert.NotEqual(before, await KeptAsync(household));

        var finding = await server.Services.GetRequiredService<Rebuilder>()
            .RebuildAsync(household.Id, cancellation: TestContext.Current.CancellationToken);

        Assert.True(finding.Switched);
        Assert.Contains(finding.Drifts, d => d.Document == document && d.Field == field);
        Assert.All(finding.Drifts, d => Assert.Equal(document, d.Document));
        Assert.Equal(before, await KeptAsync(household));
        Assert.False((await server.Services.GetRequiredService<Rebuilder>()
            .RebuildAsync(household.Id, cancellation: TestContext.Current.CancellationToken)).Switched);
        await household.FillAsync("market-days", "1.00");
    }

    [Fact]
    public async Task Reading_and_writing_go_on_meanwhile_and_nothing_is_lost()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await HistoryAsync(server, seed: 11);
        await DoAsync(household, "update cashevents.day_total set change = change + 1 where tenant_id = $1");
        await DoAsync(household, "delete from cashevents.tracker_row where tenant_id = $1 and line > 30");
        var line = await household.LineAsync();
        using var stop = new CancellationTokenSource();
        var writers = Enumerable.Range(0, 4).Select(_ => Task.Run(async () =>
        {
            var written = 0;
            for (; !stop.IsCancellationRequested; written++)
            {
                await household.FillAsync("market-days", "0.01");
                (await household.Keeper.GetAsync("/api/balances")).MustBe(200);
            }

            return written;
        })).ToList();

        for (var i = 0; i < 5; i++)
        {
            Assert.Equal("done", (await RebuildAsync(household)).GetProperty("status").GetString());
        }

        await stop.CancelAsync();
        var written = (await Task.WhenAll(writers)).Sum();

        Assert.True(written > 0);
        Assert.Equal(line + written, await household.LineAsync());
        Assert.Equal(("done", 0, false), Outcome(await RebuildAsync(household)));
        Assert.True((await household.Keeper.GetAsync("/api/verification")).Json.GetProperty("agrees").GetBoolean());
    }

    [Fact]
    public async Task A_server_that_knew_the_book_from_before_reads_it_again()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await HistoryAsync(server, seed: 13);
        await using var other = await RunningServer.StartAsync(server.Database);
        // The other server takes up the wrong balance, and keeps it in hand.
        await DoAsync(household, "update cashevents.mt_doc_bookpage set data = jsonb_set(data, "
            + "'{book,compartments,market-days,cash}', '99999999') where tenant_id = $1");
        await household.At(other).FillAsync("ferry-fares", "0.01");

        Assert.Equal(("done", 1, true), Outcome(await RebuildAsync(household)));
        await household.At(other).FillAsync("ferry-fares", "0.01");

        Assert.Equal(("done", 0, false), Outcome(await RebuildAsync(household)));
    }

    [Fact]
    public async Task A_rebuild_that_is_broken_off_leaves_the_old_tables_in_force()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await HistoryAsync(server, seed: 17);
        await DoAsync(household, "update cashevents.day_total set change = change + 1 where tenant_id = $1");
        await DoAsync(household, "update cashevents.line set written_by = 'nobody' where tenant_id = $1 and line = 12");
        var wrong = await KeptAsync(household);
        var rebuilder = server.Services.GetRequiredService<Rebuilder>();

        await Assert.ThrowsAsync<TimeoutException>(
            () => rebuilder.RebuildAsync(household.Id, new BreaksOff(), TestContext.Current.CancellationToken));
        Assert.Equal(wrong, await KeptAsync(household));

        // Half-way through putting right, its connection is cut: a row that it must change is held until then.
        await using var database = NpgsqlDataSource.Create(server.Database);
        await using var holder = await database.OpenConnectionAsync(TestContext.Current.CancellationToken);
        await using var held = await holder.BeginTransactionAsync(TestContext.Current.CancellationToken);
        await using (var hold = new NpgsqlCommand("select 1 from cashevents.mt_doc_bookpage where tenant_id = $1 for "
            + "update", holder)
        { Parameters = { new() { Value = household.Id } } })
        {
            await hold.ExecuteScalarAsync(TestContext.Current.CancellationToken);
        }

        var rebuilding = Assert.ThrowsAnyAsync<NpgsqlException>(
            () => rebuilder.RebuildAsync(household.Id, cancellation: TestContext.Current.CancellationToken));
        while (!rebuilding.IsCompleted)
        {
            await using var cut = database.CreateCommand("select count(pg_terminate_backend(pid)) from "
                + "pg_stat_activity where wait_event_type = 'Lock' and query like '%mt_doc_bookpage%' and pid <> "
                + "pg_backend_pid()");
            await cut.ExecuteScalarAsync(TestContext.Current.CancellationToken);
        }

        await rebuilding;
        await held.RollbackAsync(TestContext.Current.CancellationToken);
        Assert.Equal(wrong, await KeptAsync(household));
        Assert.True((await rebuilder.RebuildAsync(household.Id,
            cancellation: TestContext.Current.CancellationToken)).Switched);
    }

    [Fact]
    public async Task A_comparison_is_not_held_up_by_whoever_waits_for_a_table_that_it_reads()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await HistoryAsync(server, seed: 31);
        await using var database = NpgsqlDataSource.Create(server.Database);
        await using var holder = await database.OpenConnectionAsync(TestContext.Current.CancellationToken);
        await using var held = await holder.BeginTransactionAsync(TestContext.Current.CancellationToken);
        await LockAsync(holder, "day_closing");
        var looking = server.Services.GetRequiredService<Rebuilder>().RebuildAsync(household.Id,
            cancellation: TestContext.Current.CancellationToken);
        await IsLockedAsync(server, "day_closing", granted: false);

        // It has read lines by then, and reads their table once more.
        await IsLockedAsync(server, "mt_events", granted: true);
        await using var other = await database.OpenConnectionAsync(TestContext.Current.CancellationToken);
        await using var wants = await other.BeginTransactionAsync(TestContext.Current.CancellationToken);
        var locking = LockAsync(other, "mt_events");
        await IsLockedAsync(server, "mt_events", granted: false);
        await held.RollbackAsync(TestContext.Current.CancellationToken);

        Assert.Empty((await looking).Drifts);
        await locking;
    }

    private static async Task LockAsync(NpgsqlConnection connection, string table)
    {
        await using var command = new NpgsqlCommand($"lock table cashevents.{table}", connection);
        await command.ExecuteNonQueryAsync(TestContext.Current.CancellationToken);
    }

    private static async Task IsLockedAsync(RunningServer server, string table, bool granted)
    {
        while (await Database.AskAsync(server.Database, $"select count(*) from pg_locks where granted = {granted} "
            + $"and relation = 'cashevents.{table}'::regclass") == "0")
        {
            await Task.Delay(10, TestContext.Current.CancellationToken);
        }
    }

    [Fact]
    public async Task Books_of_an_older_program_are_rebuilt_before_anything_is_served()
    {
        await using var older = await RunningServer.StartAsync();
        var household = await HistoryAsync(older, seed: 19);
        var before = await KeptAsync(household);
        await DoAsync(household, "update cashevents.mt_doc_bookpage set data = data - 'made' - 'rebuilds' where "
            + "tenant_id = $1");
        foreach (var table in new[] { "day_total", "spent_to_date", "planned_amount" })
        {
            await DoAsync(household, $"delete from cashevents.{table} where tenant_id = $1");
        }

        await using var newer = await RunningServer.StartAsync(older.Database);

        Assert.Equal(before, await KeptAsync(household));
    }

    [ThoroughFact]
    public async Task That_PostgreSQL_is_away_for_a_moment_is_no_failed_rebuild()
    {
        await using var older = await RunningServer.StartAsync();
        var household = await HistoryAsync(older, seed: 29);
        var before = await KeptAsync(household);
        await DoAsync(household, "update cashevents.mt_doc_bookpage set data = data - 'made' where tenant_id = $1");
        await using var database = NpgsqlDataSource.Create(older.Database);
        await using var holder = await database.OpenConnectionAsync(TestContext.Current.CancellationToken);
        await using var held = await holder.BeginTransactionAsync(TestContext.Current.CancellationToken);
        await using (var hold = new NpgsqlCommand("select 1 from cashevents.mt_doc_bookpage where tenant_id = $1 for "
            + "update", holder)
        { Parameters = { new() { Value = household.Id } } })
        {
            await hold.ExecuteScalarAsync(TestContext.Current.CancellationToken);
        }

        // The rebuild waits to put the page right, and its connection is cut.
        var starting = RunningServer.StartAsync(older.Database);
        for (var cut = 0L; cut == 0;)
        {
            await using var cutting = database.CreateCommand("select count(pg_terminate_backend(pid)) from "
                + "pg_stat_activity where wait_event_type = 'Lock' and query like '%mt_doc_bookpage%' and pid <> "
                + "pg_backend_pid()");
            cut = (long)(await cutting.ExecuteScalarAsync(TestContext.Current.CancellationToken))!;
            Assert.False(starting.IsCompleted);
        }

        await held.RollbackAsync(TestContext.Current.CancellationToken);
        await using var newer = await starting;

        Assert.Equal(before, await KeptAsync(household));
    }

    [Fact]
    public async Task Progress_is_told_as_server_sent_events()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await HistoryAsync(server, seed: 23);
        var started = (await household.Keeper.PostAsync("/api/rebuilds", "")).MustBe(202);
        var address = started.Headers["Location"];

        var told = (await household.Keeper.GetAsync(address, ("Accept", "text/event-stream"))).MustBe(200);

        Assert.Equal("text/event-stream", told.ContentType);
        var last = told.Text.Trim().Split("\n\n")[^1].Split('\n');
        Assert.Equal("event: ended", last[0]);
        Assert.Equal("done", JsonDocument.Parse(last[1]["data: ".Length..]).RootElement.GetProperty("status")
            .GetString());
    }

    [Fact]
    public async Task Only_a_keeper_rebuilds_and_only_their_own_book()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        var partner = await household.IssueAsync("partner", "member");
        (await partner.PostAsync("/api/rebuilds", "")).MustBeProblem(403, "not-allowed");
        var started = (await household.Keeper.PostAsync("/api/rebuilds", "")).MustBe(202);

        (await (await Household.OpenAsync(server)).Keeper.GetAsync(started.Headers["Location"]))
            .MustBeProblem(404, "rebuild-unknown");
        (await household.Keeper.GetAsync("/api/rebuilds/another")).MustBeProblem(404, "rebuild-unknown");
    }

    private static (string?, int, bool) Outcome(JsonElement ended) =>
        (ended.GetProperty("status").GetString(), ended.GetProperty("drifts").GetInt32(),
            ended.GetProperty("switched").GetBoolean());

    private static async Task<Household> HistoryAsync(RunningServer server, int seed)
    {
        var household = await Household.OpenAsync(server);
        await household.FillAsync("market-days", "500.00", on: "2026-09-20");
        await household.SpendAsync("market-days", "3.20", on: "2026-09-21");
        (await household.Keeper.PutAsync("/api/plan",
            """{"from": "2026-W38", "amounts": {"ferry-fares": 25.00, "market-days": 40.00}}""")).MustBe(200);
        var round = (await household.Keeper.PostAsync("/api/count-rounds", "{}")).MustBe(201).Json.GetProperty("id")
            .GetInt64();
        await new GeneratedHistory(household, seed).SendAsync(60);
        (await household.Keeper.PostAsync($"/api/count-rounds/{round}/counts",
            """{"compartment": "rainy-day", "denominations": {"5": 2}}""")).MustBe(201);
        await new GeneratedHistory(household, seed + 1).SendAsync(60);
        return household;
    }

    private static async Task<JsonElement> RebuildAsync(Household household)
    {
        var address = (await household.Keeper.PostAsync("/api/rebuilds", "")).MustBe(202).Headers["Location"];
        while (true)
        {
            var rebuild = (await household.Keeper.GetAsync(address)).MustBe(200).Json;
            if (rebuild.GetProperty("status").GetString() != "running")
            {
                return rebuild;
            }

            await Task.Delay(10, TestContext.Current.CancellationToken);
        }
    }

    private static async Task DoAsync(Household household, string sql)
    {
        await using var database = NpgsqlDataSource.Create(household.Server.Database);
        await using var command = database.CreateCommand(sql);
        command.Parameters.Add(new NpgsqlParameter { Value = household.Id });
        Assert.NotEqual(0, await command.ExecuteNonQueryAsync(TestContext.Current.CancellationToken));
    }

    /// <summary>Everything that is kept beside a household's lines.</summary>
    private static async Task<string> KeptAsync(Household household)
    {
        string[] tables = ["line", "tracker_row", "day_closing", "spent_to_date", "day_total", "planned_amount", "key"];
        await using var database = NpgsqlDataSource.Create(household.Server.Database);
        var kept = new List<string>();
        foreach (var sql in tables.Select(
            t => $"select string_agg(t::text, '|' order by t::text) from cashevents.{t} t where tenant_id = $1")
            .Append("select (data - 'rebuilds')::text from cashevents.mt_doc_bookpage where tenant_id = $1"))
        {
            await using var command = database.CreateCommand(sql);
            command.Parameters.Add(new NpgsqlParameter { Value = household.Id });
            kept.Add((await command.ExecuteScalarAsync(TestContext.Current.CancellationToken))?.ToString() ?? "");
        }

        return string.Join('\n', kept);
    }

    private sealed class BreaksOff : IProgress<RebuildProgress>
    {
        public void Report(RebuildProgress value) => throw new TimeoutException();
    }
}
