using System.Collections.Concurrent;
using System.Collections.Immutable;
using System.Globalization;
using System.Text.Json;
using Npgsql;
using NpgsqlTypes;

namespace CashEvents.Store.Writing;

/// <summary>
/// Appends to books: a handful of statements for all of them, sent together and committed as one transaction in one
/// round trip. The rows of Marten's tables are those that Marten writes, one by one.
/// </summary>
internal static class AppendBatch
{
    // One plan must serve every append: PostgreSQL makes a new one each time it takes that for cheaper. So the arrays
    // stand in selects of their own, where it does not see how long they are.
    // Rows are locked in one order everywhere, so that two servers never wait for each other. A book that has moved on
    // stays as it is: its lines then meet the ones that took their numbers.
    private static readonly string _moveOn = MoveOn("for update");

    private static readonly string _moveOnUnlessHeld = MoveOn("for update nowait");

    private const string Begin = $"""
        insert into {BookTables.Schema}.mt_streams (tenant_id, id, version)
        select household, '{BookTables.Stream}', line from unnest($1, $2) as b(household, line)
        """;

    // Once the books are held, their pages are written. It fails when what this server knows of one is from before a
    // rebuild that put something right, or when the line it stands at is not the one that it knows, as after a dump was
    // restored under the running program.
    private const string PutPages = $"""
        with k as materialized (select * from unnest((select $1), (select $2), (select $3), (select $4)) as k(household, line, hash, page)),
        kept as (
            insert into {BookTables.Schema}.mt_doc_bookpage as p (tenant_id, id, data, mt_dotnet_type)
            select household, '{BookPage.TheOne}', page, $5 from k
            on conflict (tenant_id, id) do update set data = excluded.data, mt_last_modified = transaction_timestamp()
            where coalesce((p.data ->> 'rebuilds')::int, 0) = coalesce((excluded.data ->> 'rebuilds')::int, 0)
            returning 1)
        select 1 / (case when (select count(*) from kept) = count(*) and bool_and(k.hash = coalesce(
            (select e.headers ->> '{LineHash.Header}' from {BookTables.Schema}.mt_events e where e.tenant_id = k.household and e.stream_id = '{BookTables.Stream}' and e.version = k.line), ''))
            then 1 else 0 end) from k
        """;

    // The lines, and what lists of them are filtered by.
    private const string InsertLines = $"""
        with l as materialized (select * from unnest($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)
            as l(household, number, content, kind, recorded_at, type, entry, hash, written_by, occurred_on, corrects)),
        filters as (
            insert into {BookTables.Schema}.line (tenant_id, line, kind, written_by, occurred_on, corrects)
            select household, number, kind, written_by, occurred_on, corrects from l)
        insert into {BookTables.Schema}.mt_events (seq_id, id, stream_id, version, data, type, tenant_id, timestamp, mt_dotnet_type, correlation_id, headers, user_name)
        select nextval('{BookTables.Schema}.mt_events_sequence'), gen_random_uuid(), '{BookTables.Stream}', l.number, l.content, l.kind, l.household, l.recorded_at, l.type,
            l.entry, jsonb_build_object('{LineHash.Header}', l.hash), l.written_by
        from l
        """;

    private const string InsertAnswers = $"""
        insert into {BookTables.Schema}.answer (tenant_id, idempotency_key, fingerprint, entry)
        select * from unnest($1, $2, $3, $4)
        """;

    private static readonly ConcurrentDictionary<Type, string> _typeNames = new();

