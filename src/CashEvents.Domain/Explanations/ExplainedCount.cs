using System.Collections.Immutable;

namespace CashEvents.Domain.Explanations;

/// <summary>A count that disagrees, with what would make it agree.</summary>
/// <param name="Place">What was counted.</param>
/// <param name="Count">The count.</param>
/// <param name="Explanations">Likeliest first, each proven by a rehearsal.</param>
/// <param name="Together">The fewest mistakes that make all counts of that day agree, when more than one
/// disagrees.</param>
/// <param name="SomethingElse">The likelihood, from 0 to 1, of what is not listed.</param>
/// <param name="Since">The day of the count before it that agreed; null when none is known.</param>
/// <param name="LinesLookedAt">Among how many lines it was looked for.</param>
public sealed record ExplainedCount(
    Part Place, LastCount Count, ImmutableArray<Explanation> Explanations, Explanation? Together,
    decimal SomethingElse, DateOnly? Since, int LinesLookedAt)
{
    /// <summary>The count that would decide best between them; null where none would tell much.</summary>
    public NextCount? Next { get; init; }

    /// <summary>The most lines of a book that are read to explain a count: the latest up to its day.</summary>
    public const int MostLines = 5_000;

    /// <summary>How many days after it are looked at, for lines on the wrong side of it.</summary>
    public const int DaysAfter = MiswrittenLines.LatestDay;

    /// <summary>
    /// How many days before the last agreeing count are looked at too. A count that agreed shows that what was before
    /// it is right, unless two mistakes hid each other;
    /// a week keeps the lines that a doubled one may repeat.
    /// </summary>
    public const int DaysBefore = 7;

    private const int MostRehearsals = 100;
    private const int MostNamed = 20;

    /// <summary>Explains the last count of a place.</summary>
    /// <param name="book">The book, whole.</param>
    /// <param name="count">The line of the count.</param>
    /// <param name="lines">Lines of the book up to some days after the count, in date order; within a day as
    /// written.</param>
    /// <param name="today">The household's date.</param>
    /// <param name="limit">At most so many explanations.</param>
    /// <exception cref="RefusalException">There is no such count, a later one stands in its stead, or it is
    /// settled.</exception>
    public static ExplainedCount Of(Book book, long count, IReadOnlyList<BookLine> lines, DateOnly today, int limit)
    {
        ArgumentNullException.ThrowIfNull(book);
        ArgumentNullException.ThrowIfNull(lines);
        var (place, last) = LastCount.In(book, count);
        if (last.Settled)
        {
            throw Refusal.Conflict("count-settled",
                $"Count {count} is settled already: what made it disagree was accepted.");
        }

        var at = new LookedAt(book, lines, last, today);
        var counted = at.Counted.First(c => c.Place == place);
        return last.Difference == Money.Zero
            ? new ExplainedCount(place, last, [], null, 0m, counted.Since, counted.Lines.Length)
            : new Search(at, counted).Explain(limit);
    }

    private sealed class Search
    {
        private readonly LookedAt _at;
        private readonly CountedPlace _counted;
        private readonly Reasons _reasons;
        private readonly DayOfCounts _day;

        public Search(LookedAt at, CountedPlace counted)
        {
            (_at, _counted) = (at, counted);
            _reasons = new Reasons(at.Book, counted);
            _day = new DayOfCounts(at, counted.Place, Proves);
        }

        public ExplainedCount Explain(int limit)
        {
            var causes = _day.Chances().Take(MostRehearsals).ToList();
            ImmutableArray<Explanation> listed =
            [
                .. causes.Where(c => _day.CanBeWritten(c.Cause)).Take(limit)
                    .Select(c => Told(c.Cause.Mistakes, Rounded(c.Chance))),
            ];
            return new ExplainedCount(_counted.Place, _counted.Count, listed, Together(),
                Math.Max(0m, 1m - listed.Sum(e => e.Likelihood)), _counted.Since, _counted.Lines.Length)
            {
                Next = NextCount.Best(_at.Book, _at.Counted, _counted, causes),
            };
        }

        private Explanation Told(IReadOnlyList<Mistake> mistakes, decimal likelihood)
        {
            ImmutableArray<Mistake> named = [.. mistakes.Select(m => Named(m, mistakes.Count == 1))];
            var agreeing = _day.AgreeingCounts(mistakes);
            return new Explanation(named, agreeing, likelihood)
            {
                Why = _reasons.Why(named, agreeing.Length - 1),
                Look = _reasons.Look(named),
            };
        }

        // What is not recorded may be there already.
        private Mistake Named(Mistake mistake, bool alone) => mistake is NotRecorded n
            ? n with { MayBe = [.. _day.ThereAlready(n, alone).Take(MostNamed)] }
            : mistake;

        private Explanation? Together()
        {
            if (_day.Off.Count < 2 || _at.Counted.Count(c => c.Count.Difference != Money.Zero) > _day.Off.Count
                || _day.Total() is not var (causes, chance))
            {
                return null;
            }

            var explanation = Told([.. causes.SelectMany(c => c.Mistakes)], Rounded(chance));
            return Proves(explanation.Mistakes, explanation.Counts) ? explanation : null;
        }

        // By the rules that hold when it is written: the counts agree, and none that agreed disagrees.
        private bool Proves(IReadOnlyList<Mistake> mistakes, ImmutableArray<long> counts)
        {
            try
            {
                var mend = new Explanation([.. mistakes], counts, 0m).Mend(_at.Book);
                var then = Rehearsal.Of(_at.Book, [.. mend.Select(c => new Supposition("", c))], _at.Today).Then;
                return CountsInBook.LastCounts.In(_at.Book).All(now => now.Value.Settled
                    || then.LastCount(now.Key)!.Difference == Money.Zero
                    || (now.Value.Difference != Money.Zero && !counts.Contains(now.Value.Line)));
            }
            catch (RefusalException)
            {
                return false;
            }
        }

        private static decimal Rounded(decimal likelihood) => Math.Round(likelihood, 4, MidpointRounding.AwayFromZero);
    }
}
