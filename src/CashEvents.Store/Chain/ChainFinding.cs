namespace CashEvents.Store.Chain;

/// <summary>What was found when a book was walked.</summary>
/// <param name="Lines">How many lines, from the first, fit together.</param>
/// <param name="Hash">Hash of the last of them; it says what all of them say.</param>
/// <param name="WithoutHash">How many lines, from the first, were written before lines had a hash. The first hash after
/// them covers them.</param>
/// <param name="Misfit">The first line that does not fit; null when all do.</param>
public sealed record ChainFinding(long Lines, string Hash, long WithoutHash, Misfit? Misfit)
{
    /// <summary>Before the first line.</summary>
    internal static ChainFinding OfNothing { get; } = new(0, LineHash.BeforeFirst, 0, null);

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

    /// <summary>The line that is missing at the end of a book that should end later; null where none is.</summary>
    internal Misfit? Missing(long last) =>
        Lines < last ? new Misfit(Lines + 1, $"Line {Lines + 1} is missing: the book has {last} lines.") : null;

    /// <summary>What is found of a book with one more line; a line that does not fit ends the walk.</summary>
    /// <param name="line">The next line as its row has it.</param>
    /// <param name="household">Whose book it is.</param>
    /// <param name="last">Number of the line with which the book should end.</param>
    internal ChainFinding Then(StoredLine line, string household, long last)
    {
        if (Misfit is not null)
        {
            return this;
        }

        var expected = Lines + 1;
        if (line.Number < expected)
        {
            return this with
            {
                Misfit = new Misfit(line.Number,
                $"A line numbered {line.Number} stands before line 1.")
            };
        }

        if (line.Number > expected)
        {
            return this with
            {
                Misfit = new Misfit(expected,
                $"Line {expected} is missing: the next one is line {line.Number}.")
            };
        }

        if (line.Number > last)
        {
            return this with
            {
                Misfit = new Misfit(line.Number,
                $"Line {line.Number} stands after the end of the book, which is line {last}.")
            };
        }

        var hash = line.HashAfter(Hash, household);
        return hash is null ? this with
        {
            Misfit = new Misfit(line.Number,
            $"Line {line.Number} says what no line of a book can say.")
        }
            : line.Hash is null && WithoutHash < Lines
                ? this with
                {
                    Misfit = new Misfit(line.Number,
                    $"Line {line.Number} has no hash, though line {Lines} has one.")
                }
            : line.Hash is null ? new ChainFinding(expected, hash, expected, null)
            : line.Hash == hash ? this with { Lines = expected, Hash = hash }
            : this with { Misfit = new Misfit(line.Number, HashDiffers(line.Number)) };
    }

    /// <summary>What is found of a book with more lines.</summary>
    /// <inheritdoc cref="Then(StoredLine, string, long)"/>
    internal ChainFinding Then(IEnumerable<StoredLine> lines, string household, long last) =>
        lines.Aggregate(this, (walked, line) => walked.Then(line, household, last));

    private string HashDiffers(long line) =>
        WithoutHash > 0 && WithoutHash == Lines
        ? $"Line {line} has another hash than it and the lines before it give. It is the first that has one: it, or "
            + $"any of lines 1 to {Lines}, was changed."
        : $"Line {line} has another hash than it and the lines before it give: it was changed, or stands in another's "
            + $"place.";
}

/// <summary>The first line of a book that does not fit.</summary>
/// <param name="Line">Its number; of a line that is missing, the number that is missing.</param>
/// <param name="Reason">What is wrong, for people.</param>
public sealed record Misfit(long Line, string Reason);