    /// <summary>The statements that append, for a batch that is run as it is.</summary>
    /// <param name="batch">Where they go.</param>
    /// <param name="appends">What is added to each book; each household once.</param>
    /// <param name="waits">Whether to wait for a book that somebody else holds; else the batch fails.</param>
    public static void Add(NpgsqlBatch batch, IReadOnlyList<Append> appends, bool waits)
    {
        var (begun, begins) = (Of(appends, a => a.Known.Book.Line > 0), Of(appends, a => a.Known.Book.Line == 0));
        if (begun.Length > 0)
        {
            batch.Add(waits ? _moveOn : _moveOnUnlessHeld, [Households(begun),
                begun.Select(a => a.Known.Book.Line).ToArray(), begun.Select(a => a.Page.Book.Line).ToArray()]);
        }

        if (begins.Length > 0)
        {
            batch.Add(Begin, [Households(begins), begins.Select(a => a.Page.Book.Line).ToArray()]);
        }

        batch.Add(PutPages, [Households(appends), appends.Select(a => a.Known.Book.Line).ToArray(),
            appends.Select(a => a.Known.Book.Line == 0 ? "" : a.Known.Hash ?? "").ToArray(),
            Json(appends.Select(a => JsonSerializer.SerializeToUtf8Bytes(a.Page, BookJson.Options))),
            typeof(BookPage).FullName!]);
        AddLines(batch, [.. appends.SelectMany(a => a.Lines)]);
        AddAnswers(batch, appends);
        BookProjection.Add(batch, appends);
    }

    private static void AddLines(NpgsqlBatch batch, AppendedLine[] lines) => batch.Add(InsertLines,
        [lines.Select(l => l.Household).ToArray(),
        lines.Select(l => l.Number).ToArray(),
        Json(lines.Select(l => l.Content)),
        lines.Select(l => LineKinds.Of(l.Event)).ToArray(),
        lines.Select(l => l.RecordedAt.UtcDateTime).ToArray(),
        lines.Select(l => _typeNames.GetOrAdd(l.Event.GetType(),
            type => $"{type.FullName}, {type.Assembly.GetName().Name}")).ToArray(),
        lines.Select(l => l.EntryId.ToString(CultureInfo.InvariantCulture)).ToArray(),
        lines.Select(l => l.Hash).ToArray(),
        lines.Select(l => l.By).ToArray(),
        lines.Select(l => (l.Event as IDatedEvent)?.OccurredOn).ToArray(),
        lines.Select(l => (l.Event as IMovement)?.Corrects?.Line).ToArray()]);

    private static void AddAnswers(NpgsqlBatch batch, IReadOnlyList<Append> appends)
    {
        var answers = appends.SelectMany(a => a.Answers, (a, answer) => (a.Household, answer.Key, answer.Value))
            .ToArray();
        if (answers.Length > 0)
        {
            batch.Add(InsertAnswers,
                [answers.Select(a => a.Household).ToArray(),
                answers.Select(a => a.Key).ToArray(),
                answers.Select(a => a.Value.Fingerprint).ToArray(),
                Json(answers.Select(a => JsonSerializer.SerializeToUtf8Bytes(a.Value.Entry, BookJson.Options)))]);
        }
    }

    private static string MoveOn(string held) => $"""
        with held as materialized (
            select tenant_id, version from {BookTables.Schema}.mt_streams
            where id = '{BookTables.Stream}' and tenant_id = any((select $1)::text[]) order by tenant_id {held})
        update {BookTables.Schema}.mt_streams s set version = k.last, timestamp = now()
        from held, unnest((select $1), (select $2), (select $3)) as k(household, line, last)
        where s.id = '{BookTables.Stream}' and s.tenant_id = k.household and held.tenant_id = k.household and held.version = k.line
        """;

    private static Append[] Of(IReadOnlyList<Append> appends, Func<Append, bool> which) => [.. appends.Where(which)];

    private static string[] Households(IEnumerable<Append> appends) => [.. appends.Select(a => a.Household)];

    private static NpgsqlParameter Json(IEnumerable<byte[]> values) =>
        new() { Value = values.ToArray(), NpgsqlDbType = NpgsqlDbType.Array | NpgsqlDbType.Jsonb };
}

/// <summary>Statements of a batch, each with its values by their places.</summary>
internal static class BatchCommands
{
    /// <summary>Adds a statement. Values come as a list, so that one array is never taken for several.</summary>
    public static void Add(this NpgsqlBatch batch, string sql, ImmutableArray<object> values)
    {
        var command = new NpgsqlBatchCommand(sql);
        foreach (var value in values)
        {
            command.Parameters.Add(value as NpgsqlParameter ?? new NpgsqlParameter { Value = value });
        }

        batch.BatchCommands.Add(command);
    }
}
