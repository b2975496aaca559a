using System.Collections.Immutable;
using System.Globalization;
using System.Runtime.CompilerServices;
using System.Text;
using System.Text.Json;
using Npgsql;

namespace CashEvents.Store.Books;

/// <summary>Which lines to read; what is left out does not narrow.</summary>
/// <param name="After">Only lines after this number.</param>
/// <param name="Limit">At most so many, from 1.</param>
/// <param name="Kind">Only of this kind.</param>
/// <param name="Compartment">Only about this compartment.</param>
/// <param name="By">Only written by the key of this name.</param>
/// <param name="From">Only what occurred on this day or later.</param>
/// <param name="To">Only what occurred on this day or earlier.</param>
public sealed record LineFilter(
    long After, int Limit, string? Kind = null, string? Compartment = null, string? By = null, DateOnly? From = null,
    DateOnly? To = null);

/// <summary>Reads the book itself, in the order it was written.</summary>
public sealed class LineReader(NpgsqlDataSource database)
{
    private const string Columns =
        $"e.version, e.correlation_id, e.timestamp, e.user_name, e.type, e.data, l.reversed_by, l.amended_by, "
            + $"e.headers->>'{LineHash.Header}'";

    // What was written in each line that was chosen is looked up by its number (offset 0 keeps it so): a young database
    // has no statistics yet, and would
    // compare all lines with all.
    internal const string Written = $"""
        cross join lateral (select * from {BookTables.Schema}.mt_events where tenant_id = l.tenant_id and stream_id = '{BookTables.Stream}' and version = l.line offset 0) e
        """;

    private const string Settles =
        $"select occurred_on from {BookTables.Schema}.line where tenant_id = l.tenant_id and line = (e.data ->> "
            + $"'count')::bigint offset 0";

    // A settlement belongs to the day of its count, and so does what undoes it.
    internal const string LateCorrections = $"""
        select e.type, e.data, l.line, c.occurred_on from {BookTables.Schema}.line l
        {Written}
        left join lateral ({Settles}) c on true
        where l.tenant_id = $1 and l.corrects is not null and (e.data -> 'corrects' ->> 'closedDay' is not null or c.occurred_on < l.occurred_on)
        union all
        select e.type, e.data, l.line, c.occurred_on from {BookTables.Schema}.line l
        {Written}
        cross join lateral ({Settles}) c
        where l.tenant_id = $1 and l.kind = 'settlement' and c.occurred_on < l.occurred_on
        order by 3
        """;

    /// <summary>Lines in order of their numbers.</summary>
    public async Task<IReadOnlyList<BookLine>> ReadAsync(string household, LineFilter filter,
        CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(filter);
        await using var command = database.CreateCommand();
        // A compartment's lines are found by its own rows, so that a rare one is not looked for in all the others'
        // lines.
        var about = filter.Compartment is null ? "" : $"""
            join (select distinct line from {BookTables.Schema}.tracker_row
                  where tenant_id = {Parameter(household)} and compartment = {Parameter(filter.Compartment)} and line > {Parameter(filter.After)}) t on t.line = l.line
            """;
        var sql = new StringBuilder($"""
            select {Columns} from {BookTables.Schema}.line l {about}
            {Written}
            where l.tenant_id = {Parameter(household)} and l.line > {Parameter(filter.After)}
            """);
        Narrow("l.kind =", filter.Kind);
        Narrow("l.written_by =", filter.By);
        Narrow("l.occurred_on >=", filter.From);
        Narrow("l.occurred_on <=", filter.To);
        sql.Append(CultureInfo.InvariantCulture, $" order by l.line limit {Parameter(filter.Limit)}");
        command.CommandText = sql.ToString();
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        var lines = new List<BookLine>();
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            lines.Add(Line(reader));
        }

        return lines;

        string Parameter(object value)
        {
            command.Parameters.Add(new NpgsqlParameter { Value = value });
            return $"${command.Parameters.Count}";
        }

