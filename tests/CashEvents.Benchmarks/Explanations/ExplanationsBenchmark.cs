using System.Globalization;

namespace CashEvents.Benchmarks.Explanations;

/// <summary>
/// Known mistakes are made in households that know nothing of the model; how often is the true one listed first, among
/// the first three, at all? Are the stated chances the shares that were right? What is said of a plain loss? And how
/// long does an answer take with 5,000 lines since the last count that agreed?
/// </summary>
internal static class ExplanationsBenchmark
{
    public const int Limit = 20;

    /// <summary>How many explanations a household has accepted that has learnt.</summary>
    private const int FoundBehind = 20;

    /// <summary>So many are asked for, to see what could be known of them.</summary>
    public const int Found = 100;

    /// <summary>Plain losses for each single mistake as people err.</summary>
    public const double LossesPerSingle = 0.25;

    /// <summary>Measures.</summary>
    /// <param name="seeds">Of chance.</param>
    /// <param name="cases">So many for each seed, setting and sort of case.</param>
    /// <param name="which">Settings: kept-aside for those that the model was not looked at with, drawn for some that
    /// chance draws; otherwise those that were looked at.</param>
    public static int Run(int[] seeds, int cases, string which)
    {
        var every = new List<Answered>();
        var settings = which == "drawn"
            ? seeds.SelectMany(s => Rates.Drawn(s, 10).Select(r => (Rates: r, Seeds: new[] { s })))
            : (which == "kept-aside" ? Rates.KeptAside : Rates.Open).Select(r => (Rates: r, Seeds: seeds));
        foreach (var (rates, of) in settings)
        {
            var answers = of.SelectMany(s => Ask(s, cases, rates)).ToList();
            every.AddRange(answers);
            if (which != "drawn")
            {
                Console.WriteLine();
                Console.WriteLine($"== {rates.Name}");
                Report.Write(answers);
            }
        }

        Console.WriteLine();
        Console.WriteLine("== all settings");
        Report.Write(every);
        Report.WriteKinds(every);
        Learning(seeds, cases);
        Times(seeds[0]);
        return 0;
    }

    // Households that err in ways of their own, by what they found behind twenty earlier counts.
    private static void Learning(int[] seeds, int cases)
    {
        Console.WriteLine(
            $"  after {FoundBehind} explanations that were accepted, in households that err in ways of their own:");
        foreach (var told in new[] { false, true })
        {
            var answers = seeds.SelectMany(seed => Rates.Drawn(seed, 10).SelectMany((rates, household) => Enumerable
                .Range(0, Math.Max(1, cases / 4)).SelectMany(i => Learned(new Random((seed * 7919) + (household * 1_009)
                    + i), rates, told)))).ToList();
            Report.WriteLearning(told ? "after them" : "before", answers);
        }
    }

    private static IEnumerable<Answered> Learned(Random random, Rates rates, bool told)
    {
        bool Lost() => random.NextDouble() < LossesPerSingle / (1 + LossesPerSingle);
        Err?[] found = [.. Enumerable.Range(0, FoundBehind).Select(_ => Lost() ? null : (Err?)Usual(random, rates))];
        Err[] errs = Lost() ? [] : [Usual(random, rates)];
        var book = new MistakenBook(random, rates, errs, errs.Length == 0, found, told);
        return book.Made
            ? [Answered.Of(errs.Length == 0 ? Sort.Loss : Sort.AsPeopleErr, errs, book, rates, withBest: false)]
            : [];
    }

    private static Err Usual(Random random, Rates rates)
    {
        var at = random.NextDouble() * rates.Weights.Sum();
        return Enum.GetValues<Err>().First(k => (at -= rates.Weights[(int)k]) <= 0);
    }

    private static void Times(int seed)
    {
        Console.WriteLine($"  time for an answer with {ExplainedCount.MostLines} lines in the window, milliseconds:");
        foreach (var errs in new Err[][]
            { [Err.Transposed], [Err.SpendForgotten], [Err.Transposed, Err.SpendForgotten] })
        {
            var times = Enumerable.Range(0, 16)
                .Select(i => new MistakenBook(new Random((seed * 31) + i), Rates.Dense, errs, loss: false))
                .Where(b => b.Made).Select(b => Answered.Of(Sort.AsPeopleErr, errs, b, Rates.Dense)).ToList();
            // The first ones run before the code is compiled for speed.
            var warm = times.Skip(2).Select(t => t.Milliseconds).Order().ToList();
            var busy = times.Skip(2).Select(t => t.Busy).Order().ToList();
            var first = times.Take(2).Max(t => t.Milliseconds);
            Console.WriteLine(string.Create(CultureInfo.InvariantCulture,
                $"    {string.Join(" and ", errs),-30} {times.Count} answers, median {warm[warm.Count / 2]:F0}, "
                    + $"longest {warm[^1]:F0} (of the first two {first:F0}); processor busy {busy[busy.Count / 2]:F0}, "
                    + $"longest {busy[^1]:F0}"));
        }
    }

    private static List<Answered> Ask(int seed, int cases, Rates rates)
    {
        var answers = new List<Answered>();
        var kinds = Enum.GetValues<Err>();
        Random For(int sort, int i) =>
            new(unchecked((seed * 7919) + (sort * 104_729) + (rates.Name.Sum(c => c) * 31) + i));
        void Add(Sort sort, int i, Func<Random, Err[]> errs)
        {
            var random = For((int)sort, i);
            var made = errs(random);
            var book = new MistakenBook(random, rates, made, sort == Sort.Loss);
            if (book.Made)
            {
                answers.Add(Answered.Of(sort, made, book, rates));
            }
        }

        for (var i = 0; i < cases; i++)
        {
            Add(Sort.AsPeopleErr, i, r => [Usual(r, rates)]);
            Add(Sort.Uniform, i, r => [kinds[r.Next(kinds.Length)]]);
            if (i % 4 == 0)
            {
                Add(Sort.Loss, i, _ => []);
                Add(Sort.Pair, i, r => [Usual(r, rates), Usual(r, rates)]);
            }

            if (i % 20 == 0)
            {
                Add(Sort.Triple, i, r => [Usual(r, rates), Usual(r, rates), Usual(r, rates)]);
            }
        }

        return answers;
    }
}
