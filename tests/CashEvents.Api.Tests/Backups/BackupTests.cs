using System.Globalization;
using System.IO.Compression;
using System.Security.Cryptography;
using System.Text;
using System.Text.Json.Nodes;
using CsCheck;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CashEvents.Api.Tests.Backups;

/// <summary>A backup holds all that makes a book, and what was taken in is the book that it was.</summary>
public sealed class BackupTests(SharedServer shared)
{
    private static readonly string[] _reads =
    [
        "/api/lines?limit=1000", "/api/balances", "/api/set-up", "/api/custody", "/api/count-rounds",
        "/api/months/2026-11/trail", "/api/weeks", "/api/page-origins", "/api/saving-plans",
        "/api/compartments/ferry-fares/tracker?month=2026-11",
    ];

    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    [Fact]
    public async Task A_book_with_every_kind_of_line_is_the_same_on_another_server()
    {
        var ours = await EveryKind.WrittenAsync(shared);
        (await ours.Keeper.PutAsync("/api/page-origins", """{"origins": ["https://dashboard.example"]}""")).MustBe(200);
        var file = await BackupAsync(ours);
        await using var elsewhere = await RunningServer.StartAsync();

        var taken = await RestoreAsync(elsewhere, file, ours.Id);

        var theirs = ours.At(elsewhere);
        var verified = (await theirs.Keeper.GetAsync("/api/verification")).MustBe(200).Json;
        Assert.True(verified.GetProperty("agrees").GetBoolean());
        Assert.Equal((ours.Id, verified.GetProperty("lines").GetInt64(), verified.GetProperty("hash").GetString()),
            (taken.Household, taken.Finding.Lines, taken.Finding.Hash));
        foreach (var address in _reads)
        {
            Assert.Equal((await ours.Keeper.GetAsync(address)).MustBe(200).Text,
                (await theirs.Keeper.GetAsync(address)).MustBe(200).Text);
        }

        // Both go on from there.
        Assert.Equal((await theirs.FillAsync("ferry-fares", "5.00")).Text,
            (await ours.FillAsync("ferry-fares", "5.00")).Text);
    }

    [Fact]
    public async Task Browsers_stay_signed_in_and_keys_tell_when_they_were_used_last()
    {
        var ours = await FilledAsync();
        var rows = "select jsonb_agg(t order by t)::text from (select s.* from cashevents.session s join "
            + $"cashevents.key k on k.hash = s.key_hash where k.tenant_id = '{ours.Id}') t";
        var uses = "select jsonb_agg(t order by t)::text from (select u.* from cashevents.key_use u join "
            + $"cashevents.key k using (hash) where k.tenant_id = '{ours.Id}') t";
        await Database.AskAsync(ours.Server.Database, "insert into cashevents.session (hash, key_hash, opened) select "
            + $"'browser of {ours.Id}', hash, now() from cashevents.key where tenant_id = '{ours.Id}' limit 1");
        await using var elsewhere = await RunningServer.StartAsync();

        await RestoreAsync(elsewhere, await BackupAsync(ours), ours.Id);

        foreach (var ask in new[] { rows, uses })
        {
            var kept = await Database.AskAsync(ours.Server.Database, ask);
            Assert.NotEmpty(kept!);
            Assert.Equal(kept, await Database.AskAsync(elsewhere.Database, ask));
        }
    }

    [Fact]
    public async Task A_backup_of_the_first_form_which_had_no_rows_is_taken_in()
    {
        var ours = await FilledAsync();
        var first = string.Join('\n', Plain(await BackupAsync(ours)).Split('\n')
            .Where(r => !r.Contains("\"record\":\"row\"", StringComparison.Ordinal)))
            .Replace("\"version\":2", "\"version\":1", StringComparison.Ordinal);
        await using var elsewhere = await RunningServer.StartAsync();

        await RestoreAsync(elsewhere, Resummed(first), ours.Id);

        Assert.Equal(await ours.HoldsAsync("ferry-fares"), await ours.At(elsewhere).HoldsAsync("ferry-fares"));
    }

    [Fact]
    public async Task A_row_of_a_table_that_is_not_this_programs_is_refused()
    {
        var household = await FilledAsync();
        var spoilt = Resummed(Plain(await BackupAsync(household)).Replace("\"table\":\"key_use\"",
            "\"table\":\"key; drop table cashevents.key\"", StringComparison.Ordinal));
        await using var elsewhere = await RunningServer.StartAsync();

        var refused = await Assert.ThrowsAsync<BackupException>(() => RestoreAsync(elsewhere, spoilt, household.Id));

        Assert.Contains("does not know", refused.Message);
    }

