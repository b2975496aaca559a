using System.Data;
using CashEvents.Domain.Books;
using CashEvents.Store.FillRuns;
using Npgsql;

namespace CashEvents.Store.Plans;

/// <summary>Reads what is planned.</summary>
public sealed class PlanReader(NpgsqlDataSource database)
{
    /// <summary>A household's book with its plan and what became of its paydays, without daily balances; all from one moment.</summary>
    public async Task<Book> ReadAsync(string household, CancellationToken cancellation = default)
    {
        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        await using var snapshot = await connection.BeginTransactionAsync(IsolationLevel.RepeatableRead, cancellation).ConfigureAwait(false);
        await using var batch = new NpgsqlBatch(connection, snapshot);
        Array.ForEach(PlannedBook.Commands(household), batch.BatchCommands.Add);
        batch.BatchCommands.Add(new NpgsqlBatchCommand(PaydayMarkReader.Sql) { Parameters = { new() { Value = household } } });
        await using var reader = await batch.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        var book = await PlannedBook.ReadAsync(reader, cancellation).ConfigureAwait(false);
        await reader.NextResultAsync(cancellation).ConfigureAwait(false);
        return book with { FillRuns = await PaydayMarkReader.ReadAsync(reader, cancellation).ConfigureAwait(false) };
    }
}
