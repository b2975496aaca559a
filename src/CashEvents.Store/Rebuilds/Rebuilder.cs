using System.Data;
using System.Text.Json;
using Npgsql;
using NpgsqlTypes;

namespace CashEvents.Store.Rebuilds;

/// <summary>
/// Makes everything that is kept beside the lines anew, from the lines alone, and compares it with what is kept, both
/// from one moment, while reading and
/// writing go on. Only where something differs are the tables put right, in one transaction that no line can come
/// between: until it is committed the old
/// ones are in force.
/// </summary>
public sealed class Rebuilder(NpgsqlDataSource database)
{
    // Few enough to be forgotten as soon as they are taken in; a whole number of them makes a handful.
    private const int ReadAtOnce = 100;

    private const string PageOf =
        $"select data from {BookTables.Schema}.mt_doc_bookpage where tenant_id = $1 and id = '{BookPage.TheOne}'";

    private const string EndOf = $"""
        select timestamp, headers->>'{LineHash.Header}' from {BookTables.Schema}.mt_events
        where tenant_id = $1 and stream_id = '{BookTables.Stream}' and version = $2
        """;

    private const string LastLine =
        $"select version from {BookTables.Schema}.mt_streams where tenant_id = $1 and id = '{BookTables.Stream}'";

    /// <summary>Rebuilds a household's tables.</summary>
    /// <param name="household">Whose.</param>
    /// <param name="progress">Told now and then how far it has come.</param>
    /// <param name="cancellation">Gives up; nothing is changed then.</param>
    public async Task<RebuildFinding> RebuildAsync(string household, IProgress<RebuildProgress>? progress = null,
        CancellationToken cancellation = default)
    {
        var rebuilt = new Rebuilt();
        var drifts = new List<Drift>();
        var drifted = new List<(long After, long UpTo)>();
        await using (var reading = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false))
        {
            await using var snapshot =
                await reading.BeginTransactionAsync(IsolationLevel.RepeatableRead, cancellation).ConfigureAwait(false);
            await CompareAsync(reading, household, rebuilt, drifts, drifted, progress, cancellation)
                .ConfigureAwait(false);
        }

        if (drifts.Count == 0)
        {
            return new RebuildFinding(rebuilt.Line, drifts, false);
        }

