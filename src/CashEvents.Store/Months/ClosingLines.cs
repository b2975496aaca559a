using Npgsql;

namespace CashEvents.Store.Months;

/// <summary>The lines that closed months.</summary>
internal static class ClosingLines
{
    private const string Latest = $"""
        select max(l.line) from {BookTables.Schema}.line l
        {LineReader.Written}
        where l.tenant_id = $1 and l.kind = $2 and e.data ->> 'month' = any($3)
        group by e.data ->> 'month'
        """;

    /// <summary>
    /// For each of some months that is closed the line that closed it: of those before the first month closed, the line
    /// that closed that one.
    /// </summary>
    public static async Task<IReadOnlyDictionary<Month, BookLine>> ReadAsync(
        NpgsqlConnection connection, string household, ClosedMonths? closed, IReadOnlyList<Month> months,
        CancellationToken cancellation)
    {
        Month Closing(Month month) => month < closed!.First ? closed.First : month;
        var ended = months.Where(month => month <= closed?.Latest).ToList();
        if (ended.Count == 0)
        {
            return new Dictionary<Month, BookLine>();
        }

        var lines = await LineReader.ReadAsync(connection, household,
            await NumbersAsync(connection, household, ended.Select(Closing).Distinct(), cancellation)
                .ConfigureAwait(false), cancellation).ConfigureAwait(false);
        var byMonth = lines.ToDictionary(line => ((MonthClosed)line.Event).Month);
        return ended.ToDictionary(month => month, month => byMonth[Closing(month)]);
    }

    private static async Task<List<long>> NumbersAsync(NpgsqlConnection connection, string household,
        IEnumerable<Month> months, CancellationToken cancellation)
    {
        await using var command = new NpgsqlCommand(Latest, connection)
        {
            Parameters =
            {
                new() { Value = household },
                new() { Value = LineKinds.Names[typeof(MonthClosed)] },
                new() { Value = months.Select(month => month.ToString()).ToArray() },
            },
        };
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        var numbers = new List<long>();
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            numbers.Add(reader.GetInt64(0));
        }

        return numbers;
    }
}
