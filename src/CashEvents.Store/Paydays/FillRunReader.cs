using System.Collections.Immutable;
using System.Data;
using System.Text.Json;
using Npgsql;

namespace CashEvents.Store.Paydays;

/// <summary>
/// Reads what fill runs rest on. What became of paydays is read from the lines that say it: a few dozen a year, found
/// by their kind.
/// </summary>
public sealed class FillRunReader(NpgsqlDataSource database)
{
    /// <summary>Takes the household.</summary>
    internal static string Sql { get; } = $"""
        select coalesce(e.data -> 'run' ->> 'payday', e.data ->> 'payday')::date, l.line, l.kind, l.reversed_by,
            coalesce((select r.data ->> 'early' from {BookTables.Schema}.mt_events r where r.tenant_id = l.tenant_id and r.stream_id = '{BookTables.Stream}' and r.version = l.reversed_by) = 'true', false),
            case when l.kind = '{LineKinds.Names[typeof(ClockWasAhead)]}' then e.data::text end
        from {BookTables.Schema}.line l
        {LineReader.Written}
        where l.tenant_id = $1 and l.kind in ('{LineKinds.Names[typeof(PaydayFilled)]}', '{LineKinds.Names[typeof(PaydayLeft)]}', '{LineKinds.Names[typeof(ClockWasAhead)]}')
        order by l.line
        """;

    private const string Silence = $"""
        select max(timestamp) filter (where timestamp <= $2), min(timestamp) filter (where timestamp > $2 and timestamp <= $3)
        from {BookTables.Schema}.mt_events where tenant_id = $1 and stream_id = '{BookTables.Stream}'
        """;

    /// <summary>
    /// How long nothing was written in a book around an instant: from the last line before it to the first after it, or
    /// to now.
    /// </summary>
    /// <param name="household">Whose book.</param>
    /// <param name="at">The instant.</param>
    /// <param name="now">The instant up to which lines count.</param>
    /// <param name="cancellation">Gives up.</param>
    public async Task<TimeSpan> SilenceAsync(string household, DateTimeOffset at, DateTimeOffset now,
        CancellationToken cancellation = default)
    {
        await using var command = database.CreateCommand(Silence);
        foreach (var value in new object[] { household, at.UtcDateTime, now.UtcDateTime })
        {
            command.Parameters.Add(new NpgsqlParameter { Value = value });
        }

        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        await reader.ReadAsync(cancellation).ConfigureAwait(false);
        return reader.IsDBNull(0)
            ? TimeSpan.Zero
            : (reader.IsDBNull(1) ? now.UtcDateTime : reader.GetDateTime(1)) - reader.GetDateTime(0);
    }

    /// <summary>
    /// All that a fill run is worked out from, at one moment: a household's book with its plan and its paydays, without
    /// daily balances.
    /// </summary>
    public async Task<Book> ReadBookAsync(string household, CancellationToken cancellation = default)
    {
        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        await using var snapshot =
            await connection.BeginTransactionAsync(IsolationLevel.RepeatableRead, cancellation).ConfigureAwait(false);
        await using var batch = new NpgsqlBatch(connection, snapshot);
        Array.ForEach(PlannedBook.Commands(household), batch.BatchCommands.Add);
        batch.BatchCommands.Add(new NpgsqlBatchCommand(Sql) { Parameters = { new() { Value = household } } });
        await using var reader = await batch.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        var book = await PlannedBook.ReadAsync(reader, cancellation).ConfigureAwait(false);
        await reader.NextResultAsync(cancellation).ConfigureAwait(false);
        return book.With(PaydaysInBook.FillRuns, await ReadAsync(reader, cancellation).ConfigureAwait(false));
    }

    /// <summary>What became of a household's paydays last, by bank day.</summary>
    public async Task<ImmutableSortedDictionary<DateOnly, PaydayMark>> ReadAsync(string household,
        CancellationToken cancellation = default)
    {
        await using var command = database.CreateCommand(Sql);
        command.Parameters.Add(new NpgsqlParameter { Value = household });
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        return await ReadAsync(reader, cancellation).ConfigureAwait(false);
    }

    /// <summary>
    /// By payday; a later line stands in the stead of an earlier one. It comes to what the book makes of the lines one
    /// by one; a test holds the two together.
    /// </summary>
    internal static async Task<ImmutableSortedDictionary<DateOnly, PaydayMark>> ReadAsync(NpgsqlDataReader reader,
        CancellationToken cancellation)
    {
        var runs = new List<(DateOnly Payday, PaydayMark Mark, long? ReversedBy, bool Early)>();
        var ahead = new List<(long Line, ClockWasAhead Said)>();
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            var line = reader.GetInt64(1);
            if (!reader.IsDBNull(5))
            {
                ahead.Add((line, JsonSerializer.Deserialize<ClockWasAhead>(reader.GetString(5), BookJson.Options)!));
                continue;
            }

            long? reversedBy = reader.IsDBNull(3) ? null : reader.GetInt64(3);
            var state = reader.GetString(2) == LineKinds.Names[typeof(PaydayLeft)]
                ? PaydayState.Left
                : reversedBy is null ? PaydayState.Filled : PaydayState.Undone;
            runs.Add((reader.GetFieldValue<DateOnly>(0), new PaydayMark(line, state), reversedBy,
                reader.GetBoolean(4)));
        }

        var marks = ImmutableSortedDictionary.CreateBuilder<DateOnly, PaydayMark>();
        foreach (var (payday, mark, reversedBy, early) in runs)
        {
            if (early || (mark.State != PaydayState.Filled
                && ahead.Exists(a => a.Said.IsAbout(mark.Line) && payday > a.Said.On && (reversedBy ?? 0) < a.Line)))
            {
                marks.Remove(payday);
            }
            else
            {
                marks[payday] = mark;
            }
        }

        return marks.ToImmutable();
    }
}
