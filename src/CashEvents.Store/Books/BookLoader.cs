using System.Collections.Immutable;
using System.Data;
using System.Text.Json;
using Marten;
using Marten.Services;
using Npgsql;

namespace CashEvents.Store.Books;

/// <summary>Brings a book into memory.</summary>
internal static class BookLoader
{
    // What grows with the book stands beside its page. Each takes the household.
    private static readonly string[] _statements =
    [
        $"select data from {BookTables.Schema}.mt_doc_bookpage where tenant_id = $1 and id = '{BookPage.TheOne}'",
        EndOf,
        LineReader.LateCorrections,
        $"select compartment, holding, day, closing from {BookTables.Schema}.day_closing where tenant_id = $1 "
            + "order by compartment, holding, day",
        $"select line, corrects, kind from {BookTables.Schema}.line where tenant_id = $1 and corrects is not null "
            + "order by line",
        $"select compartment, from_day, amount, line from {BookTables.Schema}.planned_amount where tenant_id = $1 "
            + "order by compartment, from_day",
        FillRunReader.Sql,
        CameInReader.Sql,
    ];

    /// <summary>
    /// The book as the database has it: its page and what stands in tables beside it, read from one snapshot.
    /// </summary>
    /// <exception cref="BookMisfitException">The page is not of the book's lines.</exception>
    public static async Task<BookPage> LoadAsync(NpgsqlDataSource database, string household,
        CancellationToken cancellation = default) =>
        (await LoadAsync(database, [household], cancellation).ConfigureAwait(false))[0];

    /// <summary>Some books, in one round trip. One that can't be read fails them all.</summary>
    /// <exception cref="BookMisfitException">A page is not of its book's lines.</exception>
    public static async Task<IReadOnlyList<BookPage>> LoadAsync(NpgsqlDataSource database,
        IReadOnlyList<string> households, CancellationToken cancellation = default)
    {
        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        await using var snapshot =
            await connection.BeginTransactionAsync(IsolationLevel.RepeatableRead, cancellation).ConfigureAwait(false);
        await using var batch = new NpgsqlBatch(connection, snapshot);
        foreach (var household in households)
        {
            Array.ForEach(_statements, sql => batch.Add(sql, [household]));
        }

        await using var reader = await batch.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        var pages = new List<BookPage>();
        while (pages.Count < households.Count)
        {
            pages.Add(await ReadAsync(reader, cancellation).ConfigureAwait(false));
            await reader.NextResultAsync(cancellation).ConfigureAwait(false);
        }

        return pages;
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

    private static async Task<BookPage> ReadAsync(NpgsqlDataReader reader, CancellationToken cancellation)
    {
        var page = await reader.ReadAsync(cancellation).ConfigureAwait(false)
            ? JsonSerializer.Deserialize<BookPage>(reader.GetString(0), BookJson.Options)!
            : BookPage.Blank;
        await reader.NextResultAsync(cancellation).ConfigureAwait(false);
        var end = await EndAsync(reader, cancellation).ConfigureAwait(false);
        if (!page.StandsAt(end))
        {
            throw BookMisfitException.Of(page, end);
        }

        await reader.NextResultAsync(cancellation).ConfigureAwait(false);
        var book = await WithItsTablesAsync(page.Book, reader, cancellation).ConfigureAwait(false);
        return page.Book.Line == 0 ? page : page with { Book = book };
    }

    private static async Task<Book> WithItsTablesAsync(Book book, NpgsqlDataReader reader,
        CancellationToken cancellation)
    {
        var lateCorrections = await LineReader.ReadLateCorrectionsAsync(reader, cancellation).ConfigureAwait(false);
        await reader.NextResultAsync(cancellation).ConfigureAwait(false);
        var days = new Dictionary<Part, List<DayClosing>>();
        var corrections = new List<(long Line, long Corrects, bool Undoes)>();
        var plan = new List<(string Compartment, PlannedAmount Amount)>();
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
    }

    // The number and hash of the last line by the lines themselves.
    private const string EndOf = $"""
        select s.version, e.headers->>'{LineHash.Header}' from {BookTables.Schema}.mt_streams s
        left join {BookTables.Schema}.mt_events e on e.tenant_id = s.tenant_id and e.stream_id = s.id and e.version = s.version
        where s.tenant_id = $1 and s.id = '{BookTables.Stream}'
        """;

    private static async Task<BookEnd> EndAsync(NpgsqlDataReader reader, CancellationToken cancellation) =>
        await reader.ReadAsync(cancellation).ConfigureAwait(false)
            ? new BookEnd(reader.GetInt64(0), reader.IsDBNull(1) ? null : reader.GetString(1))
            : default;

    /// <summary>Takes the household and a number: the line of that number and all after it, in order.</summary>
    public const string LinesFrom = $"""
        select e.version, e.user_name, e.type, e.data, e.timestamp, e.headers->>'{LineHash.Header}'
        from {BookTables.Schema}.mt_events e
        where e.tenant_id = $1 and e.stream_id = '{BookTables.Stream}' and e.version >= $2 and not e.is_archived
        order by e.version
        """;

    /// <summary>
    /// A known book with the lines that were written since, as <see cref="LinesFrom"/> found them from the line that it
    /// stands at. Null when that line is not there any more, or says something else: the lines of another history must
    /// not be taken for what followed.
    /// </summary>
    public static async Task<BookPage?> CatchUpAsync(NpgsqlDataReader reader, BookPage page)
    {
        if (page.Book.Line > 0 && (!await reader.ReadAsync().ConfigureAwait(false)
            || reader.GetInt64(0) != page.Book.Line || Hash() != page.Hash))
        {
            return null;
        }

        while (await reader.ReadAsync().ConfigureAwait(false))
        {
            var line = LineReader.Said(reader.GetInt64(0), reader.GetString(2), reader.GetString(1),
                reader.GetFieldValue<byte[]>(3));
            if (line.Number != page.Book.Line + 1)
            {
                return null;
            }

            page = page with
            {
                Book = page.Book.Apply(line.Event),
                WrittenAt = new DateTimeOffset(reader.GetDateTime(4)),
                Hash = Hash(),
            };
        }

        return page;

        string? Hash() => reader.IsDBNull(5) ? null : reader.GetString(5);
    }

    /// <summary>The same, read now.</summary>
    public static async Task<BookPage?> CatchUpAsync(NpgsqlDataSource database, string household, BookPage page)
    {
        await using var command = database.CreateCommand(LinesFrom);
        command.Parameters.Add(new NpgsqlParameter { Value = household });
        command.Parameters.Add(new NpgsqlParameter { Value = page.Book.Line });
        await using var reader = await command.ExecuteReaderAsync().ConfigureAwait(false);
        return await CatchUpAsync(reader, page).ConfigureAwait(false);
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
