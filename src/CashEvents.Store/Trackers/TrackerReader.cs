using CashEvents.Domain.Amounts;
using CashEvents.Domain.Compartments;
using CashEvents.Store.Books;
using Npgsql;

namespace CashEvents.Store.Trackers;

/// <summary>A row of a compartment's sheet.</summary>
/// <param name="Line">The line it comes from.</param>
/// <param name="OccurredOn">The day.</param>
/// <param name="Kind">The line's kind.</param>
/// <param name="Holding">Cash or bank.</param>
/// <param name="Description">What was written beside it.</param>
/// <param name="Amount">In is positive, out negative.</param>
/// <param name="Balance">After this row.</param>
public sealed record TrackerRow(long Line, DateOnly OccurredOn, string Kind, Holding Holding, string Description, Money Amount, Money Balance);

/// <summary>A compartment's sheet for some days.</summary>
/// <param name="Opening">Balance before the first of them.</param>
/// <param name="Rows">In date order; within a day as written.</param>
/// <param name="Closing">Balance after the last of them.</param>
/// <param name="BookLine">The line at which the book stood when it was read.</param>
public sealed record Tracker(Money Opening, IReadOnlyList<TrackerRow> Rows, Money Closing, long BookLine);

/// <summary>Reads tracker sheets. The work follows the rows on the sheet, not the length of the book.</summary>
public sealed class TrackerReader(NpgsqlDataSource database)
{
    // One statement, so that opening, rows and line number come from one moment.
    private const string Sheet = $"""
        select o.opening, s.version, t.line, t.occurred_on, t.kind, t.holding, t.description, t.amount
        from (select coalesce(sum(
                (select d.closing from {BookTables.Schema}.day_closing d
                 where d.tenant_id = $1 and d.compartment = $2 and d.holding = h.holding and d.day < $4
                 order by d.day desc limit 1)), 0)::bigint as opening
              from unnest($3) as h(holding)) o
        cross join (select version from {BookTables.Schema}.mt_streams where tenant_id = $1 and id = '{BookTables.Stream}') s
        left join {BookTables.Schema}.tracker_row t
            on t.tenant_id = $1 and t.compartment = $2 and t.holding = any($3) and t.occurred_on >= $4 and t.occurred_on <= $5
        order by t.occurred_on, t.line, t.leg
        """;

    // As it stood at an earlier line: what was written since is left out, and what came before the sheet is added up anew.
    private const string EarlierSheet = $"""
        select o.opening, $6, t.line, t.occurred_on, t.kind, t.holding, t.description, t.amount
        from (select coalesce(sum(b.amount), 0)::bigint as opening from {BookTables.Schema}.tracker_row b
              where b.tenant_id = $1 and b.compartment = $2 and b.holding = any($3) and b.occurred_on < $4 and b.line <= $6) o
        left join {BookTables.Schema}.tracker_row t
            on t.tenant_id = $1 and t.compartment = $2 and t.holding = any($3) and t.occurred_on >= $4 and t.occurred_on <= $5 and t.line <= $6
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
        string household, string compartment, Holding? holding, DateOnly from, DateOnly to, long? upTo = null, CancellationToken cancellation = default)
    {
        await using var command = database.CreateCommand(upTo is null ? Sheet : EarlierSheet);
        var holdings = holding is { } one ? [one] : Enum.GetValues<Holding>();
        foreach (var value in new object?[] { household, compartment, holdings.Select(Stored.Word).ToArray(), from, to, upTo }.OfType<object>())
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
                var amount = new Money(reader.GetInt64(7));
                balance += amount;
                rows.Add(new TrackerRow(
                    reader.GetInt64(2), reader.GetFieldValue<DateOnly>(3), reader.GetString(4), Stored.Read<Holding>(reader.GetString(5)), reader.GetString(6), amount, balance));
            }
        }

        return new Tracker(opening, rows, balance, line);
    }
}