    [Fact]
    public async Task What_was_written_before_is_not_written_again_on_the_restored_book()
    {
        var ours = await shared.HarbourRowAsync();
        const string fill = """{"compartment": "ferry-fares", "amount": 20.00}""";
        var first = (await ours.Keeper.PostAsync("/api/fills", fill, ("Idempotency-Key", "payday"))).MustBe(201);
        await using var elsewhere = await RunningServer.StartAsync();
        await RestoreAsync(elsewhere, await BackupAsync(ours), ours.Id);
        var theirs = ours.At(elsewhere);
        var before = await theirs.LineAsync();

        var again = await theirs.Keeper.PostAsync("/api/fills", fill, ("Idempotency-Key", "payday"));
        var other = await theirs.Keeper.PostAsync("/api/fills", fill.Replace("20", "21", StringComparison.Ordinal),
            ("Idempotency-Key", "payday"));

        Assert.Equal((first.Status, first.Text), (again.Status, again.Text));
        other.MustBlame(422, "idempotency-key-reused", "Idempotency-Key");
        Assert.Equal(before, await theirs.LineAsync());
    }

    [ThoroughFact]
    public async Task A_file_that_was_cut_or_changed_anywhere_is_not_taken_in()
    {
        var household = await FilledAsync();
        var file = await BackupAsync(household);
        await using var elsewhere = await RunningServer.StartAsync();

        // The last bytes are the compression's: bits that fill a byte up, and sums of what was read by then.
        await Gen.Select(Gen.Int[0, file.Length - 17], Gen.Bool).SampleAsync(async (at, cut) =>
        {
            var bad = cut ? file[..at] : [.. file[..at], (byte)(file[at] ^ 0x10), .. file[(at + 1)..]];

            // The header of the compression says nothing of the books: a time, a system.
            if (!cut && at is >= 4 and < 10)
            {
                return;
            }

            await Assert.ThrowsAsync<BackupException>(() => RestoreAsync(elsewhere, bad, household.Id));
            Assert.Equal(0L, await BooksAsync(elsewhere));
        }, iter: 60, threads: 1);

        Assert.Equal(household.Id, (await RestoreAsync(elsewhere, file, household.Id)).Household);
    }

    [Fact]
    public async Task What_stands_behind_the_end_of_a_file_is_no_part_of_it()
    {
        var household = await FilledAsync();
        var file = await BackupAsync(household);
        await using var elsewhere = await RunningServer.StartAsync();

        await Assert.ThrowsAsync<BackupException>(() =>
            RestoreAsync(elsewhere, Compressed(Plain(file) + "{}\n"), household.Id));
        await Assert.ThrowsAsync<BackupException>(() =>
            RestoreAsync(elsewhere, Compressed(Plain(file) + Plain(file)), household.Id));
        Assert.Equal(0L, await BooksAsync(elsewhere));
    }

    [Fact]
    public async Task A_line_that_does_not_agree_is_named_and_its_backup_is_not_taken_in()
    {
        var household = await FilledAsync();
        var line = await household.LineAsync() - 1;
        await Database.AskAsync(household.Server.Database,
            "update cashevents.mt_events set data = data || '{\"amount\": 1}' where tenant_id = "
                + $"'{household.Id}' and version = {line}");
        using var file = new MemoryStream();

        var books = await Maker(household).WriteAsync(file, household.Id, "test", Stop);

        Assert.Equal(line, Assert.Single(books).Finding.Misfit?.Line);
        await using var elsewhere = await RunningServer.StartAsync();
        var refused = await Assert.ThrowsAsync<BackupException>(() =>
            RestoreAsync(elsewhere, file.ToArray(), household.Id));
        Assert.Contains($"Line {line} ", refused.Message, StringComparison.Ordinal);
        Assert.Equal(0L, await BooksAsync(elsewhere));
    }

