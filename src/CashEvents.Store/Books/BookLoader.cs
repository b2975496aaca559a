using System.Collections.Immutable;
using System.Data;
using JasperFx.Events;
using Marten;
using Marten.Services;
using Npgsql;

namespace CashEvents.Store.Books;

/// <summary>Brings a book into memory.</summary>
internal static class BookLoader
{
    /// <summary>
    /// The book as the database has it: its page and what stands in tables beside it, read from one snapshot.
    /// </summary>
    public static async Task<BookPage> LoadAsync(IDocumentStore store, NpgsqlDataSource database, string household,
        CancellationToken cancellation = default)
    {
        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        await using var snapshot =
            await connection.BeginTransactionAsync(IsolationLevel.RepeatableRead, cancellation).ConfigureAwait(false);
        var page = await PageAsync(store, snapshot, household, cancellation).ConfigureAwait(false) ?? BookPage.Blank;
        var end = await EndAsync(connection, household, cancellation).ConfigureAwait(false);
        if (!page.StandsAt(end))
        {
            throw BookMisfitException.Of(page, end);
        }

        return page.Book.Line == 0
            ? page
            : page with
            {
                Book = await WithItsTablesAsync(page.Book, household, connection, cancellation)
                .ConfigureAwait(false)
            };
    }

    /// <summary>
    /// The book's page as a snapshot has it, for readers that have more to read from the same moment; null when the
    /// household has no book.
    /// </summary>
    public static async Task<BookPage?> PageAsync(IDocumentStore store, NpgsqlTransaction snapshot, string household,
        CancellationToken cancellation)
    {
        var options = SessionOptions.ForTransaction(snapshot);
        options.TenantId = household;
        await using var session = store.QuerySession(options);
        return await session.LoadAsync<BookPage>(BookPage.TheOne, cancellation).ConfigureAwait(false);
    }

    // What grows with the book stands beside its page.
    private static async Task<Book> WithItsTablesAsync(Book book, string household, NpgsqlConnection connection,
        CancellationToken cancellation)
    {
        var lateCorrections = await LineReader.ReadLateCorrectionsAsync(connection, household, cancellation)
            .ConfigureAwait(false);
        await using var batch = new NpgsqlBatch(connection)
        {
            BatchCommands =
            {
                Of($"select compartment, holding, day, closing from {BookTables.Schema}.day_closing where tenant_id = "
                    + $"$1 order by compartment, holding, day"),
                Of($"select line, corrects, kind from {BookTables.Schema}.line where tenant_id = $1 and corrects is "
                    + $"not null order by line"),
                Of($"select compartment, from_day, amount, line from {BookTables.Schema}.planned_amount where "
                    + $"tenant_id = $1 order by compartment, from_day"),
                Of(FillRunReader.Sql),
                Of(CameInReader.Sql),
            },
        };
        var days = new Dictionary<Part, List<DayClosing>>();
        var corrections = new List<(long Line, long Corrects, bool Undoes)>();
        var plan = new List<(string Compartment, PlannedAmount Amount)>();
        await using var reader = await batch.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            var part = new Part(reader.GetString(0), Stored.Read<Holding>(reader.GetString(1)));
            if (!days.TryGetValue(part, out var closings))
            {
                days.Add(part, closings = []);
            }

            closings.Add(new DayClosing(reader.GetFieldValue<DateOnly>(2), new(reader.GetInt64(3))));
        }

