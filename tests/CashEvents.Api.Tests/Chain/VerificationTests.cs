using System.Text.Json;
using System.Text.RegularExpressions;
using CsCheck;
using Microsoft.Extensions.DependencyInjection;
using Npgsql;
using Xunit;

namespace CashEvents.Api.Tests.Chain;

/// <summary>What was done to a book by SQL is found, and what was done by the program is not.</summary>
public sealed class VerificationTests(SharedServer shared)
{
    private const string Page = "cashevents.mt_doc_bookpage set data = data ||";

    [Fact]
    public async Task A_book_of_every_kind_of_line_fits_and_ends_in_the_hash_of_its_last_line()
    {
        var household = await EveryKind.WrittenAsync(shared);
        var lines = await household.LinesAsync();

        (await household.Keeper.GetAsync("/api/verification")).MustBe(200).MustSay($$"""
            {"agrees": true, "lines": {{lines.Count}}, "hash": "{{await household.HashAsync(lines.Count)}}"}
            """);
        Assert.Equal(LineKinds.Types.Keys.Order(),
            lines.Select(l => l.GetProperty("kind").GetString()!).Distinct().Order());
        Assert.Equal(lines.Count, lines.Select(l => l.GetProperty("hash").GetString()).Distinct().Count());
        Assert.All(lines, l => Assert.Matches("^[0-9a-f]{64}$", l.GetProperty("hash").GetString()));
    }

    [Fact]
    public async Task Every_change_of_any_line_is_found_at_that_line()
    {
        var household = await EveryKind.WrittenAsync(shared);
        var lines = await household.LineAsync();

        for (var line = 1L; line <= lines; line++)
        {
            await ChangeAsync(household, $"data = data || '{{\"changed\": true}}' where version = {line}");
            await MustNotFitAsync(household, line, $"Line {line} has another hash");
            await ChangeAsync(household, $"data = data - 'changed' where version = {line}");
        }

        await MustFitAsync(household);
    }

    [Theory]
    [InlineData("data = jsonb_set(data, '{amount}', '841') where version = 13")]
    [InlineData("data = jsonb_set(data, '{description}', '\"Return to the mainland \"') where version = 13")]
    [InlineData("data = jsonb_set(data, '{occurredOn}', '\"2026-11-04\"') where version = 13")]
    [InlineData("data = data - 'description' where version = 13")]
    [InlineData("data = '[]' where version = 13")]
    [InlineData("type = 'refund' where version = 13")]
    [InlineData("user_name = 'partner' where version = 13")]
    [InlineData("user_name = null where version = 13")]
    [InlineData("timestamp = timestamp - interval '1 microsecond' where version = 13")]
    [InlineData("correlation_id = '12' where version = 13")]
    [InlineData("correlation_id = 'thirteen' where version = 13")]
    [InlineData("correlation_id = null where version = 13")]
    [InlineData("headers = jsonb_set(headers, '{hash}', '\"0\"') where version = 13")]
    [InlineData("headers = jsonb_set(headers, '{hash}', to_jsonb(upper(headers->>'hash'))) where version = 13")]
    [InlineData("headers = null where version = 13")]
    [InlineData("headers = headers - 'hash' where version >= 13")]
    [InlineData("data = jsonb_set(data, '{amount}', '1e400') where version = 13")]
    public async Task A_changed_line_is_found(string change)
    {
        var household = await WrittenAsync();

        await ChangeAsync(household, change);

        await MustNotFitAsync(household, 13, "Line 13 ");
    }