        void Narrow(string condition, object? value)
        {
            if (value is not null)
            {
                sql.Append(CultureInfo.InvariantCulture, $" and {condition} {Parameter(value)}");
            }
        }
    }

    /// <summary>The lines of some numbers, in order; numbers that the book does not have are left out.</summary>
    public async Task<IReadOnlyList<BookLine>> ReadAsync(string household, IEnumerable<long> numbers,
        CancellationToken cancellation = default)
    {
        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        return await ReadAsync(connection, household, numbers, cancellation).ConfigureAwait(false);
    }

    internal static async Task<IReadOnlyList<BookLine>> ReadAsync(NpgsqlConnection connection, string household,
        IEnumerable<long> numbers, CancellationToken cancellation)
    {
        await using var command = new NpgsqlCommand($"""
            select {Columns} from {BookTables.Schema}.mt_events e
            left join {BookTables.Schema}.line l on l.tenant_id = e.tenant_id and l.line = e.version
            where e.tenant_id = $1 and e.stream_id = '{BookTables.Stream}' and e.version = any($2)
            order by e.version
            """, connection)
        { Parameters = { new() { Value = household }, new() { Value = numbers.ToArray() } } };
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        var lines = new List<BookLine>();
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            lines.Add(Line(reader));
        }

        return lines;
    }

    /// <summary>
    /// The lines after one number up to another, in order, one at a time: memory does not grow with the book.
    /// </summary>
    internal static async IAsyncEnumerable<SaidLine> StreamAsync(
        NpgsqlConnection connection, string household, long after, long upTo,
        [EnumeratorCancellation] CancellationToken cancellation)
    {
        // A long book takes the time it takes.
        await using var command = new NpgsqlCommand($"""
            select e.version, e.user_name, e.type, e.data
            from {BookTables.Schema}.mt_events e
            where e.tenant_id = $1 and e.stream_id = '{BookTables.Stream}' and e.version > $2 and e.version <= $3
            order by e.version
            """, connection)
        {
            CommandTimeout = 0,
            Parameters =
            { new() { Value = household }, new() { Value = after }, new() { Value = upTo } }
        };
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            var kind = reader.GetString(2);
            yield return Said(reader.GetInt64(0), kind, reader.GetString(1), reader.GetFieldValue<byte[]>(3));
        }
    }

    /// <summary>What occurred on some days, in date order; within a day as written.</summary>
    internal static async Task<IReadOnlyList<BookLine>> ReadDatedAsync(NpgsqlConnection connection, string household,
        DateOnly from, DateOnly to, CancellationToken cancellation)
    {
        await using var command = new NpgsqlCommand($"""
            select {Columns} from {BookTables.Schema}.line l
            {Written}
            where l.tenant_id = $1 and l.occurred_on >= $2 and l.occurred_on <= $3
            order by l.occurred_on, l.line
            """, connection)
        { Parameters = { new() { Value = household }, new() { Value = from }, new() { Value = to } } };
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        var lines = new List<BookLine>();
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            lines.Add(Line(reader));
        }

        return lines;
    }

    /// <summary>What corrections of closed months and settlements change late, in the order of their lines.</summary>
    internal static async Task<ImmutableList<LateCorrection>> ReadLateCorrectionsAsync(NpgsqlDataReader reader,
        CancellationToken cancellation)
    {
        var late = ImmutableList.CreateBuilder<LateCorrection>();
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            var movement = (IMovement)Event(reader.GetFieldValue<byte[]>(1), reader.GetString(0));
            var countedOn = reader.IsDBNull(3) ? (DateOnly?)null : reader.GetFieldValue<DateOnly>(3);
            if ((countedOn ?? movement.Corrects?.ClosedDay) is { } belongsTo)
            {
                late.AddRange(LateCorrection.Of(reader.GetInt64(2), movement, belongsTo));
            }
        }

        return late.ToImmutable();
    }

    /// <summary>The latest of what occurred up to a day, in date order; within a day as written.</summary>
    /// <param name="household">Whose book.</param>
    /// <param name="day">The day.</param>
    /// <param name="line">Only lines up to this number.</param>
    /// <param name="limit">At most so many.</param>
    /// <param name="cancellation">Gives up.</param>
    public async Task<IReadOnlyList<BookLine>> ReadUpToAsync(string household, DateOnly day, long line, int limit,
        CancellationToken cancellation = default)
    {
        await using var command = database.CreateCommand($"""
            select {Columns}
            from (select * from {BookTables.Schema}.line where tenant_id = $1 and occurred_on <= $2 and line <= $3 order by occurred_on desc, line desc limit $4) l
            {Written}
            order by l.occurred_on desc, l.line desc
            """);
        foreach (var value in new object[] { household, day, line, limit })
        {
            command.Parameters.Add(new NpgsqlParameter { Value = value });
        }

        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        var lines = new List<BookLine>();
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            lines.Add(Line(reader));
        }

        lines.Reverse();
        return lines;
    }

    /// <summary>One line; null when the book has none of that number.</summary>
    public async Task<BookLine?> FindAsync(string household, long number, CancellationToken cancellation = default)
    {
        // No book is longer, and Marten's column is no wider.
        if (number is < 1 or > int.MaxValue)
        {
            return null;
        }

        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        return await FindAsync(connection, household, number, cancellation).ConfigureAwait(false);
    }

    internal static async Task<BookLine?> FindAsync(NpgsqlConnection connection, string household, long number,
        CancellationToken cancellation)
    {
        await using var command = new NpgsqlCommand($"""
            select {Columns} from {BookTables.Schema}.mt_events e
            left join {BookTables.Schema}.line l on l.tenant_id = e.tenant_id and l.line = e.version
            where e.tenant_id = $1 and e.stream_id = '{BookTables.Stream}' and e.version = $2
            """, connection)
        { Parameters = { new() { Value = household }, new() { Value = number } } };
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        return await reader.ReadAsync(cancellation).ConfigureAwait(false) ? Line(reader) : null;
    }

    private static BookLine Line(NpgsqlDataReader reader) => Said(reader) with
    {
        ReversedBy = reader.IsDBNull(6) ? null : reader.GetInt64(6),
        AmendedBy = reader.IsDBNull(7) ? null : reader.GetInt64(7),
        Hash = reader.IsDBNull(8) ? null : reader.GetString(8),
    };

    private static BookLine Said(NpgsqlDataReader reader) => new(
        reader.GetInt64(0),
        long.Parse(reader.GetString(1), CultureInfo.InvariantCulture),
        new DateTimeOffset(reader.GetDateTime(2)),
        reader.GetString(3),
        Event(reader.GetFieldValue<byte[]>(5), reader.GetString(4)));

    /// <summary>What a line says, from what its row has.</summary>
    internal static SaidLine Said(long number, string kind, string by, ReadOnlySpan<byte> json) =>
        new(number, kind, by, Event(json, kind));

    private static IBookEvent Event(ReadOnlySpan<byte> json, string kind) =>
        (IBookEvent)JsonSerializer.Deserialize(json, LineKinds.Types[kind], BookJson.Options)!;
}
