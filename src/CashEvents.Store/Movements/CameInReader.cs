using System.Collections.Immutable;
using Npgsql;

namespace CashEvents.Store.Movements;

/// <summary>Reads what came into each place, by day, from the columns that say so.</summary>
internal static class CameInReader
{
    private static readonly Column[] _columns =
        [.. Enum.GetValues<Column>().Where(column => CameIn.IsFill(column) is not null)];

    /// <summary>Takes the household.</summary>
    internal static string Sql { get; } = $"""
        select compartment, holding, sheet_column = '{Stored.Word(Column.Filled)}', day, sum(change)::bigint
        from {BookTables.Schema}.day_total
        where tenant_id = $1 and sheet_column in ({string.Join(", ", _columns.Select(column => $"'{Stored.Word(column)}'"))})
        group by 1, 2, 3, 4 order by 1, 2, 3, 4
        """;

    internal static async Task<ImmutableDictionary<Part, CameIn>> ReadAsync(NpgsqlDataReader reader,
        CancellationToken cancellation)
    {
        var days = new Dictionary<(Part Place, bool IsFill), List<DayClosing>>();
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            var key = (new Part(reader.GetString(0), Stored.Read<Holding>(reader.GetString(1))), reader.GetBoolean(2));
            if (!days.TryGetValue(key, out var closings))
            {
                days.Add(key, closings = []);
            }

            var before = closings.Count > 0 ? closings[^1].Closing : default;
            closings.Add(new DayClosing(reader.GetFieldValue<DateOnly>(3),
                before + new Domain.Amounts.Money(reader.GetInt64(4))));
        }

        return days.Keys.Select(key => key.Place).Distinct()
            .ToImmutableDictionary(part => part,
                part => new CameIn(Of(part, isFill: true), Of(part, isFill: false)));

        DailyBalances Of(Part part, bool isFill) =>
            days.TryGetValue((part, isFill), out var closings) ? DailyBalances.Of(closings) : DailyBalances.Empty;
    }
}