    [Theory]
    [InlineData(13, "is missing", "delete from cashevents.mt_events where TENANT and version = 13")]
    [InlineData(1, "is missing", "delete from cashevents.mt_events where TENANT and version < 3")]
    [InlineData(1, "is missing", "delete from cashevents.mt_events where TENANT")]
    [InlineData(15, "is missing", "delete from cashevents.mt_events where TENANT and version >= 15")]
    [InlineData(16, "balances stand at line 16", """
        delete from cashevents.mt_events where TENANT and version = 16;
        update cashevents.mt_streams set version = 15 where TENANT
        """)]
    [InlineData(15, "is not the last that was written", """
        delete from cashevents.mt_events where TENANT and version = 16;
        update cashevents.mt_streams set version = 15 where TENANT;
        update cashevents.mt_doc_bookpage set data = jsonb_set(data, '{book,line}', '15') where TENANT
        """)]
    [InlineData(13, "is missing", "update cashevents.mt_events set is_archived = true where TENANT and version = 13")]
    [InlineData(13, "has another hash", """
        update cashevents.mt_events set version = -13 where TENANT and version = 14;
        update cashevents.mt_events set version = 14 where TENANT and version = 13;
        update cashevents.mt_events set version = 13 where TENANT and version = -13
        """)]
    [InlineData(13, "has another hash", """
        delete from cashevents.mt_events where TENANT and version = 13;
        update cashevents.mt_events set version = version - 1 where TENANT and version = 14;
        update cashevents.mt_events set version = version - 1 where TENANT and version = 15;
        update cashevents.mt_events set version = version - 1 where TENANT and version = 16;
        update cashevents.mt_streams set version = 15 where TENANT;
        update cashevents.mt_doc_bookpage set data = jsonb_set(data, '{book,line}', '15') where TENANT
        """)]
    [InlineData(14, "has another hash", """
        update cashevents.mt_events set version = 17 where TENANT and version = 16;
        update cashevents.mt_events set version = 16 where TENANT and version = 15;
        update cashevents.mt_events set version = 15 where TENANT and version = 14;
        COPY 14;
        update cashevents.mt_streams set version = 17 where TENANT;
        update cashevents.mt_doc_bookpage set data = jsonb_set(data, '{book,line}', '17') where TENANT
        """)]
    [InlineData(17, "after the end", "COPY 17")]
    [InlineData(0, "before line 1", "COPY 0")]
    [InlineData(16, "is not the last that was written",
        "update cashevents.mt_doc_bookpage set data = jsonb_set(data, '{hash}', '\"0\"') where TENANT")]
    [InlineData(16, "is not kept with the balances",
        "update cashevents.mt_doc_bookpage set data = data - 'hash' where TENANT")]
    [InlineData(1, "balances stand at line 0", "delete from cashevents.mt_doc_bookpage where TENANT")]
    [InlineData(1, "after the end", "update cashevents.mt_streams set version = 0 where TENANT")]
    public async Task A_line_that_was_dropped_inserted_or_moved_is_found(long line, string reason, string change)
    {
        var household = await WrittenAsync();

        await RunAsync(household, change);

        await MustNotFitAsync(household, line, reason);
    }

    [Theory]
    [InlineData("day_closing",
        "update cashevents.day_closing set closing = closing + 1 where TENANT and day = '2026-11-03' and compartment = "
            + "'ferry-fares'")]
    [InlineData("tracker_row", "delete from cashevents.tracker_row where TENANT and line = 13")]
    [InlineData("key", "update cashevents.key set revoked = true where TENANT and name = 'partner'")]
    [InlineData("page", "update cashevents.mt_doc_bookpage set data = jsonb_set(data, "
        + "'{book,compartments,market-days,cash}', '123456') where TENANT")]
    public async Task What_stands_beside_the_lines_and_is_not_what_they_give_is_told(string where, string change)
    {
        var household = await WrittenAsync();
        await household.IssueAsync("partner", "member");

        await RunAsync(household, change);

        (await household.Keeper.GetAsync("/api/verification")).MustBe(200).MustHave($$"""
            {"agrees": false, "lines": 17, "hash": "{{await household.HashAsync(17)}}", "reason": "The lines agree, but what is kept beside them is not what they give: POST /api/rebuilds tells each field and puts it right.",
             "drifts": 1, "drifted": ["{{where}}"]}
            """);
    }

    [Fact]
    public async Task A_change_whose_own_hash_was_computed_anew_is_found_at_the_next_line()
    {
        var household = await WrittenAsync();
        await ChangeAsync(household, "data = jsonb_set(data, '{amount}', '841') where version = 13");

        await SealAnewAsync(household, line => line.Number == 13);

        await MustNotFitAsync(household, 14, "Line 14 has another hash");
    }

    [Fact]
    public async Task When_all_hashes_were_computed_anew_only_a_hash_kept_elsewhere_tells()
    {
        var household = await WrittenAsync();
        var kept = await household.HashAsync(16);
        await ChangeAsync(household, "data = jsonb_set(data, '{amount}', '841') where version = 13");

        var last = await SealAnewAsync(household, _ => true);
        await RunAsync(household, $"update {Page} jsonb_build_object('hash', '{last}') where TENANT");
        await household.Server.Services.GetRequiredService<Rebuilder>()
            .RebuildAsync(household.Id, cancellation: TestContext.Current.CancellationToken);

        Assert.NotEqual(kept, await MustFitAsync(household));
    }

