using System.Globalization;

namespace CashEvents.Benchmarks.Explanations;

/// <summary>Tables of how often the truth was found, and of what the stated chances were worth.</summary>
internal static class Report
{
    private static readonly CultureInfo Invariant = CultureInfo.InvariantCulture;

    public static void Write(List<Answered> answers)
    {
        Console.WriteLine($"{Heading("")}   simple rules, right first");
        foreach (var sort in answers.GroupBy(a => a.Sort).OrderBy(g => g.Key).Where(g => g.Key != Sort.Loss))
        {
            WriteRow(sort.Key.ToString(), [.. sort], rules: true);
            WriteGap([.. sort]);
        }

        WriteLosses([.. answers.Where(a => a.Sort == Sort.Loss)]);
        Console.WriteLine(string.Create(Invariant, $"  proposals that write a second line without saying so: "
            + $"{answers.Sum(a => a.Doubles)} of {answers.Sum(a => a.Listed.Length)}"));
        var mixed = answers.Where(a => a.Sort is Sort.AsPeopleErr or Sort.Loss).ToList();
        Calibration("singles as people err and losses, first answers", mixed.Select(First));
        Calibration("the best possible of the same",
            mixed.Where(a => a.Best is { Length: > 0 }).Select(a => a.Best![0]));
        Kinds(mixed);
        Calibration("the same with pairs, first answers",
            answers.Where(a => a.Sort is Sort.AsPeopleErr or Sort.Loss or Sort.Pair).Select(First));
        Calibration("singles as people err and losses, all that is listed", mixed.SelectMany(a => a.Listed));
    }

    public static void WriteKinds(List<Answered> answers)
    {
        Console.WriteLine(Heading("singles by kind"));
        foreach (var kind in answers.Where(a => a.Sort is Sort.Uniform or Sort.AsPeopleErr).GroupBy(a => a.Errs[0])
            .OrderBy(g => g.Key))
        {
            WriteRow(kind.Key.ToString(), [.. kind], rules: false);
            WriteGap([.. kind]);
        }

        foreach (var prices in answers.Where(a => a.Sort == Sort.AsPeopleErr).GroupBy(a => a.Prices))
        {
            WriteRow($"as people err, {prices.Key}", [.. prices], rules: true);
        }
    }

    // What chance the truth was given is worth its negative logarithm; what is not listed counts as one in a thousand.
    private static void WriteGap(List<Answered> answers)
    {
        double Loss(Func<Answered, IEnumerable<Stated>> stated) => answers.Average(a =>
            -Math.Log(Math.Max(0.001, (double)stated(a).Where(s => s.IsTrue).Sum(s => s.Chance))));
        var (stated, best) = (Loss(a => a.Listed), Loss(a => a.Best ?? []));
        Console.WriteLine(string.Create(Invariant, $"      log loss {stated:F2}, best {best:F2}, gap of all cases "
            + $"{(stated - best) * answers.Count:F1}; when not first: ") + string.Join(", ", answers
            .Where(a => a.Rank != 1).GroupBy(a => a.First).OrderByDescending(g => g.Count()).Take(5)
            .Select(g => $"{g.Count()} {g.Key} (best first in {g.Count(a => a.Best is [{ IsTrue: true }, ..])})")));
    }

    public static void WriteLearning(string when, List<Answered> answers)
    {
        var singles = answers.Where(a => a.Sort == Sort.AsPeopleErr).ToList();
        Console.WriteLine(string.Create(Invariant, $"    {when,-12}{singles.Count} single mistakes: first "
            + $"{(double)singles.Count(a => a.Rank == 1) / singles.Count:P1}, in three "
            + $"{(double)singles.Count(a => a.Rank <= 3) / singles.Count:P1}; with "
            + $"{answers.Count - singles.Count} losses Brier {Brier([.. answers.Select(First)]):F3}"));
    }

    private static double Brier(List<Stated> stated) =>
        stated.Average(s => Math.Pow((double)s.Chance - (s.IsTrue ? 1 : 0), 2));

    // "Best" is the order of who knows how the household lives and errs.
    private static string Heading(string what) =>
        $"  {what,-28}{"cases",7}{"first",9}{"in three",10}{"listed",9}{"best",9}{"in three",9}";