    [Fact]
    public async Task A_changed_line_with_a_new_sum_does_not_agree_with_its_hash()
    {
        var household = await FilledAsync();
        var records = Plain(await BackupAsync(household)).Split('\n');
        var changed = records.ToList().FindIndex(r => r.Contains("\"kind\":\"fill\"", StringComparison.Ordinal));
        records[changed] = records[changed].Replace("\"amount\":6000", "\"amount\":9000", StringComparison.Ordinal);
        await using var elsewhere = await RunningServer.StartAsync();

        var refused = await Assert.ThrowsAsync<BackupException>(() =>
            RestoreAsync(elsewhere, Resummed(string.Join('\n', records)), household.Id));

        Assert.Contains("does not agree with its hashes", refused.Message, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_long_book_is_taken_in_a_handful_after_the_other()
    {
        const int more = 4100;
        var ours = await FilledAsync();
        var records = LinesOf(await BackupAsync(ours));
        var fill = records.Find(r => r.Contains("\"kind\":\"fill\"", StringComparison.Ordinal))!;
        await using var elsewhere = await RunningServer.StartAsync();

        await RestoreAsync(elsewhere, Continued(ours.Id, records, Enumerable.Repeat(fill, more)), ours.Id);

        var theirs = ours.At(elsewhere);
        Assert.True((await theirs.Keeper.GetAsync("/api/verification")).MustBe(200).Json.GetProperty("agrees")
            .GetBoolean());
        Assert.Equal(await ours.LineAsync() + more, await theirs.LineAsync());
        Assert.Equal(Amount(await ours.HoldsAsync("ferry-fares")) + (more * 60m),
            Amount(await theirs.HoldsAsync("ferry-fares")));

        static decimal Amount(string json) => decimal.Parse(json, CultureInfo.InvariantCulture);
    }

    [Fact]
    public async Task A_kind_of_line_that_only_a_later_program_has_is_told_with_the_way_on()
    {
        var household = await FilledAsync();
        var records = LinesOf(await BackupAsync(household));
        var later = records[^1].Replace("\"kind\":\"spend\"", "\"kind\":\"lent\"", StringComparison.Ordinal);
        await using var elsewhere = await RunningServer.StartAsync();

        var refused = await Assert.ThrowsAsync<BackupException>(() =>
            RestoreAsync(elsewhere, Continued(household.Id, records, [later]), household.Id));

        Assert.Contains($"line {await household.LineAsync() + 1}, of the kind 'lent'", refused.Message,
            StringComparison.Ordinal);
        Assert.Equal(0L, await BooksAsync(elsewhere));
    }

    [Fact]
    public async Task Nothing_is_taken_in_where_there_are_books_unless_it_is_one_that_is_not_there()
    {
        var (ours, others) = (await FilledAsync(), await FilledAsync());
        await using var elsewhere = await RunningServer.StartAsync();
        await RestoreAsync(elsewhere, await BackupAsync(ours), ours.Id);
        var file = await BackupAsync(others);

        await Assert.ThrowsAsync<BackupException>(() => RestoreAsync(elsewhere, file, household: null));
        await Assert.ThrowsAsync<BackupException>(
            async () => await RestoreAsync(elsewhere, await BackupAsync(ours), ours.Id));
        await Assert.ThrowsAsync<BackupException>(() => RestoreAsync(elsewhere, file, "lighthouse"));
        await RestoreAsync(elsewhere, file, others.Id);

        Assert.Equal(await others.HoldsAsync("ferry-fares"), await others.At(elsewhere).HoldsAsync("ferry-fares"));
        Assert.Equal(await ours.HoldsAsync("ferry-fares"), await ours.At(elsewhere).HoldsAsync("ferry-fares"));
    }

    [Theory]
    [InlineData("")]
    [InlineData("{\"record\":\"line\"}\n")]
    [InlineData("{\"record\":\"backup\",\"version\":3,\"madeAt\":\"2031-01-01T00:00:00Z\",\"program\":\"4.0.0\"}\n")]
    [InlineData("not JSON\n")]
    public async Task What_is_no_backup_or_of_a_later_form_is_told(string written)
    {
        await using var elsewhere = await RunningServer.StartAsync();

        await Assert.ThrowsAsync<BackupException>(() => RestoreAsync(elsewhere, Compressed(written), household: null));
        await Assert.ThrowsAsync<BackupException>(() =>
            RestoreAsync(elsewhere, Encoding.UTF8.GetBytes(written), household: null));
    }

    [Fact]
    public async Task The_file_is_lines_of_JSON_that_other_programs_read()
    {
        var household = await FilledAsync();

        var records = Plain(await BackupAsync(household)).TrimEnd('\n').Split('\n')
            .Select(line => System.Text.Json.JsonDocument.Parse(line).RootElement).ToList();

        Assert.Equal(["backup", "book", "line"],
            records.Take(3).Select(r => r.GetProperty("record").GetString()));
        Assert.Equal("end", records[^1].GetProperty("record").GetString());
        Assert.Equal((await household.LinesAsync()).Select(l => l.GetProperty("hash").GetString()),
            records.Where(r => r.GetProperty("record").GetString() == "line")
                .Select(r => r.GetProperty("hash").GetString()));
    }

    private async Task<Household> FilledAsync()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "60.00");
        await household.SpendAsync("ferry-fares", "8.40");
        return household;
    }