    [Fact]
    public async Task A_line_of_another_book_does_not_fit_in_this_one()
    {
        var (ours, theirs) = (await WrittenAsync(), await WrittenAsync());

        await RunAsync(ours, $"delete from cashevents.mt_events where TENANT; update cashevents.mt_events set "
            + $"tenant_id = '{ours.Id}' where tenant_id = '{theirs.Id}'");

        await MustNotFitAsync(ours, 1, "Line 1 has another hash");
    }

    [Fact]
    public async Task What_was_done_to_one_book_does_not_show_in_another()
    {
        var (ours, theirs) = (await WrittenAsync(), await WrittenAsync());

        await ChangeAsync(theirs, "user_name = 'nobody' where version = 13");

        await MustFitAsync(ours);
        await MustNotFitAsync(theirs, 13, "Line 13");
    }

    [Fact]
    public async Task Whatever_people_write_the_hash_is_the_same_before_it_is_stored_and_after()
    {
        var household = await shared.HarbourRowAsync();
        var descriptions = Gen.OneOf(Printable, Awkward).Array[0, 40].Select(string.Concat).List[200].Single();

        var movements = descriptions.Select(
            d => $$"""{"kind": "fill", "compartment": "ferry-fares", "amount": 0.01, "description": {{JsonSerializer.Serialize(d)}}}""");
        var sent = (await household.Keeper.PostAsync("/api/batches",
            $$"""{"mode": "eachOnItsOwn", "movements": [{{string.Join(',', movements)}}]}""")).MustBe(200);

        Assert.True(await household.LineAsync() > Household.SetUpLines + 100, sent.Text);
        await MustFitAsync(household);
    }

    [Theory]
    [InlineData("Quotes \\\" and \\\\ and / and </script>")]
    [InlineData("Caf\\u00e9, cafe\\u0301 \\u212b \\ud83d\\ude02 \\ufb33 \\u200d\\u200b")]
    [InlineData("\\u007e\\uffff\\u00a0-\\u00ad-\\ue000")]
    public async Task Words_that_JSON_escapes_fit(string description)
    {
        var household = await shared.HarbourRowAsync();

        (await household.Keeper.PostAsync("/api/fills",
            $$"""{"compartment": "ferry-fares", "amount": 0.01, "description": "{{description}}"}""")).MustBe(201);

        await MustFitAsync(household);
    }

    [Fact]
    public async Task A_generated_book_fits()
    {
        var seed = SameSeedsAttribute.Next();
        TestContext.Current.TestOutputHelper?.WriteLine($"Seed {seed}");
        var household = await shared.HarbourRowAsync();

        await new GeneratedHistory(household, seed).SendAsync(200);

        await MustFitAsync(household);
    }

    [Fact]
    public async Task A_book_that_is_being_written_fits_at_each_moment()
    {
        var household = await shared.HarbourRowAsync();

        var writing = Task.WhenAll(Enumerable.Range(0, 200).Select(_ => household.FillAsync("ferry-fares", "0.01")));
        do
        {
            await MustFitAsync(household);
        }
        while (!writing.IsCompleted);

        await writing;
        Assert.Equal(await household.HashAsync(Household.SetUpLines + 200), await MustFitAsync(household));
    }

    [Fact]
    public async Task What_is_written_while_the_book_is_walked_is_not_seen()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await WrittenAsync(server);
        await using var database = NpgsqlDataSource.Create(server.Database);
        await using var writing = await database.OpenConnectionAsync();
        await using var transaction = await writing.BeginTransactionAsync();
        await RunAsync("lock table cashevents.mt_events in access exclusive mode");

        var walking = MustFitAsync(household);
        while (await Database.AskAsync(server.Database,
            "select count(*) from pg_locks where not granted and relation = 'cashevents.mt_events'::regclass") == "0")
        {
            Assert.False(walking.IsCompleted);
            await Task.Delay(20);
        }

        await RunAsync(Statements(household, """
            COPY 17;
            update cashevents.mt_streams set version = 17 where TENANT;
            update cashevents.mt_doc_bookpage set data = jsonb_set(data, '{book,line}', '17') where TENANT
            """));
        await transaction.CommitAsync();

        Assert.Equal(await household.HashAsync(16), await walking);

