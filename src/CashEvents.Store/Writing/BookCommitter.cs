using System.Collections.Immutable;
using System.Globalization;
using System.Text.Json;
using JasperFx.Events;
using Marten;
using Microsoft.Extensions.Logging;
using Npgsql;
using NpgsqlTypes;

namespace CashEvents.Store.Writing;

/// <summary>
/// Decides requests against the book and commits their lines, projections and answers in one transaction.
/// </summary>
internal sealed class BookCommitter(IDocumentStore store, NpgsqlDataSource database, TimeProvider clock,
    ClockTrust trust, WritingMeasures measures, ILogger logger)
{
    // Another server on the same database can come between; each time it does, the book is caught up and everything
    // decided again.
    private const int MostConflicts = 50;

    private static readonly IReadOnlyDictionary<string, Answer> NoAnswers = new Dictionary<string, Answer>();

    // Each key is looked up by itself (offset 0 keeps it so): in a young database, without statistics, all answers
    // would be read for one key.
    private const string AnswersOf = $"""
        select a.idempotency_key, a.fingerprint, a.entry from unnest((select $2)) as k(key)
        cross join lateral (select * from {BookTables.Schema}.answer where tenant_id = $1 and idempotency_key = k.key offset 0) a
        """;

    private const string InsertAnswers = $"""
        insert into {BookTables.Schema}.answer (tenant_id, idempotency_key, fingerprint, entry)
        select ?, * from unnest(?, ?, ?::jsonb[])
        """;

    // Once the append holds the book: fails when what this server knows of the book is from before a rebuild that put
    // something right,
    // or when the line it stands at is not the one that it knows, as after a dump was restored under the running
    // program.
    private const string MustKnowTheBook = $"""
        select 1 / (case when coalesce((select (data ->> 'rebuilds')::int from {BookTables.Schema}.mt_doc_bookpage where tenant_id = ? and id = '{BookPage.TheOne}'), 0) = ?
            and coalesce((select headers->>'{LineHash.Header}' from {BookTables.Schema}.mt_events where tenant_id = ? and stream_id = '{BookTables.Stream}' and version = ?), '') = ? then 1 else 0 end)
        """;

    /// <summary>Writes requests that came together.</summary>
    /// <param name="household">Whose book.</param>
    /// <param name="known">The book as last known here; null to read it.</param>
    /// <param name="requests">In the order they came.</param>
    public async Task<(BookPage Page, ImmutableArray<WriteResult> Results)> CommitAsync(string household,
        BookPage? known, ImmutableArray<WriteRequest> requests)
    {
        var keys = requests.SelectMany(r => r.Entries).Select(e => e.IdempotencyKey).OfType<string>().Distinct()
            .ToArray();
        for (var conflicts = 0; ; conflicts++)
        {
            await using var session = store.LightweightSession(household);
            var page = known ?? await BookLoader.LoadAsync(store, database, household).ConfigureAwait(false);
            var answers = NoAnswers;
            if (keys.Length > 0)
            {
                (page, answers) = await RefreshAsync(session, page, keys).ConfigureAwait(false);
            }

            // What looks like a clock that is behind may be a page that is: another server may have said that the clock
            // was ahead.
            if (known is not null && clock.GetUtcNow() < page.WrittenAt)
            {
                (page, answers) = await RefreshAsync(session, page, keys).ConfigureAwait(false);
            }

            var now = Now(page.WrittenAt, requests);
            var decisions = new Decisions(page.Book, now, answers);
            var results = requests.Select(decisions.Decide).ToImmutableArray();

            // Lines are checked against the end of the book when they are appended; a command that writes none must not
            // rest on a book that has moved on either.
            if (keys.Length == 0 && results.Any(r => r.Outcomes.Any(o => o.Entry is not { Lines.IsEmpty: false })))
            {
                (known, _) = await RefreshAsync(session, page, keys).ConfigureAwait(false);
                if (known != page)
                {
                    continue;
                }
            }

            if (decisions.Lines.Count == 0)
            {
                Tell(decisions.Faults);
                return (page, results);
            }

            var hash = await BookLoader.HashAsync(database, household, page).ConfigureAwait(false);
            var written = Append(session, page, hash, decisions, now);
            try
            {
                await measures.CommitAsync(decisions.Lines.Count, () => session.SaveChangesAsync())
                    .ConfigureAwait(false);
                Tell(decisions.Faults);
                return (written, results);
            }
            catch (Exception failure) when (conflicts < MostConflicts
                && Has(failure, PostgresErrorCodes.DivisionByZero))
            {
                TellRereading(household, page);
                known = null;
            }
            catch (Exception failure) when (conflicts < MostConflicts && IsConflict(failure))
            {
                (known, _) = await RefreshAsync(session, page, keys).ConfigureAwait(false);
            }
        }
    }

    private void Tell(IReadOnlyList<(ICommand Command, Exception Fault)> faults)
    {
        foreach (var (command, fault) in faults)
        {
            logger.LogError(fault, "{Command} could not be decided.", command.GetType().Name);
        }
    }

    private DateTimeOffset Now(DateTimeOffset lastWrittenAt, ImmutableArray<WriteRequest> requests)
    {
        var now = clock.GetUtcNow();

        // PostgreSQL keeps microseconds: what is answered now must equal what is read later.
        now = now.AddTicks(-(now.Ticks % TimeSpan.TicksPerMicrosecond));

        // The line that says that the clock was ahead is the one that a clock behind the book may stamp, and all after
        // it are later than it.
        return requests is [{ Entries: [{ Command: SayClockWasAhead }] }] ? now : trust.After(lastWrittenAt, now);
    }

    private static BookPage Append(IDocumentSession session, BookPage known, string hash, Decisions decisions,
        DateTimeOffset now)
    {
        var book = known.Book;
        var events = new List<object>(decisions.Lines.Count);
        foreach (var (line, entryId, by) in decisions.Lines)
        {
            var content = JsonSerializer.SerializeToUtf8Bytes(line, line.GetType(), BookJson.Options);
            hash = LineHash.Of(hash, session.TenantId, book.Line + events.Count + 1, entryId, LineKinds.Of(line), now,
                by, content);
            var @event = session.Events.BuildEvent(line);
            @event.Timestamp = now;
            @event.UserName = by;
            @event.CorrelationId = entryId.ToString(CultureInfo.InvariantCulture);
            @event.SetHeader(LineHash.Header, hash);
            events.Add(@event);
        }

        var page = new BookPage(decisions.Book, now) { Hash = hash, Made = known.Made, Rebuilds = known.Rebuilds };
        session.Events.Append(BookTables.Stream, book.Line + events.Count, events);
        session.QueueSqlCommand(MustKnowTheBook, session.TenantId, known.Rebuilds, session.TenantId, book.Line,
            book.Line == 0 ? "" : known.Hash ?? "");
        session.Store(page);
        if (decisions.NewAnswers.Count > 0)
        {
            session.QueueSqlCommand(
                InsertAnswers, session.TenantId,
                decisions.NewAnswers.Keys.ToArray(),
                decisions.NewAnswers.Values.Select(a => a.Fingerprint).ToArray(),
                decisions.NewAnswers.Values.Select(a => JsonSerializer.Serialize(a.Entry, BookJson.Options)).ToArray());
        }

        return page;
    }

    private static bool Has(Exception failure, string sqlState) =>
        (failure as PostgresException)?.SqlState == sqlState
            || (failure.InnerException is { } inner && Has(inner, sqlState));

    private static bool IsConflict(Exception failure) => failure switch
    {
        EventStreamUnexpectedMaxEventIdException => true,
        PostgresException
        {
            SqlState: PostgresErrorCodes.UniqueViolation or PostgresErrorCodes.DeadlockDetected
            or PostgresErrorCodes.SerializationFailure
        } => true,
        { InnerException: { } inner } => IsConflict(inner),
        _ => false,
    };

    private void TellRereading(string household, BookPage page) => logger.LogWarning(
        "The book of {Household} is not the one that this program knew at line {Line}: it was rebuilt, or the database "
            + "was restored or changed. It is read anew before anything is decided on it.",
        household, page.Book.Line);

    /// <summary>
    /// The book caught up with what other servers have written, or read anew where it is not what was known; and the
    /// answers already given under some idempotency keys.
    /// </summary>
    private async Task<(BookPage Page, IReadOnlyDictionary<string, Answer> Answers)> RefreshAsync(
        IDocumentSession session, BookPage page, string[] keys)
    {
        var (end, answers) = await ReadAsync(session.TenantId, keys).ConfigureAwait(false);
        if (page.StandsAt(end))
        {
            return (page, answers);
        }

        if (end.Line > page.Book.Line
            && await BookLoader.CatchUpAsync(session, page, end.Line).ConfigureAwait(false) is { } caughtUp)
        {
            return (caughtUp, answers);
        }

        TellRereading(session.TenantId, page);
        return (await BookLoader.LoadAsync(store, database, session.TenantId).ConfigureAwait(false), answers);
    }

    private async Task<(BookEnd End, IReadOnlyDictionary<string, Answer> Answers)> ReadAsync(string household,
        string[] keys)
    {
        var answers = new Dictionary<string, Answer>(StringComparer.Ordinal);
        await using var batch = database.CreateBatch();
        batch.BatchCommands.Add(new NpgsqlBatchCommand(BookLoader.EndOf)
        { Parameters = { new() { Value = household } } });
        if (keys.Length > 0)
        {
            batch.BatchCommands.Add(new NpgsqlBatchCommand(AnswersOf)
            {
                Parameters = { new() { Value = household },
                    new() { Value = keys, NpgsqlDbType = NpgsqlDbType.Array | NpgsqlDbType.Text } },
            });
        }

        await using var reader = await batch.ExecuteReaderAsync().ConfigureAwait(false);
        var end = await BookLoader.EndAsync(reader).ConfigureAwait(false);
        if (await reader.NextResultAsync().ConfigureAwait(false))
        {
            while (await reader.ReadAsync().ConfigureAwait(false))
            {
                var entry = JsonSerializer.Deserialize<Entry>(reader.GetString(2), BookJson.Options)!;
                answers.Add(reader.GetString(0), new Answer(reader.GetFieldValue<byte[]>(1), entry));
            }
        }

        return (end, answers);
    }
}
