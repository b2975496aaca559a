using Npgsql;

namespace CashEvents.Store.Rebuilds;

/// <summary>
/// Makes everything beside the lines of a book that has nothing there yet, while its lines come, in a transaction of
/// the caller's.
/// </summary>
internal sealed class Making(NpgsqlConnection connection, string household)
{
    private readonly Rebuilt _rebuilt = new();

    /// <summary>Takes in the next line.</summary>
    public void Take(SaidLine line) => _rebuilt.Add(line);

    /// <summary>Puts in the rows of some lines that follow on each other.</summary>
    public async Task PutInAsync(IReadOnlyList<SaidLine> lines, CancellationToken cancellation)
    {
        foreach (var rows in Rebuilt.Of(lines, lines[0].Number - 1, lines[^1].Number))
        {
            await using var insert = rows.Table.PutIn(connection, household, rows);
            await insert.ExecuteNonQueryAsync(cancellation).ConfigureAwait(false);
        }
    }

    /// <summary>Puts in what all lines give together.</summary>
    public Task EndAsync(CancellationToken cancellation) =>
        Rebuilder.EndAsync(connection, household, _rebuilt, cancellation);
}