        async Task RunAsync(string sql)
        {
            await using var command = new NpgsqlCommand(sql, writing, transaction);
            await command.ExecuteNonQueryAsync();
        }
    }

    [Fact]
    public async Task A_viewer_may_ask_and_a_stranger_may_not()
    {
        var household = await shared.HarbourRowAsync();
        var display = await household.IssueAsync("wall display", "viewer");

        Assert.Null((await display.GetAsync("/api/verification")).MustBe(200).ETag);
        (await household.Server.Client(null).GetAsync("/api/verification")).MustBeProblem(401, "key-missing");
        (await display.GetAsync("/api/verification?from=3")).MustBlame(400, "malformed", "from");
    }

    private static Gen<string> Printable =>
        Gen.Char.Where(c => !char.IsSurrogate(c) && !char.IsControl(c)).Select(c => c.ToString());

    private static Gen<string> Awkward => Gen.OneOf(
        Gen.Const("\""), Gen.Const("\\"), Gen.Const("\\u0000"), Gen.Const("/"), Gen.Const("'"), Gen.Const("\U0001F602"),
        Gen.Const("e\u0301"), Gen.Const("\u00AD"), Gen.Const("\uFFFF"), Gen.Const(" "));

    /// <summary>Sixteen lines: ten of setting up, then these.</summary>
    private async Task<Household> WrittenAsync(RunningServer? server = null)
    {
        var household = await Household.OpenAsync(server ?? await shared.ServerAsync());
        await household.FillAsync("ferry-fares", "60.00");
        await household.FillAsync("market-days", "40.00");
        await household.SpendAsync("ferry-fares", "8.40", description: "Return to the mainland");
        await household.SpendAsync("market-days", "6.20");
        await household.FillAsync("ferry-fares", "10.00");
        await household.FillAsync("ferry-fares", "10.00");
        Assert.Equal(16, await household.LineAsync());
        await MustFitAsync(household);
        return household;
    }

    private static async Task<string> MustFitAsync(Household household)
    {
        var found = (await household.Keeper.GetAsync("/api/verification")).MustBe(200);
        Assert.True(found.Json.GetProperty("agrees").GetBoolean(), found.Text);
        return found.Json.GetProperty("hash").GetString()!;
    }

    private static async Task MustNotFitAsync(Household household, long line, string reason)
    {
        var found = (await household.Keeper.GetAsync("/api/verification")).MustBe(200);
        Assert.False(found.Json.GetProperty("agrees").GetBoolean(), found.Text);
        Assert.Equal(line, found.Json.GetProperty("line").GetInt64());
        Assert.Contains(reason, found.Json.GetProperty("reason").GetString());
    }

    private static Task ChangeAsync(Household household, string change) =>
        RunAsync(household, $"update cashevents.mt_events set {change} and TENANT");

    private static async Task RunAsync(Household household, string sql) =>
        await Database.AskAsync(household.Server.Database, Statements(household, sql));

    /// <summary>
    /// Statements on a household's rows, of which TENANT finds them; COPY n inserts a copy of line 12 as line n.
    /// </summary>
    private static string Statements(Household household, string sql) => Regex
        .Replace(sql, "COPY ([0-9]+)", """
            insert into cashevents.mt_events
            select (jsonb_populate_record(e, jsonb_build_object('seq_id', nextval('cashevents.mt_events_sequence'), 'id', gen_random_uuid(), 'version', $1))).*
            from cashevents.mt_events e where TENANT and version = 12
            """)
        .Replace("TENANT", $"tenant_id = '{household.Id}'", StringComparison.Ordinal);

    /// <summary>Computes hashes anew as somebody would who knows how.</summary>
    /// <returns>The last hash.</returns>
    private static async Task<string> SealAnewAsync(Household household, Func<StoredLine, bool> which)
    {
        var hash = LineHash.BeforeFirst;
        await using var database = NpgsqlDataSource.Create(household.Server.Database);
        await using var connection = await database.OpenConnectionAsync();
        var lines = await StoredLine.ReadAsync(connection, household.Id, long.MaxValue, CancellationToken.None)
            .ToListAsync();
        foreach (var line in lines)
        {
            hash = which(line) ? line.HashAfter(hash, household.Id)! : line.Hash!;
            await ChangeAsync(household,
                $"headers = jsonb_build_object('hash', '{hash}') where version = {line.Number}");
        }

        return hash;
    }
}
