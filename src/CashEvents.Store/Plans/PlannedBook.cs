using System.Text.Json;
using Npgsql;

namespace CashEvents.Store.Plans;

/// <summary>
/// The book with its plan, as two statements that a reader may have more after, in the same snapshot.
/// </summary>
internal static class PlannedBook
{
    private const string PlannedAmounts = $"""
        select compartment, from_day, amount, line from {BookTables.Schema}.planned_amount
        where tenant_id = $1 order by compartment, from_day
        """;

    /// <summary>Reads it by itself, for a reader that has to see it before it knows what else to ask for.</summary>
    public static async Task<Book> ReadAsync(NpgsqlConnection connection, NpgsqlTransaction snapshot, string household,
        CancellationToken cancellation)
    {
        await using var batch = new NpgsqlBatch(connection, snapshot);
        Array.ForEach(Commands(household), batch.BatchCommands.Add);
        await using var reader = await batch.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        return await ReadAsync(reader, cancellation).ConfigureAwait(false);
    }

    /// <summary>The plan alone, for a reader that has the book without it from the same snapshot.</summary>
    public static async Task<Plan> PlanAsync(NpgsqlConnection connection, string household,
        CancellationToken cancellation)
    {
        await using var command = new NpgsqlCommand(PlannedAmounts, connection)
        { Parameters = { new() { Value = household } } };
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        return await PlanAsync(reader, cancellation).ConfigureAwait(false);
    }

    public static NpgsqlBatchCommand[] Commands(string household) =>
    [
        new($"""
            select data from {BookTables.Schema}.mt_doc_bookpage where tenant_id = $1 and id = '{BookPage.TheOne}'
            """)
        { Parameters = { new() { Value = household } } },
        new(PlannedAmounts) { Parameters = { new() { Value = household } } },
    ];

    /// <summary>Reads both results; the reader then stands on the second.</summary>
    public static async Task<Book> ReadAsync(NpgsqlDataReader reader, CancellationToken cancellation)
    {
        var book = await reader.ReadAsync(cancellation).ConfigureAwait(false)
            ? JsonSerializer.Deserialize<BookPage>(reader.GetString(0), BookJson.Options)!.Book
            : Book.Empty;
        await reader.NextResultAsync(cancellation).ConfigureAwait(false);
        return book.With(PlansInBook.Plan, await PlanAsync(reader, cancellation).ConfigureAwait(false));
    }

    private static async Task<Plan> PlanAsync(NpgsqlDataReader reader, CancellationToken cancellation)
    {
        var plan = new List<(string Compartment, PlannedAmount Amount)>();
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            plan.Add((reader.GetString(0),
                new PlannedAmount(reader.GetFieldValue<DateOnly>(1), new(reader.GetInt64(2)), reader.GetInt64(3))));
        }

        return Plan.Of(plan);
    }
}