    private static BackupMaker Maker(Household household) =>
        household.Server.Services.GetRequiredService<BackupMaker>();

    private static async Task<byte[]> BackupAsync(Household household)
    {
        using var file = new MemoryStream();
        var books = await Maker(household).WriteAsync(file, household.Id, "test", Stop);
        Assert.True(Assert.Single(books).Finding.Agrees);
        file.Position = 0;
        Assert.Equal(books.Select(b => (b.Household, b.Finding.Hash)),
            (await BackupRestorer.CheckAsync(file, Stop)).Select(b => (b.Household, b.Finding.Hash)));
        return file.ToArray();
    }

    private static async Task<BookBackup> RestoreAsync(RunningServer server, byte[] file, string? household)
    {
        using var from = new MemoryStream(file);
        return Assert.Single(await server.Services.GetRequiredService<BackupRestorer>()
            .RestoreAsync(from, household, Stop));
    }

    private static async Task<long> BooksAsync(RunningServer server) => long.Parse(
        (await Database.AskAsync(server.Database, "select (select count(*) from cashevents.mt_events) + (select "
            + "count(*) from cashevents.mt_streams) + (select count(*) from cashevents.key)"))!);

    // The file's records up to the last line of its one book.
    private static List<string> LinesOf(byte[] file) =>
        [.. Plain(file).Split('\n').Where(r => r.Contains("\"record\":\"backup\"", StringComparison.Ordinal)
            || r.Contains("\"record\":\"book\"", StringComparison.Ordinal)
            || r.Contains("\"record\":\"line\"", StringComparison.Ordinal))];

    // The same book with more lines, each with the hash that it has there.
    private static byte[] Continued(string household, List<string> records, IEnumerable<string> more)
    {
        var lines = records.Skip(2).ToList();
        var hash = (string)JsonNode.Parse(lines[^1])!["hash"]!;
        foreach (var record in more)
        {
            var line = JsonNode.Parse(record)!;
            var number = lines.Count + 1L;
            hash = LineHash.Of(hash, household, number, number, (string)line["kind"]!,
                (DateTimeOffset)line["recordedAt"]!, (string)line["by"]!,
                Encoding.UTF8.GetBytes(line["content"]!.ToJsonString()));
            (line["line"], line["entryId"], line["hash"]) =
                (number, number.ToString(CultureInfo.InvariantCulture), hash);
            lines.Add(line.ToJsonString());
        }

        var book = JsonNode.Parse(records[1])!;
        book["lines"] = lines.Count;
        return Resummed(string.Join('\n', [records[0], book.ToJsonString(), .. lines, "the end"]));
    }

    // With an end that agrees with what stands before it.
    private static byte[] Resummed(string plain)
    {
        var records = plain.TrimEnd('\n').Split('\n')[..^1];
        var before = string.Join('\n', records) + "\n";
        var lines = records.Count(r => r.Contains("\"record\":\"line\"", StringComparison.Ordinal));
        return Compressed(before
            + $$"""{"record":"end","books":1,"lines":{{lines}},"sha256":"{{Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(before)))}}"}""" + "\n");
    }

    private static string Plain(byte[] file)
    {
        using var plain = new GZipStream(new MemoryStream(file), CompressionMode.Decompress);
        using var text = new StreamReader(plain);
        return text.ReadToEnd();
    }

    private static byte[] Compressed(string plain)
    {
        using var to = new MemoryStream();
        using (var compressed = new GZipStream(to, CompressionLevel.Fastest))
        {
            compressed.Write(Encoding.UTF8.GetBytes(plain));
        }

        return to.ToArray();
    }
}