    // What is stated with much for a loss may be chance: the best possible states as much for some.
    private static void WriteLosses(List<Answered> losses)
    {
        if (losses.Count == 0)
        {
            return;
        }

        double Over(decimal chance, Func<Answered, IEnumerable<Stated>> stated) =>
            (double)losses.Count(l => stated(l).Any(x => x.Chance >= chance)) / losses.Count;
        Console.WriteLine(string.Create(Invariant, $"  of {losses.Count} plain losses a mistake is stated with 0.5 "
            + $"or more for {Over(0.5m, l => l.Listed):P1}, with 0.9 or more for {Over(0.9m, l => l.Listed):P1}; best "
            + $"{Over(0.5m, l => l.Best ?? []):P1} and {Over(0.9m, l => l.Best ?? []):P1}; something else is given "
            + $"{losses.Average(l => l.SomethingElse):F2}, log loss "
            + $"{losses.Average(l => -Math.Log(Math.Max(0.001, (double)l.SomethingElse))):F2}"));
        foreach (var (loss, most) in losses.Where(l => l.Listed is [{ Chance: >= 0.9m }, ..])
            .Select(l => (l, l.Listed[0])))
        {
            Console.WriteLine(string.Create(Invariant, $"    {most.Chance:F4} for {most.Code}, best "
                + $"{loss.Best?.FirstOrDefault(b => b.Code == most.Code).Chance:F4}; off {loss.Off}"));
        }
    }

    private static Stated First(Answered a) => a.Listed.FirstOrDefault();

    private static void WriteRow(string what, List<Answered> answers, bool rules)
    {
        double Share(int upTo) => (double)answers.Count(a => a.Rank <= upTo) / answers.Count;
        double Best(int upTo) =>
            (double)answers.Count(a => a.Best?.Take(upTo).Any(b => b.IsTrue) == true) / answers.Count;
        var simple = string.Join(", ", SimpleRules.All.Select((r, i) => string.Create(Invariant,
            $"{r.Name} {(double)answers.Count(a => a.Rules[i]) / answers.Count:P0}")));
        Console.WriteLine(string.Create(Invariant, $"  {what,-28}{answers.Count,7}{Share(1),9:P1}{Share(3),10:P1}"
            + $"{Share(ExplanationsBenchmark.Limit),9:P1}{Best(1),9:P1}{Best(3),9:P1}   {(rules ? simple : "")}"));
    }

    private static void Calibration(string what, IEnumerable<Stated> stated)
    {
        var all = stated.ToList();
        Console.WriteLine(string.Create(Invariant, $"  {what}: {all.Count}, Brier {Brier(all):F3}; stated, right (with "
            + $"what chance leaves), cases"));
        var bins = all.GroupBy(s => Math.Min(9, (int)(s.Chance * 10))).OrderBy(g => g.Key);
        Console.WriteLine("    " + string.Join("   ", bins.Select(g =>
        {
            var (low, high) = Wilson(g.Count(s => s.IsTrue), g.Count());
            return string.Create(Invariant, $"{g.Average(s => s.Chance):F2} {g.Average(s => s.IsTrue ? 1.0 : 0):F2} "
                + $"({low:F2}-{high:F2}) {g.Count()}");
        })));
    }

    // Of so many, so many were right: between which shares the true one lies, with 95 in 100. E. B. Wilson, Probable
    // Inference, the Law of Succession, and Statistical Inference, Journal of the American Statistical Association 22
    // (1927).
    private static (double Low, double High) Wilson(int right, int of)
    {
        const double z = 1.96;
        var (share, spread) = ((double)right / of, z * z / of);
        var (middle, half) = (share + (spread / 2),
            z * Math.Sqrt((share * (1 - share) / of) + (spread / of / 4)));
        return ((middle - half) / (1 + spread), (middle + half) / (1 + spread));
    }

    // How often a kind was stated, as the sum of its chances, and how often it was right.
    private static void Kinds(List<Answered> answers)
    {
        Console.WriteLine(
            "  by kind of what is listed: stated, right; of what is stated with 0.2 or more first, by tenths");
        foreach (var kind in answers.SelectMany(a => a.Listed.Select((l, i) => (l.Chance, l.IsTrue,
                Kind: string.Join('+', a.Kinds[i]), First: i == 0)))
            .GroupBy(l => l.Kind).OrderByDescending(g => g.Sum(l => l.Chance)).Take(25))
        {
            var bins = kind.Where(l => l.First && l.Chance >= 0.2m).GroupBy(s => Math.Min(9, (int)(s.Chance * 10)))
                .OrderBy(g => g.Key);
            var tenths = string.Join("   ", bins.Select(g => string.Create(Invariant,
                $"{g.Average(s => s.Chance):F2} {g.Average(s => s.IsTrue ? 1.0 : 0):F2} {g.Count()}")));
            Console.WriteLine(string.Create(Invariant,
                $"    {kind.Key,-40}{kind.Sum(l => l.Chance),8:F1}{kind.Count(l => l.IsTrue),6}   {tenths}"));
        }
    }
}
