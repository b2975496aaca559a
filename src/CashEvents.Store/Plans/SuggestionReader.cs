using System.Data;
using Npgsql;

namespace CashEvents.Store.Plans;

/// <summary>Past weeks, for what the plan could be.</summary>
/// <param name="Weeks">Their sheets.</param>
/// <param name="FirstDays">The day on which money came into each compartment of
/// <see cref="Suggestion.BegunIn"/>.</param>
public sealed record PastWeeks(WeekSheets Weeks, IReadOnlyDictionary<string, DateOnly> FirstDays);

/// <summary>Reads what suggestions for the plan rest on, all of it from one moment.</summary>
public sealed class SuggestionReader(NpgsqlDataSource database, TimeProvider clock)
{
    private const string FirstMoved = $"""
        select c.compartment, min(d.day)
        from unnest($2, $3) as c(compartment, since)
        cross join unnest($4) as h(holding)
        cross join lateral (select d.day from {BookTables.Schema}.day_closing d
            where d.tenant_id = $1 and d.compartment = c.compartment and d.holding = h.holding and d.day >= c.since order by d.day limit 1) d
        group by c.compartment
        """;

    /// <summary>The sheets of past weeks, and since when within its first week each compartment had money.</summary>
    /// <param name="household">Whose book.</param>
    /// <param name="ask">The weeks to read, given the household and its date; at least one, and they follow one
    /// another.</param>
    /// <param name="cancellation">Gives up.</param>
    public async Task<PastWeeks> ReadAsync(string household, Func<Household, DateOnly, IReadOnlyList<WeekSlice>> ask,
        CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(ask);
        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        await using var snapshot =
            await connection.BeginTransactionAsync(IsolationLevel.RepeatableRead, cancellation).ConfigureAwait(false);
        var book = await PlannedBook.ReadAsync(connection, snapshot, household, cancellation).ConfigureAwait(false);
        var today = book.Household!.DateAt(clock.GetUtcNow());
        var weeks = await WeekReader.ReadAsync(snapshot, household, book, ask(book.Household!, today), today, on: null,
            cancellation).ConfigureAwait(false);
        return new PastWeeks(weeks,
            await FirstDaysAsync(connection, snapshot, household, Suggestion.BegunIn(weeks.Sheets), cancellation)
                .ConfigureAwait(false));
    }

    private static async Task<Dictionary<string, DateOnly>> FirstDaysAsync(
        NpgsqlConnection connection, NpgsqlTransaction snapshot, string household,
        IReadOnlyDictionary<string, Week> begun, CancellationToken cancellation)
    {
        var days = new Dictionary<string, DateOnly>();
        await using var command = new NpgsqlCommand(FirstMoved, connection, snapshot);
        foreach (var value in new object[] { household, begun.Keys.ToArray(),
            begun.Values.Select(week => week.First).ToArray(),
            Enum.GetValues<Holding>().Select(Stored.Word).ToArray() })
        {
            command.Parameters.Add(new NpgsqlParameter { Value = value });
        }

        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            days.Add(reader.GetString(0), reader.GetFieldValue<DateOnly>(1));
        }

        return days;
    }
}
