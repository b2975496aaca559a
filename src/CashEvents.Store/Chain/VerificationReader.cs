using System.Data;
using Npgsql;

namespace CashEvents.Store.Chain;

/// <summary>
/// Walks books from the first line to the last and tells whether each line still says what it said when it was written,
/// and whether what is kept beside the lines is what they give.
/// </summary>
public sealed class VerificationReader(NpgsqlDataSource database, Rebuilder rebuilder)
{
    private const string Ends = $"""
        select (select version from {BookTables.Schema}.mt_streams where tenant_id = $1 and id = '{BookTables.Stream}'),
               (select data->'book'->>'line' from {BookTables.Schema}.mt_doc_bookpage where tenant_id = $1 and id = '{BookPage.TheOne}'),
               (select data->>'hash' from {BookTables.Schema}.mt_doc_bookpage where tenant_id = $1 and id = '{BookPage.TheOne}')
        """;

    private const string Households = $"""
        select tenant_id from {BookTables.Schema}.mt_streams where id = '{BookTables.Stream}'
        union select tenant_id from {BookTables.Schema}.mt_doc_bookpage
        order by tenant_id
        """;

    /// <summary>Every household that has a book here, by the books themselves.</summary>
    public async Task<IReadOnlyList<string>> HouseholdsAsync(CancellationToken cancellation = default)
    {
        await using var command = database.CreateCommand(Households);
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        var households = new List<string>();
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            households.Add(reader.GetString(0));
        }

        return households;
    }

    /// <summary>
    /// Walks a household's book as it stands at this moment; what is written meanwhile is not seen. Memory does not
    /// grow with the book.
    /// </summary>
    public async Task<ChainFinding> ReadAsync(string household, CancellationToken cancellation = default)
    {
        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        await using var snapshot =
            await connection.BeginTransactionAsync(IsolationLevel.RepeatableRead, cancellation).ConfigureAwait(false);
        var end = await EndAsync(connection, household, cancellation).ConfigureAwait(false);
        var sofar = ChainFinding.OfNothing;
        await foreach (var line in StoredLine.ReadAsync(connection, household, long.MaxValue, cancellation)
            .ConfigureAwait(false))
        {
            sofar = sofar.Then(line, household, end.Line);
            if (sofar.Misfit is not null)
            {
                return sofar;
            }
        }

        return AtEnd(sofar, end) is { } misfit
            ? sofar with { Misfit = misfit }
            : sofar with
            {
                Drifts = await rebuilder.LookAsync(connection, household, cancellation)
                .ConfigureAwait(false)
            };
    }

    private static Misfit? AtEnd(ChainFinding walked, BookEnd end) =>
        walked.Missing(end.Line) is { } missing ? missing
        : end.PageLine != end.Line
            ? new Misfit(Math.Min(end.PageLine, end.Line) + 1,
                $"The book ends at line {end.Line}, but its balances stand at line {end.PageLine}.")
        : end.PageHash is null ? WithoutPageHash(walked)
        : end.PageHash != walked.Hash
            ? new Misfit(walked.Lines,
                $"Line {walked.Lines} is not the last that was written: its hash is not the one kept with the "
                    + "balances.")
        : null;

    // A book that no version with hashes has written in has none anywhere.
    private static Misfit? WithoutPageHash(ChainFinding walked) => walked.WithoutHash == walked.Lines
        ? null
        : new Misfit(walked.Lines, $"The hash of line {walked.Lines}, the last, is not kept with the balances.");

    private static async Task<BookEnd> EndAsync(NpgsqlConnection connection, string household,
        CancellationToken cancellation)
    {
        await using var command = new NpgsqlCommand(Ends, connection) { Parameters = { new() { Value = household } } };
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        await reader.ReadAsync(cancellation).ConfigureAwait(false);
        return new BookEnd(
            reader.IsDBNull(0) ? 0 : reader.GetInt64(0),
            reader.IsDBNull(1) || !long.TryParse(reader.GetString(1), out var line) ? 0 : line,
            reader.IsDBNull(2) ? null : reader.GetString(2));
    }

    /// <summary>Where the book ends by what is kept beside its lines.</summary>
    private sealed record BookEnd(long Line, long PageLine, string? PageHash);
}
