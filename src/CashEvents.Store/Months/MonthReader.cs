using System.Data;
using Marten;
using Npgsql;

namespace CashEvents.Store.Months;

/// <summary>Months side by side, as they were read.</summary>
/// <param name="Book">The book, without daily balances.</param>
/// <param name="Rows">A row for each month asked for, in order.</param>
/// <param name="Closed">The line that closed each month that is closed.</param>
public sealed record MonthRows(Book Book, IReadOnlyList<MonthRow> Rows, IReadOnlyDictionary<Month, BookLine> Closed);

/// <summary>
/// Reads months side by side. The work follows the days on which money moved in them, not their lines.
/// </summary>
public sealed class MonthReader(IDocumentStore store, NpgsqlDataSource database, TimeProvider clock)
{
    private const string FirstDay = $"select min(occurred_on) from {BookTables.Schema}.line where tenant_id = $1";

    /// <summary>Some months, all of them from one moment; null when the household has no book.</summary>
    /// <param name="household">Whose book.</param>
    /// <param name="ask">The months to read, at least one, given the present month and the first one in which something
    /// occurred; the present one when nothing did.</param>
    /// <param name="cancellation">Gives up.</param>
    public async Task<MonthRows?> ReadAsync(string household, Func<Month, Month, IReadOnlyList<Month>> ask,
        CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(ask);
        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        await using var snapshot =
            await connection.BeginTransactionAsync(IsolationLevel.RepeatableRead, cancellation).ConfigureAwait(false);
        if (await BookLoader.PageAsync(store, snapshot, household, cancellation).ConfigureAwait(false) is not { } page)
        {
            return null;
        }

        var present = Month.Of(page.Book.Household!.DateAt(clock.GetUtcNow()));
        var months = ask(present,
            await BegunAsync(connection, household, cancellation).ConfigureAwait(false) ?? present);
        var totals = await ColumnReader.ReadAsync(connection, snapshot, household,
            [.. months.Select(month => month.First)], months[^1].Last, cancellation).ConfigureAwait(false);
        var closed = await ClosingLines.ReadAsync(connection, household, page.Book.ClosedMonths, months, cancellation)
            .ConfigureAwait(false);
        return new MonthRows(page.Book, MonthRow.Of(months, totals), closed);
    }

    private static async Task<Month?> BegunAsync(NpgsqlConnection connection, string household,
        CancellationToken cancellation)
    {
        await using var command = new NpgsqlCommand(FirstDay, connection)
        { Parameters = { new() { Value = household } } };
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        await reader.ReadAsync(cancellation).ConfigureAwait(false);
        return await reader.IsDBNullAsync(0, cancellation).ConfigureAwait(false)
            ? null
            : Month.Of(reader.GetFieldValue<DateOnly>(0));
    }
}
