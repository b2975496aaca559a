using System.Data;
using Npgsql;

namespace CashEvents.Store.Plans;

/// <summary>Sheets of weeks as they were read.</summary>
/// <param name="Book">The book as it stood.</param>
/// <param name="Today">The household's date.</param>
/// <param name="Sheets">One for each slice asked for, in order.</param>
public sealed record WeekSheets(Book Book, DateOnly Today, IReadOnlyList<WeekSheet> Sheets);

/// <summary>
/// Reads weeks against their plan. The work follows the weeks asked for, not the length of the book or of the year.
/// </summary>
public sealed class WeekReader(BookReader books, LineReader lines, NpgsqlDataSource database, TimeProvider clock)
{
    // The year to date is the difference of two rows of each holding: what was spent in all before the slices and
    // before its first day.
    private const string SpentEarlier = $"""
        select c.compartment, sum(until.closing - coalesce(since.closing, 0))::bigint
        from unnest($2, $3) as c(compartment, first)
        cross join unnest($5) as h(holding)
        cross join lateral (select s.closing from {BookTables.Schema}.spent_to_date s
            where s.tenant_id = $1 and s.compartment = c.compartment and s.holding = h.holding and s.day < $4 order by s.day desc limit 1) until
        left join lateral (select s.closing from {BookTables.Schema}.spent_to_date s
            where s.tenant_id = $1 and s.compartment = c.compartment and s.holding = h.holding and s.day < c.first order by s.day desc limit 1) since on true
        group by c.compartment
        """;

    /// <summary>
    /// The sheets of some slices, all of them from one moment. As of an earlier line they cost a replay of the lines up
    /// to it.
    /// </summary>
    /// <param name="household">Whose book.</param>
    /// <param name="ask">The slices to read, given the household and its date; at least one, and they follow one
    /// another.</param>
    /// <param name="asOf">The two times; a week is running when the day or the line asked for lies in it.</param>
    /// <param name="cancellation">Gives up.</param>
    /// <exception cref="RefusalException">The book has no such line, or had none at that instant.</exception>
    public async Task<WeekSheets> ReadAsync(string household, Func<Household, DateOnly, IReadOnlyList<WeekSlice>> ask,
        AsOf asOf, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(ask);
        ArgumentNullException.ThrowIfNull(asOf);
        if (await books.LineAsync(household, asOf, cancellation).ConfigureAwait(false) is { } line)
        {
            // Weeks are asked for in the household's calendar of now; what stood at a line never changes.
            var asks = (await books.ReadAsync(household, cancellation).ConfigureAwait(false)).Household!;
            var then = asOf.On ?? asks.DateAt(
                (await lines.FindAsync(household, line, cancellation).ConfigureAwait(false))!.RecordedAt);
            return await ReplayAsync(household, ask(asks, then), then, line, asOf.On, cancellation)
                .ConfigureAwait(false);
        }

        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        await using var snapshot =
            await connection.BeginTransactionAsync(IsolationLevel.RepeatableRead, cancellation).ConfigureAwait(false);
        var book = await PlannedBook.ReadAsync(connection, snapshot, household, cancellation).ConfigureAwait(false);
        var today = asOf.On ?? book.Household!.DateAt(clock.GetUtcNow());
        return await ReadAsync(snapshot, household, book, ask(book.Household!, today), today, asOf.On, cancellation)
            .ConfigureAwait(false);
    }

    /// <summary>
    /// The sheets of some slices as a snapshot has them, for a reader that has the book with its plan from it.
    /// </summary>
    internal static async Task<WeekSheets> ReadAsync(
        NpgsqlTransaction snapshot, string household, Book book, IReadOnlyList<WeekSlice> slices, DateOnly today,
        DateOnly? on, CancellationToken cancellation)
    {
        var connection = snapshot.Connection!;
        var last = on < slices[^1].Last ? on.Value : slices[^1].Last;
        var totals = await ColumnReader.ReadAsync(connection, snapshot, household,
            [.. slices.Select(slice => slice.First)], last, cancellation).ConfigureAwait(false);
        var spentEarlier = await SpentAsync(connection, snapshot, household, YearToDate.Begins(book, slices),
            slices[0].First, cancellation).ConfigureAwait(false);
        return new WeekSheets(book, today, WeekSheet.Of(book, slices, totals, spentEarlier, today));
    }

    private async Task<WeekSheets> ReplayAsync(string household, IReadOnlyList<WeekSlice> slices, DateOnly today,
        long upTo, DateOnly? on, CancellationToken cancellation)
    {
        var book = Book.Empty;
        var tally = new ColumnTally([.. slices.Select(slice => slice.First)], slices[^1].Last);
        var spent = new Dictionary<(string Compartment, DateOnly Day), Money>();
        await foreach (var line in books.LinesAsync(household, upTo, cancellation).ConfigureAwait(false))
        {
            book = book.Apply(line.Event);
            if (line.Event is IMovement movement && (on is null || movement.OccurredOn <= on))
            {
                tally.Add(movement);
                foreach (var (part, _, change) in Analysis.Of(movement)
                    .Where(c => c.Column is Column.Spent or Column.Refunded && movement.OccurredOn < slices[0].First))
                {
                    var key = (part.Compartment, movement.OccurredOn);
                    spent[key] = spent.GetValueOrDefault(key) - change;
                }
            }
        }

        var spentEarlier = YearToDate.Begins(book, slices).ToDictionary(
            begins => begins.Key,
            begins => spent.Where(s => s.Key.Compartment == begins.Key && s.Key.Day >= begins.Value)
                .Aggregate(Money.Zero, (sum, s) => sum + s.Value));
        return new WeekSheets(book, today, WeekSheet.Of(book, slices, tally.Totals, spentEarlier, today));
    }

    private static async Task<Dictionary<string, Money>> SpentAsync(
        NpgsqlConnection connection, NpgsqlTransaction snapshot, string household,
        IReadOnlyDictionary<string, DateOnly> begins, DateOnly before, CancellationToken cancellation)
    {
        var spent = new Dictionary<string, Money>();
        if (begins.Count == 0)
        {
            return spent;
        }

        await using var command = new NpgsqlCommand(SpentEarlier, connection, snapshot);
        foreach (var value in new object[] { household, begins.Keys.ToArray(), begins.Values.ToArray(), before,
            Enum.GetValues<Holding>().Select(Stored.Word).ToArray() })
        {
            command.Parameters.Add(new NpgsqlParameter { Value = value });
        }

        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            spent.Add(reader.GetString(0), new Money(reader.GetInt64(1)));
        }

        return spent;
    }
}
