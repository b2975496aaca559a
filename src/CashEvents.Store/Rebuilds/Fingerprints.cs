using System.Runtime.CompilerServices;
using Npgsql;

namespace CashEvents.Store.Rebuilds;

/// <summary>
/// Short stand-ins for the rows of the tables: PostgreSQL makes them of what is kept and this of what the lines give,
/// so that rows go over the wire only where
/// the two differ. A row's fields are hashed from a seed of its own and the rows' hashes added up, so that neither a
/// value that stands in
/// another row nor a row too few or too many goes unseen. What goes by lines is taken together by handfuls of lines.
/// </summary>
internal sealed class Fingerprints
{
    /// <summary>Lines taken together.</summary>
    public const int Handful = 2000;

    /// <summary>More than the legs of any line.</summary>
    public const int Legs = 65536;

    private readonly List<(Int128 Lines, Int128 Sheets)> _handfuls = [];
    private readonly Dictionary<RebuiltTable, Int128> _whole = [];

    /// <summary>
    /// Of the rows that are kept, of the lines up to a number and of the tables that are taken whole.
    /// </summary>
    public static async Task<Fingerprints> OfKeptAsync(NpgsqlConnection connection, string household, long upTo,
        CancellationToken cancellation)
    {
        var kept = new Fingerprints();
        await foreach (var (handful, sum) in SumsAsync(connection, RebuiltTable.Lines, household, upTo, cancellation)
            .ConfigureAwait(false))
        {
            kept.Add(handful, sum, 0);
        }

        await foreach (var (handful, sum) in SumsAsync(connection, RebuiltTable.SheetRows, household, upTo,
            cancellation).ConfigureAwait(false))
        {
            kept.Add(handful, 0, sum);
        }

        foreach (var table in RebuiltTable.Whole)
        {
            await foreach (var (_, sum) in SumsAsync(connection, table, household, long.MaxValue, cancellation)
                .ConfigureAwait(false))
            {
                kept._whole[table] = sum;
            }
        }

        return kept;
    }

    /// <summary>Takes in the rows that a line gives.</summary>
    public void Add(in SaidLine line)
    {
        Int128 sheets = 0;
        foreach (var row in StoredRow.Of(line.Number, line.Event))
        {
            sheets += Hash(row);
        }

        Add((line.Number - 1) / Handful, Hash(line), sheets);
    }

    /// <summary>The handfuls of lines up to a number whose rows are not the same.</summary>
    public IEnumerable<(long After, long UpTo)> NotAsIn(Fingerprints others, long upTo)
    {
        for (var handful = 0; handful < Math.Max(_handfuls.Count, others._handfuls.Count); handful++)
        {
            if (_handfuls.ElementAtOrDefault(handful) != others._handfuls.ElementAtOrDefault(handful))
            {
                yield return (handful * (long)Handful, Math.Min((handful + 1L) * Handful, upTo));
            }
        }
    }

    /// <summary>Whether all rows of a table are these.</summary>
    public bool Are(RebuiltRows rows)
    {
        Int128 sum = 0;
        for (var row = 0; row < rows.Count; row++)
        {
            sum += (long)Hash(rows, row, rows.Table.Keys, rows.Values.Length, Hash(rows, row, 0, rows.Table.Keys, 0));
        }

        return sum == _whole.GetValueOrDefault(rows.Table);
    }

    private void Add(long handful, Int128 lines, Int128 sheets)
    {
        while (_handfuls.Count <= handful)
        {
            _handfuls.Add(default);
        }

        var (l, s) = _handfuls[(int)handful];
        _handfuls[(int)handful] = (l + lines, s + sheets);
    }

    private static long Hash(in SaidLine line)
    {
        var seed = (ulong)line.Number;
        var hash = PostgresHash.Text(line.Kind, seed);
        hash = PostgresHash.Record(hash, PostgresHash.Text(line.By, seed));
        hash = PostgresHash.Record(hash, PostgresHash.Day((line.Event as IDatedEvent)?.OccurredOn, seed));
        return (long)PostgresHash.Record(hash, PostgresHash.Number((line.Event as IMovement)?.Corrects?.Line, seed));
    }

    // Rows of one line and leg are about several compartments and say the same.
    private static long Hash(in StoredRow row)
    {
        var seed = (ulong)((row.Line * Legs) + row.Leg);
        var hash = PostgresHash.Text(row.Compartment, seed);
        hash = PostgresHash.Record(hash, PostgresHash.Text(row.Kind, seed));
        hash = PostgresHash.Record(hash, PostgresHash.Text(row.Holding, seed));
        hash = PostgresHash.Record(hash, PostgresHash.Number(row.Amount, seed));
        hash = PostgresHash.Record(hash, PostgresHash.Day(row.OccurredOn, seed));
        return (long)PostgresHash.Record(hash, PostgresHash.Text(row.Description, seed));
    }

    private static ulong Hash(RebuiltRows rows, int row, int from, int to, ulong seed)
    {
        var hash = 0UL;
        for (var column = from; column < to; column++)
        {
            hash = PostgresHash.Record(hash, rows.Values[column] switch
            {
                string?[] words => PostgresHash.Text(words[row], seed),
                long[] numbers => PostgresHash.Number(numbers[row], seed),
                long?[] numbers => PostgresHash.Number(numbers[row], seed),
                DateOnly[] days => PostgresHash.Day(days[row], seed),
                bool[] truths => PostgresHash.Number(truths[row] ? 1 : 0, seed),
                var others => throw new ArgumentException($"No hash is known for {others.GetType().GetElementType()}.",
                    nameof(rows)),
            });
        }

        return hash;
    }

    private static async IAsyncEnumerable<(long Handful, Int128 Sum)> SumsAsync(
        NpgsqlConnection connection, RebuiltTable table, string household, long upTo,
        [EnumeratorCancellation] CancellationToken cancellation)
    {
        await using var command = table.Sums(connection, household, upTo, Handful);
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            yield return (reader.GetInt64(0), (Int128)reader.GetDecimal(1));
        }
    }
}
