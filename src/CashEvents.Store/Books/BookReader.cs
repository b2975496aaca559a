using System.Collections.Immutable;
using System.Data;
using System.Runtime.CompilerServices;
using Marten;
using Npgsql;

namespace CashEvents.Store.Books;

/// <summary>Reads books as they stand, and as they stood.</summary>
public sealed class BookReader(IDocumentStore store, NpgsqlDataSource database)
{
    private const string LastClosings = $"""
        select p.compartment, p.holding, d.day, d.closing
        from unnest($2, $3) as p(compartment, holding)
        cross join lateral (select d.day, d.closing from {BookTables.Schema}.day_closing d
            where d.tenant_id = $1 and d.compartment = p.compartment and d.holding = p.holding and d.day <= $4 order by d.day desc limit 1) d
        """;

    /// <summary>
    /// A household's book at its last line, without daily balances; the empty book when there is none.
    /// </summary>
    public async Task<Book> ReadAsync(string household, CancellationToken cancellation = default)
    {
        return (await ReadPageAsync(household, cancellation).ConfigureAwait(false))?.Book ?? Book.Empty;
    }

    /// <summary>
    /// A household's book at its last line, with when that was written and its hash; null when there is no book.
    /// </summary>
    public async Task<BookPage?> ReadPageAsync(string household, CancellationToken cancellation = default)
    {
        await using var session = store.QuerySession(household);
        return await session.LoadAsync<BookPage>(BookPage.TheOne, cancellation).ConfigureAwait(false);
    }

    /// <summary>
    /// The first and the last line that are stamped later than an instant, beside those of which a line says already
    /// that the clock was ahead; 0 when there are none.
    /// </summary>
    public async Task<(long First, long Last)> StampedAfterAsync(string household, DateTimeOffset instant,
        CancellationToken cancellation = default)
    {
        var book = await ReadAsync(household, cancellation).ConfigureAwait(false);
        await using var command = database.CreateCommand(
            $"select coalesce(min(version), 0), coalesce(max(version), 0) from {BookTables.Schema}.mt_events where "
                + $"tenant_id = $1 and stream_id = '{BookTables.Stream}' and version > $2 and timestamp > $3");
        foreach (var value in new object[] { household, book.LinesAhead?[^1].ToLine ?? 0, instant.UtcDateTime })
        {
            command.Parameters.Add(new NpgsqlParameter { Value = value });
        }

        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        await reader.ReadAsync(cancellation).ConfigureAwait(false);
        return (reader.GetInt64(0), reader.GetInt64(1));
    }

    /// <summary>A household's book at its last line, whole: what is decided on it is what would be written.</summary>
    public async Task<Book> ReadWholeAsync(string household, CancellationToken cancellation = default) =>
        (await BookLoader.LoadAsync(database, household, cancellation).ConfigureAwait(false)).Book;

    /// <summary>
    /// A household's book as it stood, with the balances of the day asked for. A day costs a step down an index for
    /// each place; an earlier line costs a replay of the lines up to it.
    /// </summary>
    /// <exception cref="RefusalException">The book has no such line, or had none at that instant.</exception>
    public async Task<Book> ReadAsync(string household, AsOf asOf, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(asOf);
        if (asOf.IsEarlier)
        {
            var replayed = await ReplayAsync(household,
                await LineAsync(household, asOf, cancellation).ConfigureAwait(false), cancellation)
                .ConfigureAwait(false);
            return asOf.On is { } then ? replayed.OnDay(then) : replayed;
        }

        return asOf.On is { } day
            ? await OnDayAsync(household, day, cancellation).ConfigureAwait(false)
            : await ReadAsync(household, cancellation).ConfigureAwait(false);
    }

    /// <summary>
    /// A household's book as it stood, with who held what on the day asked for. A day, as an earlier line, costs a
    /// replay: who carried how much follows from the order of the lines.
    /// </summary>
    /// <exception cref="RefusalException">The book has no such line, or had none at that instant.</exception>
    public async Task<Book> ReadCustodyAsync(string household, AsOf asOf, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(asOf);
        if (asOf.On is not { } day)
        {
            return await ReadAsync(household, asOf, cancellation).ConfigureAwait(false);
        }

        var upTo = await LineAsync(household, asOf, cancellation).ConfigureAwait(false);
        var (book, held) = (Book.Empty, Book.Empty);
        await foreach (var line in LinesAsync(household, upTo, cancellation).ConfigureAwait(false))
        {
            (book, held) = (book.Apply(line.Event), held.Take(line.Event, day));
        }

        return book.Holding(held);
    }

