using System.Diagnostics;

namespace CashEvents.Benchmarks.Explanations;

/// <summary>What sort of case it is.</summary>
internal enum Sort
{
    AsPeopleErr, Uniform, Pair, Triple, Loss,
}

/// <summary>One explanation with its chance.</summary>
/// <param name="Code">Which.</param>
/// <param name="Chance">From 0 to 1.</param>
/// <param name="IsTrue">Whether it is the truth.</param>
internal readonly record struct Stated(string Code, decimal Chance, bool IsTrue);

/// <summary>What was said of one case.</summary>
/// <param name="Sort">What sort of case it is.</param>
/// <param name="Errs">The mistakes made.</param>
/// <param name="Prices">How the household's prices end.</param>
/// <param name="Rank">At which place, from 1, the truth is listed; null where it is not.</param>
/// <param name="Listed">Each stated chance, and whether it is the truth.</param>
/// <param name="SomethingElse">The chance of what is not listed.</param>
/// <param name="Rules">Whether each simple rule was right.</param>
/// <param name="Doubles">How many proposals would write a line that is there already, without saying so.</param>
/// <param name="First">The kinds of the first answer.</param>
/// <param name="Milliseconds">What it took.</param>
/// <param name="Busy">How much of it the processor was busy with it, in milliseconds.</param>
internal sealed record Answered(Sort Sort, Err[] Errs, Prices Prices, int? Rank, Stated[] Listed,
    decimal SomethingElse, bool[] Rules, int Doubles, string First, double Milliseconds,
    double Busy)
{
    /// <summary>
    /// The best order, by who knows how the household lives and errs, each with its chance and whether it is the truth;
    /// null where it was not asked for.
    /// </summary>
    public Stated[]? Best { get; init; }

    /// <summary>The difference, with what each counted place was off by.</summary>
    public string Off { get; init; } = "";

    /// <summary>The kinds of what is listed.</summary>
    public required MistakeKind[][] Kinds { get; init; }

    public static Answered Of(Sort sort, Err[] errs, MistakenBook book, Rates rates, bool withBest = true)
    {
        var lines = book.Lines.TakeLast(ExplainedCount.MostLines).ToList();
        var (began, busy) = (Stopwatch.GetTimestamp(), Environment.CpuUsage.TotalTime);
        var said = ExplainedCount.Of(book.Book, book.Count, lines, book.Life.Today, ExplanationsBenchmark.Limit);
        var took = Stopwatch.GetElapsedTime(began).TotalMilliseconds;
        busy = Environment.CpuUsage.TotalTime - busy;
        var listed = said.Explanations.Select(e => new Stated(e.Code, e.Likelihood, book.IsTrue(e))).ToArray();
        var at = Array.FindIndex(listed, l => l.IsTrue);
        return new Answered(sort, errs, book.Life.Prices, at < 0 ? null : at + 1, listed, said.SomethingElse,
            [.. SimpleRules.All.Select(r => book.IsTrue(new Explanation([r.Says(book)], [], 0m)))],
            said.Explanations.Count(book.WritesASecond),
            said.Explanations.IsEmpty ? "" : string.Join('+', said.Explanations[0].Mistakes.Select(m => m.Kind)), took,
            busy.TotalMilliseconds)
        {
            Kinds = [.. said.Explanations.Select(e => e.Mistakes.Select(m => m.Kind).ToArray())],
            Off = string.Join(' ', book.Life.Counted.Select(p => book.Book.LastCount(p)!.Difference.Minor)
                .Prepend(book.Difference.Minor)),
            Best = withBest && errs.Length < 2 && !rates.Crowded ? Ordered(sort, book, rates, lines) : null,
        };
    }

    // Over more than is listed, so that nothing likely is missing.
    private static Stated[] Ordered(Sort sort, MistakenBook book, Rates rates,
        IReadOnlyList<BookLine> lines)
    {
        var uniform = sort == Sort.Uniform;
        var weights = uniform ? [.. rates.Weights.Select(_ => 1.0)] : rates.Weights;
        var losses = uniform ? 0 : weights.Sum() * ExplanationsBenchmark.LossesPerSingle;
        return new BestPossible(book, rates, weights, losses)
            .Chances(ExplainedCount.Of(book.Book, book.Count, lines, book.Life.Today, ExplanationsBenchmark.Found)
                .Explanations);
    }
}
