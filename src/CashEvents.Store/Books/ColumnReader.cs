using System.Data;
using Npgsql;

namespace CashEvents.Store.Books;

/// <summary>
/// Reads the analysis columns over slices of days: days, weeks, months or parts of them. The work follows the days
/// asked for, not the length of the book.
/// </summary>
/// <remarks>Some parameters stand in selects of their own: seeing their values, PostgreSQL would think anew at every
/// reading, only to find the same way.</remarks>
public sealed class ColumnReader(NpgsqlDataSource database)
{
    // The last closing before the first day, place by place: one step down the index each.
    private const string Openings = $"""
        select c.compartment, h.holding, o.closing
        from {BookTables.Schema}.mt_doc_bookpage p
        cross join lateral jsonb_object_keys(p.data->'book'->'compartments') as c(compartment)
        cross join unnest((select $3)) as h(holding)
        cross join lateral (
            select d.closing from {BookTables.Schema}.day_closing d
            where d.tenant_id = $1 and d.compartment = c.compartment and d.holding = h.holding and d.day < (select $2)
            order by d.day desc limit 1) o
        where p.tenant_id = $1 and p.id = '{BookPage.TheOne}' and o.closing <> 0
        """;

    private const string Changes = $"""
        select ($2::date[])[width_bucket(t.day, $2::date[])] as slice, t.compartment, t.holding, t.sheet_column, sum(t.change)::bigint
        from {BookTables.Schema}.day_total t
        where t.tenant_id = $1 and t.day >= (select $3) and t.day <= (select $4)
        group by 1, 2, 3, 4
        having sum(t.change) <> 0
        """;

    /// <summary>
    /// What each place held before the first slice and what changed it in each, with the book as it stood then: its
    /// line, compartments and plan, without daily balances.
    /// </summary>
    /// <param name="household">Whose book.</param>
    /// <param name="slices">First day of each slice, in order, at least one; a slice ends where the next
    /// begins.</param>
    /// <param name="last">Last day of the last slice.</param>
    /// <param name="cancellation">Gives up.</param>
    public async Task<(Book Book, ColumnTotals Totals)> ReadAsync(string household, IReadOnlyList<DateOnly> slices,
        DateOnly last, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(slices);
        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        await using var snapshot =
            await connection.BeginTransactionAsync(IsolationLevel.RepeatableRead, cancellation).ConfigureAwait(false);
        var book = await PlannedBook.ReadAsync(connection, snapshot, household, cancellation).ConfigureAwait(false);
        return (book, await ReadAsync(connection, snapshot, household, slices, last, cancellation)
            .ConfigureAwait(false));
    }

    /// <summary>The same for a reader that has the book from this snapshot.</summary>
    internal static async Task<ColumnTotals> ReadAsync(
        NpgsqlConnection connection, NpgsqlTransaction snapshot, string household, IReadOnlyList<DateOnly> slices,
        DateOnly last, CancellationToken cancellation)
    {
        await using var batch = new NpgsqlBatch(connection, snapshot);
        batch.BatchCommands.Add(Of(Openings, household, slices[0],
            Enum.GetValues<Holding>().Select(Stored.Word).ToArray()));
        batch.BatchCommands.Add(Of(Changes, household, slices.ToArray(), slices[0], last));
        await using var reader = await batch.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        var openings = new Dictionary<Part, Money>();
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            openings.Add(new Part(reader.GetString(0), Stored.Read<Holding>(reader.GetString(1))),
                new Money(reader.GetInt64(2)));
        }

        await reader.NextResultAsync(cancellation).ConfigureAwait(false);
        var changes = new List<ColumnTotal>();
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            changes.Add(new ColumnTotal(
                reader.GetFieldValue<DateOnly>(0),
                new Part(reader.GetString(1), Stored.Read<Holding>(reader.GetString(2))),
                Stored.Read<Column>(reader.GetString(3)),
                new Money(reader.GetInt64(4))));
        }

        return new ColumnTotals(openings, changes);
    }

    private static NpgsqlBatchCommand Of(string sql, params object[] values)
    {
        var command = new NpgsqlBatchCommand(sql);
        foreach (var value in values)
        {
            command.Parameters.Add(new NpgsqlParameter { Value = value });
        }

        return command;
    }
}
