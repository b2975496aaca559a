using System.Data;
using Marten;
using Npgsql;

namespace CashEvents.Store.Months;

/// <summary>A row of a compartment's sheet.</summary>
/// <param name="Line">The line it comes from.</param>
/// <param name="OccurredOn">The day.</param>
/// <param name="Kind">The line's kind.</param>
/// <param name="Holding">Cash or bank.</param>
/// <param name="Description">What was written beside it.</param>
/// <param name="Amount">In is positive, out negative.</param>
/// <param name="Balance">After this row.</param>
public sealed record TrackerRow(long Line, DateOnly OccurredOn, string Kind, Holding Holding, string Description,
    Money Amount, Money Balance)
{
    /// <summary>The earlier line that its line undoes or stands in the stead of.</summary>
    public long? Corrects { get; init; }

    /// <summary>The reversal that undoes its line, by what was known at the book's line.</summary>
    public long? ReversedBy { get; init; }

    /// <summary>The line that stands in its line's stead, by what was known at the book's line.</summary>
    public long? AmendedBy { get; init; }
}

/// <summary>A compartment's sheet for some days.</summary>
/// <param name="Opening">Balance before the first of them.</param>
/// <param name="Rows">In date order; within a day as written.</param>
/// <param name="Closing">Balance after the last of them.</param>
/// <param name="BookLine">The line at which the book stood when it was read.</param>
public sealed record Tracker(Money Opening, IReadOnlyList<TrackerRow> Rows, Money Closing, long BookLine);

/// <summary>Reads tracker sheets. The work follows the rows on the sheet, not the length of the book.</summary>
public sealed class TrackerReader(IDocumentStore store, NpgsqlDataSource database)
{
    private const string Row =
        "t.line, t.occurred_on, t.kind, t.holding, t.description, t.amount, l.corrects, l.reversed_by, l.amended_by";

    // What corrects a row's line is looked up by its number (offset 0 keeps it so): with statistics of a book that is
    // not long, PostgreSQL would read all its lines for one sheet.
    private const string Corrections = $"""
        left join lateral (select corrects, reversed_by, amended_by from {BookTables.Schema}.line where tenant_id = t.tenant_id and line = t.line offset 0) l on true
        """;

    // Rows are only ever added, so those up to a line are what the sheet was when the book stood there.
    internal const string RowsSince = $"""
        select {Row} from {BookTables.Schema}.tracker_row t
        {Corrections}
        where t.tenant_id = $1 and t.compartment = $2 and t.holding is not null and t.occurred_on >= $3 and t.line <= $4
        order by t.occurred_on, t.line, t.leg limit $5
        """;

    // One statement, so that opening, rows and line number come from one moment.
    internal const string Sheet = $"""
        select o.opening, s.version, {Row}
        from (select coalesce(sum(
                (select d.closing from {BookTables.Schema}.day_closing d
                 where d.tenant_id = $1 and d.compartment = $2 and d.holding = h.holding and d.day < $4
                 order by d.day desc limit 1)), 0)::bigint as opening
              from unnest($3) as h(holding)) o
        cross join (select version from {BookTables.Schema}.mt_streams where tenant_id = $1 and id = '{BookTables.Stream}') s
        left join {BookTables.Schema}.tracker_row t
            on t.tenant_id = $1 and t.compartment = $2 and t.holding = any($3) and t.occurred_on >= $4 and t.occurred_on <= $5
        {Corrections}
        order by t.occurred_on, t.line, t.leg
        """;

    // As it stood at an earlier line: what was written since is left out, and what came before the sheet is added up
    // anew.
    internal const string EarlierSheet = $"""
        select o.opening, $6, {Row}
        from (select coalesce(sum(b.amount), 0)::bigint as opening from {BookTables.Schema}.tracker_row b
              where b.tenant_id = $1 and b.compartment = $2 and b.holding = any($3) and b.occurred_on < $4 and b.line <= $6) o
        left join {BookTables.Schema}.tracker_row t
            on t.tenant_id = $1 and t.compartment = $2 and t.holding = any($3) and t.occurred_on >= $4 and t.occurred_on <= $5 and t.line <= $6
        {Corrections}
        order by t.occurred_on, t.line, t.leg
        """;

    /// <summary>A compartment's sheet from one day to another, for one holding or both together.</summary>
    /// <param name="household">Whose book.</param>
    /// <param name="compartment">The compartment's id.</param>
    /// <param name="holding">One holding; both if null.</param>
    /// <param name="from">First day.</param>
    /// <param name="to">Last day; before the first for a sheet without rows.</param>
    /// <param name="upTo">As this line left it; null for the book's last.</param>
    /// <param name="cancellation">Gives up.</param>
    public async Task<Tracker> ReadAsync(
        string household, string compartment, Holding? holding, DateOnly from, DateOnly to, long? upTo = null,
        CancellationToken cancellation = default)
    {
        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        return await ReadAsync(connection, household, compartment, holding, from, to, upTo, cancellation)
            .ConfigureAwait(false);
    }

