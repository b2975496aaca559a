using System.Collections.Immutable;
using System.Data;
using CashEvents.Domain.Books;
using CashEvents.Domain.FillRuns;
using CashEvents.Store.Books;
using CashEvents.Store.Lines;
using CashEvents.Store.Plans;
using Npgsql;

namespace CashEvents.Store.FillRuns;

/// <summary>Reads what fill runs rest on. What became of paydays is read from the lines that say it: a few dozen a year, found by their kind.</summary>
public sealed class FillRunReader(NpgsqlDataSource database)
{
    /// <summary>Takes the household.</summary>
    internal static string Sql { get; } = $"""
        select coalesce(e.data -> 'run' ->> 'payday', e.data ->> 'payday')::date, l.line, l.kind, l.reversed_by is not null
        from {BookTables.Schema}.line l
        {LineReader.Written}
        where l.tenant_id = $1 and l.kind in ('{LineKinds.Names[typeof(PaydayFilled)]}', '{LineKinds.Names[typeof(PaydayLeft)]}')
        order by l.line
        """;

    /// <summary>All that a fill run is worked out from, at one moment: a household's book with its plan and its paydays, without daily balances.</summary>
    public async Task<Book> ReadBookAsync(string household, CancellationToken cancellation = default)
    {
        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        await using var snapshot = await connection.BeginTransactionAsync(IsolationLevel.RepeatableRead, cancellation).ConfigureAwait(false);
        await using var batch = new NpgsqlBatch(connection, snapshot);
        Array.ForEach(PlannedBook.Commands(household), batch.BatchCommands.Add);
        batch.BatchCommands.Add(new NpgsqlBatchCommand(Sql) { Parameters = { new() { Value = household } } });
        await using var reader = await batch.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        var book = await PlannedBook.ReadAsync(reader, cancellation).ConfigureAwait(false);
        await reader.NextResultAsync(cancellation).ConfigureAwait(false);
        return book with { FillRuns = await ReadAsync(reader, cancellation).ConfigureAwait(false) };
    }

    /// <summary>What became of a household's paydays last, by bank day.</summary>
    public async Task<ImmutableSortedDictionary<DateOnly, PaydayMark>> ReadAsync(string household, CancellationToken cancellation = default)
    {
        await using var command = database.CreateCommand(Sql);
        command.Parameters.Add(new NpgsqlParameter { Value = household });
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        return await ReadAsync(reader, cancellation).ConfigureAwait(false);
    }

    /// <summary>By payday; a later line stands in the stead of an earlier one.</summary>
    internal static async Task<ImmutableSortedDictionary<DateOnly, PaydayMark>> ReadAsync(NpgsqlDataReader reader, CancellationToken cancellation)
    {
        var marks = ImmutableSortedDictionary.CreateBuilder<DateOnly, PaydayMark>();
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            marks[reader.GetFieldValue<DateOnly>(0)] = new PaydayMark(reader.GetInt64(1),
                reader.GetString(2) == LineKinds.Names[typeof(PaydayLeft)] ? PaydayState.Left : reader.GetBoolean(3) ? PaydayState.Undone : PaydayState.Filled);
        }

        return marks.ToImmutable();
    }
}