    /// <summary>
    /// A household's book replayed from its first line, up to one or to the last. Memory follows the book as it is
    /// left, not its lines.
    /// </summary>
    public async Task<Book> ReplayAsync(string household, long? upTo = null, CancellationToken cancellation = default)
    {
        var book = Book.Empty;
        await foreach (var line in LinesAsync(household, upTo, cancellation).ConfigureAwait(false))
        {
            book = book.Apply(line.Event);
        }

        return book;
    }

    /// <summary>The number of the last line to read; null for the book's last.</summary>
    /// <exception cref="RefusalException">The book has no such line, or had none at that instant.</exception>
    public async Task<long?> LineAsync(string household, AsOf asOf, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(asOf);
        if (!asOf.IsEarlier)
        {
            return null;
        }

        await using var batch = database.CreateBatch();
        batch.BatchCommands.Add(new NpgsqlBatchCommand($"select version from {BookTables.Schema}.mt_streams where "
            + $"tenant_id = $1 and id = '{BookTables.Stream}'")
        { Parameters = { new() { Value = household } } });
        if (asOf.At is { } instant)
        {
            batch.BatchCommands.Add(new NpgsqlBatchCommand(
                $"select max(version) from {BookTables.Schema}.mt_events where tenant_id = $1 and stream_id = "
                    + $"'{BookTables.Stream}' and timestamp <= $2")
            { Parameters = { new() { Value = household }, new() { Value = instant.UtcDateTime } } });
        }

        await using var reader = await batch.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        var last = await reader.ReadAsync(cancellation).ConfigureAwait(false) ? reader.GetInt64(0) : 0;
        if (asOf.AtLine is { } asked)
        {
            return asked <= last
                ? asked
                : throw Refusal.NotFound("line-unknown", $"There is no line {asked}: the book's last is {last}.");
        }

        await reader.NextResultAsync(cancellation).ConfigureAwait(false);
        await reader.ReadAsync(cancellation).ConfigureAwait(false);
        return !await reader.IsDBNullAsync(0, cancellation).ConfigureAwait(false)
            ? reader.GetInt64(0)
            : throw Refusal.NotFound("book-not-begun",
                $"The book had no line yet at {asOf.At:yyyy-MM-dd'T'HH:mm:ss'Z'}.");
    }

    internal async IAsyncEnumerable<SaidLine> LinesAsync(
        string household, long? upTo, [EnumeratorCancellation] CancellationToken cancellation)
    {
        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        await foreach (var line in LineReader.StreamAsync(connection, household, 0, upTo ?? long.MaxValue, cancellation)
            .ConfigureAwait(false))
        {
            yield return line;
        }
    }

    private async Task<Book> OnDayAsync(string household, DateOnly day, CancellationToken cancellation)
    {
        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        await using var snapshot =
            await connection.BeginTransactionAsync(IsolationLevel.RepeatableRead, cancellation).ConfigureAwait(false);
        var book = (await BookLoader.PageAsync(store, snapshot, household, cancellation).ConfigureAwait(false))?.Book
            ?? Book.Empty;
        var parts = book.Compartments.Keys.SelectMany(c => Enum.GetValues<Holding>().Select(h => new Part(c, h)))
            .ToList();
        await using var command = new NpgsqlCommand(LastClosings, connection, snapshot);
        foreach (var value in new object[] { household, parts.Select(p => p.Compartment).ToArray(),
            parts.Select(p => Stored.Word(p.Holding)).ToArray(), day })
        {
            command.Parameters.Add(new NpgsqlParameter { Value = value });
        }

        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        var closings = new Dictionary<Part, DailyBalances>();
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            closings.Add(
                new Part(reader.GetString(0), Stored.Read<Holding>(reader.GetString(1))),
                DailyBalances.Of([new DayClosing(reader.GetFieldValue<DateOnly>(2), new(reader.GetInt64(3)))]));
        }

        return book.With(BalancesInBook.Days, closings.ToImmutableDictionary()).OnDay(day);
    }
}