    /// <summary>
    /// A compartment's sheet for the days that are asked for when the book is seen, with that book: its line,
    /// compartments and household, without daily balances. Both are from one moment.
    /// </summary>
    /// <param name="household">Whose book.</param>
    /// <param name="compartment">The compartment's id.</param>
    /// <param name="holding">One holding; both if null.</param>
    /// <param name="ask">First and last day, given the book.</param>
    /// <param name="upTo">As this line left it; null for the book's last.</param>
    /// <param name="cancellation">Gives up.</param>
    public async Task<(Book Book, Tracker Sheet)> ReadAsync(
        string household, string compartment, Holding? holding, Func<Book, (DateOnly From, DateOnly To)> ask,
        long? upTo, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(ask);
        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        await using var snapshot =
            await connection.BeginTransactionAsync(IsolationLevel.RepeatableRead, cancellation).ConfigureAwait(false);
        var book = (await BookLoader.PageAsync(store, snapshot, household, cancellation).ConfigureAwait(false))?.Book
            ?? Book.Empty;
        var (from, to) = ask(book);
        return (book, await ReadAsync(connection, household, compartment, holding, from, to, upTo, cancellation)
            .ConfigureAwait(false));
    }

    /// <summary>
    /// The sheets of several compartments for the days that are asked for when the book is seen, with that book, all
    /// from one moment. Each costs what it does alone.
    /// </summary>
    /// <param name="household">Whose book.</param>
    /// <param name="holding">One holding; both if null.</param>
    /// <param name="ask">Which compartments, and the first and last day, given the book.</param>
    /// <param name="cancellation">Gives up.</param>
    public async Task<(Book Book, IReadOnlyList<Tracker> Sheets)> ReadAllAsync(string household, Holding? holding,
        Func<Book, (IReadOnlyList<string> Compartments, DateOnly From, DateOnly To)> ask,
        CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(ask);
        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        await using var snapshot =
            await connection.BeginTransactionAsync(IsolationLevel.RepeatableRead, cancellation).ConfigureAwait(false);
        var book = (await BookLoader.PageAsync(store, snapshot, household, cancellation).ConfigureAwait(false))?.Book
            ?? Book.Empty;
        var (compartments, from, to) = ask(book);
        var sheets = new List<Tracker>();
        foreach (var compartment in compartments)
        {
            sheets.Add(await ReadAsync(connection, household, compartment, holding, from, to, null, cancellation)
                .ConfigureAwait(false));
        }

        return (book, sheets);
    }

    private static async Task<Tracker> ReadAsync(
        NpgsqlConnection connection, string household, string compartment, Holding? holding, DateOnly from, DateOnly to,
        long? upTo, CancellationToken cancellation)
    {
        await using var command = new NpgsqlCommand(upTo is null ? Sheet : EarlierSheet, connection);
        var holdings = holding is { } one ? [one] : Enum.GetValues<Holding>();
        foreach (var value in new object?[] { household, compartment, holdings.Select(Stored.Word).ToArray(), from, to,
            upTo }.OfType<object>())
        {
            command.Parameters.Add(new NpgsqlParameter { Value = value });
        }

        var opening = Money.Zero;
        var balance = Money.Zero;
        var line = 0L;
        var rows = new List<TrackerRow>();
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            if (rows.Count == 0)
            {
                opening = balance = new Money(reader.GetInt64(0));
                line = reader.GetInt64(1);
            }

            if (!await reader.IsDBNullAsync(2, cancellation).ConfigureAwait(false))
            {
                rows.Add(RowAt(reader, 2, balance, line));
                balance = rows[^1].Balance;
            }
        }

        return new Tracker(opening, rows, balance, line);
    }

    /// <summary>
    /// The first rows of a compartment's sheet, both holdings together, from a day on, as they were when the book stood
    /// at a line.
    /// </summary>
    /// <param name="household">Whose book.</param>
    /// <param name="compartment">The compartment's id.</param>
    /// <param name="from">The first day.</param>
    /// <param name="opening">The balance before that day.</param>
    /// <param name="line">The book's line.</param>
    /// <param name="limit">At most so many rows.</param>
    /// <param name="cancellation">Given up by who asked.</param>
    public async Task<IReadOnlyList<TrackerRow>> ReadSinceAsync(
        string household, string compartment, DateOnly from, Money opening, long line, int limit,
        CancellationToken cancellation = default)
    {
        await using var command = database.CreateCommand(RowsSince);
        foreach (var value in new object[] { household, compartment, from, line, limit })
        {
            command.Parameters.Add(new NpgsqlParameter { Value = value });
        }

        var rows = new List<TrackerRow>();
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            rows.Add(RowAt(reader, 0, rows.Count > 0 ? rows[^1].Balance : opening, line));
        }

        return rows;
    }

    // What corrects a line was not known yet when the book stood before it.
    private static TrackerRow RowAt(NpgsqlDataReader reader, int first, Money before, long bookLine)
    {
        long? Line(int at) => reader.IsDBNull(first + at) || reader.GetInt64(first + at) > bookLine
            ? null
            : reader.GetInt64(first + at);
        var amount = new Money(reader.GetInt64(first + 5));
        return new TrackerRow(
            reader.GetInt64(first), reader.GetFieldValue<DateOnly>(first + 1), reader.GetString(first + 2),
            Stored.Read<Holding>(reader.GetString(first + 3)),
            reader.GetString(first + 4), amount, before + amount)
        {
            Corrects = Line(6),
            ReversedBy = Line(7),
            AmendedBy = Line(8),
        };
    }
}
