using System.Data;
using Npgsql;

namespace CashEvents.Store.Plans;

/// <summary>Reads what is planned.</summary>
public sealed class PlanReader(NpgsqlDataSource database)
{
    /// <summary>A household's book with its plan and without daily balances, both from one moment.</summary>
    public async Task<Book> ReadAsync(string household, CancellationToken cancellation = default)
    {
        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        await using var snapshot =
            await connection.BeginTransactionAsync(IsolationLevel.RepeatableRead, cancellation).ConfigureAwait(false);
        await using var batch = new NpgsqlBatch(connection, snapshot);
        Array.ForEach(PlannedBook.Commands(household), batch.BatchCommands.Add);
        await using var reader = await batch.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        return await PlannedBook.ReadAsync(reader, cancellation).ConfigureAwait(false);
    }
}
