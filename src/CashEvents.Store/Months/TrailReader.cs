using System.Collections.Immutable;
using System.Data;
using Marten;
using Npgsql;

namespace CashEvents.Store.Months;

/// <summary>A month's trail and the book it was drawn up from.</summary>
/// <param name="Trail">The trail.</param>
/// <param name="Book">The book, with its daily balances at the month's borders only.</param>
/// <param name="Closed">The line that closed the month, or the first month closed when it lies before that one; null
/// while it is open.</param>
/// <param name="Hash">Of the line that closed the month, or of the book's last line while it is open: whoever keeps it
/// can tell later whether anything before it was changed. Null where lines had none.</param>
/// <param name="Today">The household's date.</param>
public sealed record MonthTrail(Trail Trail, Book Book, BookLine? Closed, string? Hash, DateOnly Today)
{
    /// <summary>
    /// The month by weeks, against its plan; null when it was not asked for, and for a month at the ends of the
    /// calendar.
    /// </summary>
    public WeekSheets? Weeks { get; init; }
}

/// <summary>Reads months. The work follows the month's lines, not the length of the book.</summary>
public sealed class TrailReader(IDocumentStore store, NpgsqlDataSource database, TimeProvider clock)
{
    private const string LastClosings = $"""
        select p.compartment, p.holding, before.closing, at_end.day, at_end.closing
        from unnest($2, $3) as p(compartment, holding)
        left join lateral (select d.closing from {BookTables.Schema}.day_closing d
            where d.tenant_id = $1 and d.compartment = p.compartment and d.holding = p.holding and d.day < $4 order by d.day desc limit 1) before on true
        left join lateral (select d.day, d.closing from {BookTables.Schema}.day_closing d
            where d.tenant_id = $1 and d.compartment = p.compartment and d.holding = p.holding and d.day <= $5 order by d.day desc limit 1) at_end on true
        """;

    /// <summary>A month's trail, all of it from one moment; null when the household has no book.</summary>
    /// <param name="household">Whose book.</param>
    /// <param name="month">The month.</param>
    /// <param name="byWeeks">Whether the month by weeks is wanted too.</param>
    /// <param name="cancellation">Gives up.</param>
    public async Task<MonthTrail?> ReadAsync(string household, Month month, bool byWeeks,
        CancellationToken cancellation = default)
    {
        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        await using var snapshot =
            await connection.BeginTransactionAsync(IsolationLevel.RepeatableRead, cancellation).ConfigureAwait(false);
        if (await BookLoader.PageAsync(store, snapshot, household, cancellation).ConfigureAwait(false) is not { } page)
        {
            return null;
        }

        var opening = new Dictionary<Part, Money>();
        var closing = new Dictionary<Part, DayClosing>();
        await ReadClosingsAsync(connection, household, page.Book, month, opening, closing, cancellation)
            .ConfigureAwait(false);
        var lines = await LineReader.ReadDatedAsync(connection, household, month.First, month.Last, cancellation)
            .ConfigureAwait(false);
        var closed = (await ClosingLines.ReadAsync(connection, household, page.Book.ClosedMonths, [month], cancellation)
            .ConfigureAwait(false)).GetValueOrDefault(month);
        var book = page.Book.With(BalancesInBook.Days,
            closing.ToImmutableDictionary(c => c.Key, c => DailyBalances.Of([c.Value])));
        var trail = Trail.Of(month, book, opening, closing.ToDictionary(c => c.Key, c => c.Value.Closing), lines,
            closed?.Event as MonthClosed);
        var owner = book.Household!;
        var today = owner.DateAt(clock.GetUtcNow());
        return new MonthTrail(trail, book, closed, closed is null ? page.Hash : closed.Hash, today)
        {
            Weeks = byWeeks && Week.IsTold(month.First)
                ? await WeekReader.ReadAsync(snapshot, household,
                    page.Book.With(PlansInBook.Plan, await PlannedBook.PlanAsync(connection, household, cancellation)
                        .ConfigureAwait(false)),
                    WeekSlice.Of(month, owner.FirstDayOfWeek), today, on: null, cancellation).ConfigureAwait(false)
                : null,
        };
    }

    private static async Task ReadClosingsAsync(
        NpgsqlConnection connection, string household, Book book, Month month, Dictionary<Part, Money> opening,
        Dictionary<Part, DayClosing> closing, CancellationToken cancellation)
    {
        var parts = book.Compartments.Keys.SelectMany(c => Enum.GetValues<Holding>().Select(h => new Part(c, h)))
            .ToList();
        await using var command = new NpgsqlCommand(LastClosings, connection)
        {
            Parameters =
            {
                new() { Value = household },
                new() { Value = parts.Select(p => p.Compartment).ToArray() },
                new() { Value = parts.Select(p => Stored.Word(p.Holding)).ToArray() },
                new() { Value = month.First },
                new() { Value = month.Last },
            },
        };
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            var part = new Part(reader.GetString(0), Stored.Read<Holding>(reader.GetString(1)));
            if (!await reader.IsDBNullAsync(2, cancellation).ConfigureAwait(false))
            {
                opening.Add(part, new Money(reader.GetInt64(2)));
            }

            if (!await reader.IsDBNullAsync(3, cancellation).ConfigureAwait(false))
            {
                closing.Add(part, new DayClosing(reader.GetFieldValue<DateOnly>(3), new Money(reader.GetInt64(4))));
            }
        }
    }
}
