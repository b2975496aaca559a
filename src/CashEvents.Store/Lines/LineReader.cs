using System.Globalization;
using System.Text;
using System.Text.Json;
using CashEvents.Domain.Books;
using CashEvents.Store.Books;
using Npgsql;

namespace CashEvents.Store.Lines;

/// <summary>Which lines to read; what is left out does not narrow.</summary>
/// <param name="After">Only lines after this number.</param>
/// <param name="Limit">At most so many, from 1.</param>
/// <param name="Kind">Only of this kind.</param>
/// <param name="Compartment">Only about this compartment.</param>
/// <param name="By">Only written by the key of this name.</param>
/// <param name="From">Only what occurred on this day or later.</param>
/// <param name="To">Only what occurred on this day or earlier.</param>
public sealed record LineFilter(
    long After, int Limit, string? Kind = null, string? Compartment = null, string? By = null, DateOnly? From = null, DateOnly? To = null);

/// <summary>Reads the book itself, in the order it was written.</summary>
public sealed class LineReader(NpgsqlDataSource database)
{
    private const string Columns = "e.version, e.correlation_id, e.timestamp, e.user_name, e.type, e.data, l.reversed_by, l.amended_by";

    /// <summary>Lines in order of their numbers.</summary>
    public async Task<IReadOnlyList<BookLine>> ReadAsync(string household, LineFilter filter, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(filter);
        await using var command = database.CreateCommand();
        // A compartment's lines are found by its own rows, so that a rare one is not looked for in all the others' lines.
        var about = filter.Compartment is null ? "" : $"""
            join (select distinct line from {BookTables.Schema}.tracker_row
                  where tenant_id = {Parameter(household)} and compartment = {Parameter(filter.Compartment)} and line > {Parameter(filter.After)}) t on t.line = l.line
            """;
        var sql = new StringBuilder($"""
            select {Columns} from {BookTables.Schema}.line l {about}
            join {BookTables.Schema}.mt_events e on e.tenant_id = l.tenant_id and e.stream_id = '{BookTables.Stream}' and e.version = l.line
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

    /// <summary>One line; null when the book has none of that number.</summary>
    public async Task<BookLine?> FindAsync(string household, long number, CancellationToken cancellation = default)
    {
        // No book is longer, and Marten's column is no wider.
        if (number is < 1 or > int.MaxValue)
        {
            return null;
        }

        await using var command = database.CreateCommand(
            $"""
            select {Columns} from {BookTables.Schema}.mt_events e
            left join {BookTables.Schema}.line l on l.tenant_id = e.tenant_id and l.line = e.version
            where e.tenant_id = $1 and e.stream_id = '{BookTables.Stream}' and e.version = $2
            """);
        command.Parameters.Add(new NpgsqlParameter { Value = household });
        command.Parameters.Add(new NpgsqlParameter { Value = number });
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        return await reader.ReadAsync(cancellation).ConfigureAwait(false) ? Line(reader) : null;
    }

    private static BookLine Line(NpgsqlDataReader reader) => new(
        reader.GetInt64(0),
        long.Parse(reader.GetString(1), CultureInfo.InvariantCulture),
        new DateTimeOffset(reader.GetDateTime(2)),
        reader.GetString(3),
        (IBookEvent)JsonSerializer.Deserialize(reader.GetString(5), LineKinds.Types[reader.GetString(4)], BookJson.Options)!)
    {
        ReversedBy = reader.IsDBNull(6) ? null : reader.GetInt64(6),
        AmendedBy = reader.IsDBNull(7) ? null : reader.GetInt64(7),
    };
}
