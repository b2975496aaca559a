using System.Data;
using Npgsql;

namespace CashEvents.Store.Chain;

/// <summary>What was found when a book was walked.</summary>
/// <param name="Lines">How many lines, from the first, fit together.</param>
/// <param name="Hash">Hash of the last of them; it says what all of them say.</param>
/// <param name="WithoutHash">How many lines, from the first, were written before lines had a hash. The first hash after
/// them covers them.</param>
/// <param name="Misfit">The first line that does not fit; null when all do.</param>
public sealed record ChainFinding(long Lines, string Hash, long WithoutHash, Misfit? Misfit)
{
    /// <summary>
    /// What is kept beside the lines and does not say what they give. Looked for only when the lines fit: of others
    /// nothing could be made.
    /// </summary>
    public IReadOnlyList<Drift> Drifts { get; init; } = [];

    /// <summary>Whether the lines fit, and what is kept beside them is what they give.</summary>
    public bool Agrees => Misfit is null && Drifts.Count == 0;

    /// <summary>Where that stands which does not say what the lines give: tables, and the page of the book.</summary>
    public IReadOnlyList<string> Drifted =>
        [.. Drifts.Select(d => d.Document).Distinct().Order(StringComparer.Ordinal)];
}

/// <summary>The first line of a book that does not fit.</summary>
/// <param name="Line">Its number; of a line that is missing, the number that is missing.</param>
/// <param name="Reason">What is wrong, for people.</param>
public sealed record Misfit(long Line, string Reason);

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
        var sofar = new ChainFinding(0, LineHash.BeforeFirst, 0, null);
        await foreach (var line in StoredLine.ReadAsync(connection, household, long.MaxValue, cancellation)
            .ConfigureAwait(false))
        {
            sofar = Next(sofar, line, household, end);
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

    private static ChainFinding Next(ChainFinding before, StoredLine line, string household, BookEnd end)
    {
        var expected = before.Lines + 1;
        if (line.Number < expected)
        {
            return before with
            {
                Misfit = new Misfit(line.Number,
                $"A line numbered {line.Number} stands before line 1.")
            };
        }

        if (line.Number > expected)
        {
            return before with
            {
                Misfit = new Misfit(expected,
                $"Line {expected} is missing: the next one is line {line.Number}.")
            };
        }

        if (line.Number > end.Line)
        {
            return before with
            {
                Misfit = new Misfit(line.Number,
                $"Line {line.Number} stands after the end of the book, which is line {end.Line}.")
            };
        }

        var hash = line.HashAfter(before.Hash, household);
        return hash is null ? before with
        {
            Misfit = new Misfit(line.Number,
            $"Line {line.Number} says what no line of a book can say.")
        }
            : line.Hash is null && before.WithoutHash < before.Lines
                ? before with
                {
                    Misfit = new Misfit(line.Number,
                    $"Line {line.Number} has no hash, though line {before.Lines} has one.")
                }
            : line.Hash is null ? new ChainFinding(expected, hash, expected, null)
            : line.Hash == hash ? before with { Lines = expected, Hash = hash }
            : before with { Misfit = new Misfit(line.Number, HashDiffers(before, line.Number)) };
    }

    private static string HashDiffers(ChainFinding before, long line) =>
        before.WithoutHash > 0 && before.WithoutHash == before.Lines
        ? $"Line {line} has another hash than it and the lines before it give. It is the first that has one: it, or "
            + $"any of lines 1 to {before.Lines}, was changed."
        : $"Line {line} has another hash than it and the lines before it give: it was changed, or stands in another's "
            + $"place.";

    private static Misfit? AtEnd(ChainFinding walked, BookEnd end) =>
        walked.Lines < end.Line ? new Misfit(walked.Lines + 1,
            $"Line {walked.Lines + 1} is missing: the book has {end.Line} lines.")
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
