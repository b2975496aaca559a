using System.Text.Json;
using Npgsql;

namespace CashEvents.Store.Plans;

/// <summary>
/// The book with its plan, as two statements that a reader may have more after, in the same snapshot.
/// </summary>
internal static class PlannedBook
{
    public static NpgsqlBatchCommand[] Commands(string household) =>
    [
        new($"""
            select data from {BookTables.Schema}.mt_doc_bookpage where tenant_id = $1 and id = '{BookPage.TheOne}'
            """)
        { Parameters = { new() { Value = household } } },
        new($"""
            select compartment, from_day, amount, line from {BookTables.Schema}.planned_amount
            where tenant_id = $1 order by compartment, from_day
            """)
        { Parameters = { new() { Value = household } } },
    ];

    /// <summary>Reads both results; the reader then stands on the second.</summary>
    public static async Task<Book> ReadAsync(NpgsqlDataReader reader, CancellationToken cancellation)
    {
        var book = await reader.ReadAsync(cancellation).ConfigureAwait(false)
            ? JsonSerializer.Deserialize<BookPage>(reader.GetString(0), BookJson.Options)!.Book
            : Book.Empty;
        await reader.NextResultAsync(cancellation).ConfigureAwait(false);
        var plan = new List<(string Compartment, PlannedAmount Amount)>();
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            plan.Add((reader.GetString(0),
                new PlannedAmount(reader.GetFieldValue<DateOnly>(1), new(reader.GetInt64(2)), reader.GetInt64(3))));
        }

        return book.With(PlansInBook.Plan, Plan.Of(plan));
    }
}