        await using var writing = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        await using var transaction = await writing.BeginTransactionAsync(cancellation).ConfigureAwait(false);
        await SwitchAsync(writing, household, rebuilt, drifted, cancellation).ConfigureAwait(false);
        await transaction.CommitAsync(cancellation).ConfigureAwait(false);
        return new RebuildFinding(rebuilt.Line, drifts, true);
    }

    /// <summary>
    /// What a rebuild would find at the moment that a connection's snapshot sees; nothing is changed.
    /// </summary>
    internal async Task<IReadOnlyList<Drift>> LookAsync(NpgsqlConnection snapshot, string household,
        CancellationToken cancellation)
    {
        var drifts = new List<Drift>();
        await CompareAsync(snapshot, household, new Rebuilt(), drifts, [], null, cancellation).ConfigureAwait(false);
        return drifts;
    }

    private async Task CompareAsync(
        NpgsqlConnection reading, string household, Rebuilt rebuilt, List<Drift> drifts,
        List<(long After, long UpTo)> drifted, IProgress<RebuildProgress>? progress, CancellationToken cancellation)
    {
        await using var comparing = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        await using var same = await SameMomentAsync(reading, comparing, cancellation).ConfigureAwait(false);
        var last = await LastLineAsync(reading, household, lockIt: false, cancellation).ConfigureAwait(false);

        // While PostgreSQL sums up what it keeps, some lines are read and those before them are taken in.
        using var givenUp = CancellationTokenSource.CreateLinkedTokenSource(cancellation);
        var keeping = Fingerprints.OfKeptAsync(comparing, household, last, givenUp.Token);
        var made = new Fingerprints();
        var taking = Task.CompletedTask;
        try
        {
            await foreach (var lines in LineReader.StreamAsync(reading, household, 0, last, cancellation)
                .Chunk(ReadAtOnce).ConfigureAwait(false))
            {
                await taking.ConfigureAwait(false);
                if (rebuilt.Line % Fingerprints.Handful == 0)
                {
                    progress?.Report(new RebuildProgress(rebuilt.Line, last));
                }

                taking = Task.Run(() => TakeIn(lines, rebuilt, made), CancellationToken.None);
            }

            await taking.ConfigureAwait(false);
        }
        catch
        {
            // The connection must be at rest before it is given back.
            await givenUp.CancelAsync().ConfigureAwait(false);
            await ((Task)keeping).ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
            await taking.ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
            throw;
        }

        var kept = await keeping.ConfigureAwait(false);
        progress?.Report(new RebuildProgress(last, last));
        foreach (var (after, upTo) in made.NotAsIn(kept, last))
        {
            var lines = await HandfulAsync(reading, household, after, upTo, cancellation).ConfigureAwait(false);
            await CompareAsync(comparing, household, Rebuilt.Of(lines, after, upTo), drifts, drifted, cancellation)
                .ConfigureAwait(false);
        }

        // Rows of lines that the book does not have.
        await CompareAsync(comparing, household, Rebuilt.Of([], last, long.MaxValue), drifts, drifted, cancellation)
            .ConfigureAwait(false);
        foreach (var rows in rebuilt.Rest())
        {
            if (!kept.Are(rows))
            {
                await CompareAsync(comparing, household, [rows], drifts, drifted, cancellation).ConfigureAwait(false);
            }
        }

        drifts.AddRange(await ComparePageAsync(reading, household, rebuilt, cancellation).ConfigureAwait(false));
    }

    private static void TakeIn(SaidLine[] lines, Rebuilt rebuilt, Fingerprints made)
    {
        foreach (var line in lines)
        {
            rebuilt.Add(line);
            made.Add(line);
        }
    }

    // Two connections that see the same moment: one reads Marten's tables, the other those beside them. Did both read
    // one table, whoever wants that table for itself would wait for the first, and the second for him.
    private static async Task<NpgsqlTransaction> SameMomentAsync(NpgsqlConnection first, NpgsqlConnection second,
        CancellationToken cancellation)
    {
        await using var export = new NpgsqlCommand("select pg_export_snapshot()", first);
        var name = (string)(await export.ExecuteScalarAsync(cancellation).ConfigureAwait(false))!;
        var transaction = await second.BeginTransactionAsync(IsolationLevel.RepeatableRead, cancellation)
            .ConfigureAwait(false);
        await using var import = new NpgsqlCommand($"set transaction snapshot '{name}'", second);
        await import.ExecuteNonQueryAsync(cancellation).ConfigureAwait(false);
        return transaction;
    }

    private static async Task CompareAsync(
        NpgsqlConnection connection, string household, IEnumerable<RebuiltRows> tables, List<Drift> drifts,
        List<(long After, long UpTo)> drifted, CancellationToken cancellation)
    {
        foreach (var rows in tables)
        {
            await using var command = rows.Table.Compare(connection, household, rows);
            await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
            var before = drifts.Count;
            while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
            {
                drifts.AddRange(Drift.OfRow(rows.Table, reader.IsDBNull(1) ? null : reader.GetString(1),
                    reader.IsDBNull(0) ? null : reader.GetString(0)));
            }

            if (drifts.Count > before && (drifted.Count == 0 || drifted[^1] != (rows.After, rows.UpTo)))
            {
                drifted.Add((rows.After, rows.UpTo));
            }
        }
    }

    private static async Task<List<Drift>> ComparePageAsync(NpgsqlConnection connection, string household,
        Rebuilt rebuilt, CancellationToken cancellation)
    {
        var kept = await KeptPageAsync(connection, household, cancellation).ConfigureAwait(false);
        using var there = JsonDocument.Parse(kept ?? "{}");
        using var made = JsonSerializer.SerializeToDocument(
            await PageAsync(connection, household, rebuilt, RebuildsOf(kept), cancellation).ConfigureAwait(false),
            BookJson.Options);
        return Drift.Of("page", "", "", there.RootElement, made.RootElement).FindAll(d => d.Field != "rebuilds");
    }

    private static async Task<BookPage> PageAsync(NpgsqlConnection connection, string household, Rebuilt rebuilt,
        int rebuilds, CancellationToken cancellation)
    {
        await using var command = new NpgsqlCommand(EndOf, connection)
        { Parameters = { new() { Value = household }, new() { Value = rebuilt.Line } } };
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        return await reader.ReadAsync(cancellation).ConfigureAwait(false)
            ? rebuilt.Page(new DateTimeOffset(reader.GetDateTime(0)), reader.IsDBNull(1) ? null : reader.GetString(1),
                rebuilds)
            : rebuilt.Page(DateTimeOffset.MinValue, null, rebuilds);
    }

    private static async Task<string?> KeptPageAsync(NpgsqlConnection connection, string household,
        CancellationToken cancellation)
    {
        await using var command = new NpgsqlCommand(PageOf, connection)
        { Parameters = { new() { Value = household } } };
        return await command.ExecuteScalarAsync(cancellation).ConfigureAwait(false) as string;
    }

    private static int RebuildsOf(string? page)
    {
        using var kept = JsonDocument.Parse(page ?? "{}");
        return kept.RootElement.TryGetProperty("rebuilds", out var rebuilds) && rebuilds.TryGetInt32(out var times)
            ? times
            : 0;
    }

    private static async Task SwitchAsync(NpgsqlConnection connection, string household, Rebuilt rebuilt,
        List<(long After, long UpTo)> drifted, CancellationToken cancellation)
    {
        var compared = rebuilt.Line;
        var last = await LastLineAsync(connection, household, lockIt: true, cancellation).ConfigureAwait(false);
        await foreach (var line in LineReader.StreamAsync(connection, household, compared, last, cancellation)
            .ConfigureAwait(false))
        {
            rebuilt.Add(line);
        }

        foreach (var (after, upTo) in drifted.Where(d => d.After > 0 || d.UpTo < long.MaxValue).Distinct())
        {
            // Rows of lines that the book did not have then may be those of lines written since.
            var lines = await HandfulAsync(connection, household, after, Math.Min(upTo, last), cancellation)
                .ConfigureAwait(false);
            await PutRightAsync(connection, household, Rebuilt.Of(lines, after, upTo), cancellation)
                .ConfigureAwait(false);
        }

        await EndAsync(connection, household, rebuilt, cancellation).ConfigureAwait(false);
    }

    /// <summary>Puts right what grows with days, plans and keys, and the page.</summary>
    internal static async Task EndAsync(NpgsqlConnection connection, string household, Rebuilt rebuilt,
        CancellationToken cancellation)
    {
        await PutRightAsync(connection, household, rebuilt.Rest(), cancellation).ConfigureAwait(false);
        var rebuilds = RebuildsOf(await KeptPageAsync(connection, household, cancellation).ConfigureAwait(false)) + 1;
        var page = await PageAsync(connection, household, rebuilt, rebuilds, cancellation).ConfigureAwait(false);
        await using var write = new NpgsqlCommand($"""
            insert into {BookTables.Schema}.mt_doc_bookpage as p (tenant_id, id, data, mt_dotnet_type) values ($1, '{BookPage.TheOne}', $2, '{typeof(BookPage).FullName}')
            on conflict (tenant_id, id) do update set data = excluded.data
            """, connection)
        {
            Parameters = { new() { Value = household },
                new() { Value = JsonSerializer.Serialize(page, BookJson.Options), NpgsqlDbType = NpgsqlDbType.Jsonb } },
        };
        await write.ExecuteNonQueryAsync(cancellation).ConfigureAwait(false);
    }

    private static async Task PutRightAsync(NpgsqlConnection connection, string household,
        IEnumerable<RebuiltRows> tables, CancellationToken cancellation)
    {
        foreach (var rows in tables)
        {
            await using var takeOut = rows.Table.TakeOut(connection, household, rows);
            await takeOut.ExecuteNonQueryAsync(cancellation).ConfigureAwait(false);
            await using var putIn = rows.Table.PutIn(connection, household, rows);
            await putIn.ExecuteNonQueryAsync(cancellation).ConfigureAwait(false);
        }
    }

    private static async Task<List<SaidLine>> HandfulAsync(NpgsqlConnection connection, string household, long after,
        long upTo, CancellationToken cancellation)
    {
        var lines = new List<SaidLine>();
        await foreach (var line in LineReader.StreamAsync(connection, household, after, upTo, cancellation)
            .ConfigureAwait(false))
        {
            lines.Add(line);
        }

        return lines;
    }

    private static async Task<long> LastLineAsync(NpgsqlConnection connection, string household, bool lockIt,
        CancellationToken cancellation)
    {
        // Every append takes this row's lock first.
        await using var command = new NpgsqlCommand(lockIt ? LastLine + " for update" : LastLine, connection)
        { Parameters = { new() { Value = household } } };
        return await command.ExecuteScalarAsync(cancellation).ConfigureAwait(false) is long last ? last : 0;
    }
}
