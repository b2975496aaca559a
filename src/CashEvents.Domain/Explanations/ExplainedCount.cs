using System.Collections.Immutable;
using System.Numerics;

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
    /// <summary>The most lines of a book that are read to explain a count: the latest up to its day.</summary>
    public const int MostLines = 5_000;

    /// <summary>
    /// How many days before the last agreeing count are looked at too. A count that agreed shows that what was before
    /// it is right, unless two mistakes hid each other;
    /// a week keeps the lines that a doubled one may repeat.
    /// </summary>
    public const int DaysBefore = 7;

    private const int MostRehearsals = 100;
    private const int MostTogether = 12;

    /// <summary>Explains the last count of a place.</summary>
    /// <param name="book">The book, whole.</param>
    /// <param name="count">The line of the count.</param>
    /// <param name="lines">Lines of the book up to the count's day, in date order; within a day as written.</param>
    /// <param name="today">The household's date.</param>
    /// <param name="limit">At most so many explanations.</param>
    /// <exception cref="RefusalException">There is no such count, a later one stands in its stead, or it is
    /// settled.</exception>
    public static ExplainedCount Of(Book book, long count, IReadOnlyList<BookLine> lines, DateOnly today, int limit)
    {
        ArgumentNullException.ThrowIfNull(book);
        ArgumentNullException.ThrowIfNull(lines);
        var (part, last) = LastCount.In(book, count);
        if (last.Settled)
        {
            throw Refusal.Conflict("count-settled",
                $"Count {count} is settled already: what made it disagree was accepted.");
        }

        var standing = lines.Where(
            l => l.Event is IMovement and not (Reversed or CountSettled) && book.Corrections.By(l.Number) is null)
            .Select(l => (IMovement)l.Event);
        var habits = new Habits([.. standing], last.OccurredOn);
        var together = CountedWith(book, last).Select(c => CountedPlace.Of(book, c.Place, c.Count, lines)).ToList();
        var counted = together.Find(c => c.Place == part)!;
        return last.Difference == Money.Zero
            ? new ExplainedCount(part, last, [], null, 0m, counted.Since, counted.Lines.Length)
            : new Search(book, habits, today, counted, together).Explain(limit);
    }

    // What was counted on the same day and is not settled, in the order in which the compartments were opened.
    private static IEnumerable<(Part Place, LastCount Count)> CountedWith(Book book, LastCount count) =>
        from compartment in book.Compartments.Values.OrderBy(c => c.Line)
        from holding in Enum.GetValues<Holding>()
        let place = new Part(compartment.Id, holding)
        let other = book.LastCount(place)
        where other is { Settled: false } && other.OccurredOn == count.OccurredOn
        select (place, other);

    private sealed class Search(Book book, Habits habits, DateOnly today, CountedPlace counted,
        List<CountedPlace> together)
    {
        private readonly Dictionary<Part, CountedPlace> _off =
            together.Where(c => c.Count.Difference != Money.Zero).ToDictionary(c => c.Place);
        private readonly Dictionary<Part, List<Mistake>> _singles = [];

        public ExplainedCount Explain(int limit)
        {
            var singles = Singles(counted);
            var sets = singles.Select(m => (Mistakes: new[] { m }, Weight: Beside(m, counted)))
                .Concat(singles.Exists(Fits) ? [] : Twos())
                .OrderByDescending(s => s.Weight)
                .ToList();
            var all = sets.Sum(s => s.Weight) + Unknown(counted);
            var listed = new List<(Explanation Explanation, decimal Weight)>();
            foreach (var (mistakes, weight) in sets.Take(MostRehearsals))
            {
                if (listed.Count == limit)
                {
                    break;
                }

                var explanation = new Explanation([.. mistakes], Agreeing(mistakes), 0m);
                if (Proves(explanation))
                {
                    listed.Add((explanation, weight));
                }
                else
                {
                    all -= weight;
                }
            }

            ImmutableArray<Explanation> explanations =
                [.. listed.Select(l => l.Explanation with { Likelihood = Rounded(l.Weight / all) })];
            return new ExplainedCount(
                counted.Place, counted.Count, explanations, Together(),
                Math.Max(0m, 1m - explanations.Sum(e => e.Likelihood)), counted.Since, counted.Lines.Length);
        }

        // A mistake that another count needs as well counts as many times more as that count's difference is unlikely
        // without it.
        private decimal Beside(Mistake mistake, CountedPlace place) =>
            Agreeing([mistake]).Where(line => line != place.Count.Line)
            .Aggregate(mistake.Weight, (weight, line) => weight / Alone(_off.Values.First(o => o.Count.Line == line)));

        private decimal Alone(CountedPlace place) =>
            Singles(place).Where(m => Agreeing([m]).Length == 1).Sum(m => m.Weight) + Unknown(place);

        private decimal Likelihood(Mistake mistake, CountedPlace place) =>
            Beside(mistake, place) / (Singles(place).Sum(m => Beside(m, place)) + Unknown(place));

        // Half of what is lost or found is one note or coin, the other half as large as what the household moves.
        private decimal Unknown(CountedPlace place)
        {
            var faces = Denominations.StillIssued(book.Currency);
            var difference = new Money(Math.Abs(place.Count.Difference.Minor));
            return Priors.SomethingElse / 2
                * ((faces.Contains(difference) ? 1m / faces.Length : 0m) + habits.ShareOfAll(difference));
        }

        // What is more than a guess: seen before, or resting on a line that should be otherwise.
        private bool Fits(Mistake mistake) =>
            mistake is not (NotRecorded { SeenBefore: 0, Movement: not Transferred }
                or NeedlesslyRecorded { Kind: MistakeKind.NotMoved })
            && mistake.Weight >= Unknown(counted);

        private List<Mistake> Singles(CountedPlace place)
        {
            if (!_singles.TryGetValue(place.Place, out var found))
            {
                found = [.. new PossibleMistakes(book, habits, place, together).Making(place.Count.Difference)
                    .Where(m => LeavesOthers(m, place.Place))
                    .OrderByDescending(m => m.Weight).ThenBy(m => m.Code, StringComparer.Ordinal)
                    .DistinctBy(m => m is NeedlesslyRecorded n
                        ? string.Join('-', n.Written.Select(w => w.Line))
                        : m.Code)];
                _singles.Add(place.Place, found);
            }

            return found;
        }

        // No count that agrees may disagree by it; one that disagrees is either left or put right.
        private bool LeavesOthers(Mistake mistake, Part part) => mistake.Effects.All(e => e.Place == part
            || together.Find(c => c.Place == e.Place) is not { } other || other.Count.Difference == e.Amount);

        private ImmutableArray<long> Agreeing(IEnumerable<Mistake> mistakes) => [.. _off.Values
            .Where(o => mistakes.Aggregate(Money.Zero, (sum, m) => sum + m.EffectIn(o.Place)) == o.Count.Difference)
            .Select(o => o.Count.Line)];

        // Two mistakes whose effects add up: for each effect the likeliest, and the other looked up.
        private IEnumerable<(Mistake[] Mistakes, decimal Weight)> Twos()
        {
            var likeliest = new Dictionary<Money, Mistake>();
            foreach (var (mistake, effects) in new PossibleMistakes(book, habits, counted, together).All()
                .Select(m => (m, m.Effects)))
            {
                if (effects is not [var (_, effect)])
                {
                    continue;
                }

                if (!likeliest.TryGetValue(effect, out var known) || mistake.Weight > known.Weight)
                {
                    likeliest[effect] = mistake;
                }
            }

            var difference = counted.Count.Difference;
            return from one in likeliest
                   let rest = difference - one.Key
                   where one.Key <= rest && likeliest.ContainsKey(rest)
                   let other = likeliest[rest]
                   where one.Key != rest ? !one.Value.Lines.Intersect(other.Lines).Any() : one.Value is NotRecorded
                   let mistakes = new[] { one.Value, other }.OrderByDescending(m => m.Weight).ToArray()
                   select (mistakes, one.Value.Weight * other.Weight);
        }

        // Mistakes that make two counts agree at once are paired so that the fewest are left; each of the rest is
        // explained alone.
        private Explanation? Together()
        {
            if (_off.Count is < 2 or > MostTogether)
            {
                return null;
            }

            var places = _off.Values.ToArray();
            var best = new (int Mistakes, decimal Weight, Mistake[]? Set)[1 << places.Length];
            best[0] = (0, 1m, []);
            for (var done = 0; done < best.Length - 1; done++)
            {
                if (best[done].Set is not { } set)
                {
                    continue;
                }

                var next = Enumerable.Range(0, places.Length).First(i => (done & (1 << i)) == 0);
                foreach (var mistake in Options(places[next]))
                {
                    var agreeing = Agreeing([mistake]);
                    var after = done | places.Select((p, i) => agreeing.Contains(p.Count.Line) ? 1 << i : 0).Sum();
                    if ((after & done) == done
                        && BitOperations.PopCount((uint)after) == BitOperations.PopCount((uint)done) + agreeing.Length
                        && (best[after].Set is null || set.Length + 1 < best[after].Mistakes
                            || (set.Length + 1 == best[after].Mistakes
                                && best[done].Weight * mistake.Weight > best[after].Weight)))
                    {
                        best[after] = (set.Length + 1, best[done].Weight * mistake.Weight, [.. set, mistake]);
                    }
                }
            }

            if (best[^1].Set is not { } all)
            {
                return null;
            }

            // Each as likely as it is for a count that it makes agree.
            var likelihood = all.Aggregate(1m,
                (product, mistake) => product
                    * Likelihood(mistake, places.First(p => Agreeing([mistake]).Contains(p.Count.Line))));
            var explanation = new Explanation([.. all], Agreeing(all), Rounded(likelihood));
            return Proves(explanation) ? explanation : null;
        }

        // Of those for one place the likeliest that can be written, and all that put another right besides.
        private IEnumerable<Mistake> Options(CountedPlace place)
        {
            var found = Singles(place).Take(MostRehearsals).Where(m => m.Weight > 0m).ToList();
            var alone = found.Where(m => Agreeing([m]).Length == 1).Take(10)
                .FirstOrDefault(m => Proves(new Explanation([m], [place.Count.Line], 0m)));
            return found.Where(m => Agreeing([m]).Length > 1).Concat(alone is null ? [] : [alone]);
        }

        // By the rules that hold when it is written: the counts agree, and none that agreed disagrees.
        private bool Proves(Explanation explanation)
        {
            try
            {
                var then = Rehearsal.Of(book, [.. explanation.Mend(book).Select(c => new Supposition("", c))],
                    today).Then;
                return CountsInBook.LastCounts.In(book).All(now => now.Value.Settled
                    || then.LastCount(now.Key)!.Difference == Money.Zero
                    || (now.Value.Difference != Money.Zero && !explanation.Counts.Contains(now.Value.Line)));
            }
            catch (RefusalException)
            {
                return false;
            }
        }

        private static decimal Rounded(decimal likelihood) => Math.Round(likelihood, 4, MidpointRounding.AwayFromZero);
    }
}
