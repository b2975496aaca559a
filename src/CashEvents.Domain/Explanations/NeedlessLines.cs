namespace CashEvents.Domain.Explanations;

/// <summary>Lines of a counted place that may be there twice, or whose money did not move.</summary>
internal sealed class NeedlessLines(LookedAt at, CountedPlace counted)
{
    private const int LongestGap = 7;
    private const int MostAlike = 20;
    private const int LongestRun = 12;
    private const int LinesForThrees = 60;
    private const decimal MostUnusual = 20m;

    // That the copy stands on the same day, on the next, and so on.
    private static readonly decimal[] Gaps = [0.7m, 0.12m, 0.06m, 0.04m, 0.03m, 0.02m, 0.02m, 0.01m];

    /// <summary>Those that alone would make a difference.</summary>
    public IEnumerable<Mistake> Making(Money difference) =>
        Twice(difference, int.MaxValue).Concat(NotMoved(difference));

    /// <summary>What may be there twice on the latest lines.</summary>
    /// <param name="wanted">The difference that it makes; null for any.</param>
    /// <param name="latest">How many lines.</param>
    public IEnumerable<Mistake> Twice(Money? wanted, int latest)
    {
        foreach (var alike in counted.Lines.TakeLast(latest).Where(l => wanted is null || wanted == -l.Change)
            .GroupBy(l => (l.Said.Kind, l.Change, Other(l))))
        {
            foreach (var (first, second) in alike.Zip(alike.Skip(1)))
            {
                var gap = second.Said.OccurredOn.DayNumber - first.Said.OccurredOn.DayNumber;
                var (twin, copy) = first.Number < second.Number ? (first, second) : (second, first);
                if (gap > LongestGap || (twin.IsBefore && copy.IsBefore))
                {
                    continue;
                }

                var usual = at.Habits.Rate(counted.Place, copy.Said, copy.Change, AmountsOf.Words);
                yield return new NeedlesslyRecorded(MistakeKind.RecordedTwice, [(copy.Number, copy.Said)], twin.Number)
                {
                    Weight = (copy.IsBefore ? Priors.BeforeAgreement : 1m) * at.Priors.Of(MistakeKind.RecordedTwice)
                        / counted.Fresh * Gaps[gap] * SameWords(twin, copy) / usual,
                };
            }
        }
    }

    // A copy mostly has the same words, or none.
    private static decimal SameWords(SheetLine twin, SheetLine copy) =>
        twin.Said.Description == copy.Said.Description ? 0.75m
        : twin.Said.Description.Length == 0 || copy.Said.Description.Length == 0 ? 0.15m : 0.02m;

    private Part? Other(SheetLine line) =>
        line.Said.Postings.Select(p => (Part?)p.Place).FirstOrDefault(p => p != counted.Place);

    // Lines that together are the difference: mostly one; two, or three of the latest, within a week, rather of one
    // day; or some that follow one another.
    private IEnumerable<Mistake> NotMoved(Money wanted)
    {
        var prior = at.Priors.Of(MistakeKind.NotMoved);
        var lines = counted.Lines.Where(l => !l.IsBefore).ToList();
        var found = new List<(SheetLine[] Lines, decimal Weight)>();
        found.AddRange(lines.Where(l => -l.Change == wanted)
            .Select(l => (new[] { l }, 0.7m * Planned(l) / lines.Count)));
        found.AddRange(WithinAWeek(Twos(lines, wanted)).Select(set => (set, 0.15m * Near(lines, set))));
        found.AddRange(WithinAWeek(Threes([.. lines.TakeLast(LinesForThrees)], wanted))
            .Select(set => (set, 0.05m * Near(lines, set))));
        found.AddRange(Runs(lines, wanted).Take(MostAlike)
            .Select(set => (set, 0.1m / lines.Count / LongestRun)));
        return found.Select(f => new NeedlesslyRecorded(MistakeKind.NotMoved,
            [.. f.Lines.Select(l => (l.Number, l.Said))], null)
        { Weight = prior * f.Weight });
    }

    // Half of it was planned and not done: what is planned is a round sum, unusual or not.
    private decimal Planned(SheetLine line) => 0.5m + (0.5m * Math.Min(MostUnusual, at.ShareOfRoundSums(line.Change)
        / at.Habits.ShareWithWords(counted.Place, line.Said, line.Change, line.Change)));

    private static IEnumerable<SheetLine[]> WithinAWeek(IEnumerable<SheetLine[]> sets) =>
        sets.Where(s => Days(s) <= LongestGap).OrderBy(Days).ThenBy(s => s[0].Number).Take(MostAlike);

    private static int Days(SheetLine[] lines) =>
        lines[^1].Said.OccurredOn.DayNumber - lines[0].Said.OccurredOn.DayNumber;

    // Half as likely for each day between; shared by all sets that are as near.
    private static decimal Near(List<SheetLine> lines, SheetLine[] set)
    {
        var (first, last) = (set[0].Said.OccurredOn, set[^1].Said.OccurredOn);
        var near = lines.Count(l => l.Said.OccurredOn >= first && l.Said.OccurredOn <= last);
        var sets = set.Length == 2 ? near : near * near / 2m;
        return 1m / lines.Count / Math.Max(1m, sets) / (1 << (Days(set) + 1));
    }

    private static IEnumerable<SheetLine[]> Twos(List<SheetLine> lines, Money wanted)
    {
        var seen = new Dictionary<Money, SheetLine>();
        foreach (var line in lines)
        {
            if (seen.TryGetValue(-wanted - line.Change, out var other))
            {
                yield return [other, line];
            }

            seen[line.Change] = line;
        }
    }

    private static IEnumerable<SheetLine[]> Threes(List<SheetLine> lines, Money wanted)
    {
        for (var i = 0; i < lines.Count; i++)
        {
            foreach (var two in Twos(lines[(i + 1)..], wanted + lines[i].Change))
            {
                yield return [lines[i], .. two];
            }
        }
    }

    private static IEnumerable<SheetLine[]> Runs(List<SheetLine> lines, Money wanted)
    {
        for (var first = 0; first < lines.Count; first++)
        {
            var sum = Money.Zero;
            for (var last = first; last < Math.Min(lines.Count, first + LongestRun); last++)
            {
                sum += lines[last].Change;
                if (-sum == wanted && last - first >= 3)
                {
                    yield return [.. lines.GetRange(first, last - first + 1)];
                }
            }
        }
    }
}