        await reader.NextResultAsync(cancellation).ConfigureAwait(false);
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            corrections.Add((reader.GetInt64(0), reader.GetInt64(1), reader.GetString(2)
                == LineKinds.Names[typeof(Reversed)]));
        }

        await reader.NextResultAsync(cancellation).ConfigureAwait(false);
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            plan.Add((reader.GetString(0),
                new PlannedAmount(reader.GetFieldValue<DateOnly>(1), new(reader.GetInt64(2)), reader.GetInt64(3))));
        }

        await reader.NextResultAsync(cancellation).ConfigureAwait(false);
        var fillRuns = await FillRunReader.ReadAsync(reader, cancellation).ConfigureAwait(false);
        await reader.NextResultAsync(cancellation).ConfigureAwait(false);
        var cameIn = await CameInReader.ReadAsync(reader, cancellation).ConfigureAwait(false);
        return book
            .With(BalancesInBook.Days, days.ToImmutableDictionary(d => d.Key, d => DailyBalances.Of(d.Value)))
            .With(BalancesInBook.Corrections, CorrectedLines.Of(corrections))
            .With(BalancesInBook.LateCorrections, lateCorrections)
            .With(PlansInBook.Plan, Plan.Of(plan))
            .With(PaydaysInBook.FillRuns, fillRuns)
            .With(MovementsInBook.CameIn, cameIn);

        NpgsqlBatchCommand Of(string sql) => new(sql) { Parameters = { new() { Value = household } } };
    }

    /// <summary>Takes the household; the number and hash of the last line by the lines themselves.</summary>
    public static string EndOf { get; } = $"""
        select s.version, e.headers->>'{LineHash.Header}' from {BookTables.Schema}.mt_streams s
        left join {BookTables.Schema}.mt_events e on e.tenant_id = s.tenant_id and e.stream_id = s.id and e.version = s.version
        where s.tenant_id = $1 and s.id = '{BookTables.Stream}'
        """;

    /// <summary>Reads what <see cref="EndOf"/> found.</summary>
    public static async Task<BookEnd> EndAsync(NpgsqlDataReader reader, CancellationToken cancellation = default) =>
        await reader.ReadAsync(cancellation).ConfigureAwait(false)
            ? new BookEnd(reader.GetInt64(0), reader.IsDBNull(1) ? null : reader.GetString(1))
            : default;

    /// <summary>
    /// A known book with the lines that were written since. Null when the line it stands at is not there any more, or
    /// says something else: the lines of
    /// another history must not be taken for what followed.
    /// </summary>
    public static async Task<BookPage?> CatchUpAsync(IQuerySession session, BookPage page, long line)
    {
        var known = page.Book.Line;
        var lines = await session.Events.FetchStreamAsync(BookTables.Stream, version: line,
            fromVersion: Math.Max(known, 1)).ConfigureAwait(false);
        if (lines.Count != line - Math.Max(known, 1) + 1 || (known > 0 && HashOf(lines[0]) != page.Hash))
        {
            return null;
        }

        return new BookPage(lines.Skip(known > 0 ? 1 : 0)
            .Aggregate(page.Book, (book, e) => book.Apply((IBookEvent)e.Data)), lines[^1].Timestamp)
        {
            Hash = HashOf(lines[^1]),
            Made = page.Made,
            Rebuilds = page.Rebuilds,
        };

        static string? HashOf(IEvent line) => line.GetHeader(LineHash.Header)?.ToString();
    }

    private static async Task<BookEnd> EndAsync(NpgsqlConnection connection, string household,
        CancellationToken cancellation)
    {
        await using var command = new NpgsqlCommand(EndOf, connection) { Parameters = { new() { Value = household } } };
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        return await EndAsync(reader, cancellation).ConfigureAwait(false);
    }

    /// <summary>
    /// The hash of a known book's last line. Lines written before lines had a hash are walked for it, once.
    /// </summary>
    public static async Task<string> HashAsync(NpgsqlDataSource database, string household, BookPage page)
    {
        if (page.Hash is { } known)
        {
            return known;
        }

        await using var connection = await database.OpenConnectionAsync().ConfigureAwait(false);
        var hash = LineHash.BeforeFirst;
        await foreach (var line in StoredLine.ReadAsync(connection, household, page.Book.Line, CancellationToken.None)
            .ConfigureAwait(false))
        {
            hash = line.Hash ?? line.HashAfter(hash, household)
                ?? throw new InvalidOperationException($"Line {line.Number} of the book of {household} says what no "
                    + $"line of a book can say.");
        }

        return hash;
    }
}
