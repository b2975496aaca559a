using System.Collections.Immutable;
using System.Numerics;

namespace CashEvents.Domain.Explanations;

/// <summary>
/// The counts of a day weighed as one. A mistake that two of them need counts as many times more as their differences
/// are unlikely without it; one that an agreeing count speaks against counts nothing.
/// </summary>
internal sealed class DayOfCounts
{
    private const int Most = 12;
    private const int MostCauses = 500;

    // A cause below this share is weighed without a look whether it can be written.
    private const decimal Worth = 0.02m;

    private readonly LookedAt _at;
    private readonly Func<IReadOnlyList<Mistake>, ImmutableArray<long>, bool> _canBeWritten;
    private readonly Dictionary<string, bool> _written = new(StringComparer.Ordinal);
    private readonly CountedPlace[] _off;
    private readonly Dictionary<Part, CountedPlace> _counted;
    private readonly Causes[] _causes;
    private readonly List<Cause>[] _alone;
    private readonly decimal[] _mass;
    private readonly List<(Cause Cause, int Places, decimal Weight)> _shared = [];
    private readonly Dictionary<int, decimal> _all = new() { [0] = 1m };

    /// <summary>Weighs the counts of a day.</summary>
    /// <param name="at">What is looked at.</param>
    /// <param name="asked">The count that is asked about, which disagrees.</param>
    /// <param name="canBeWritten">Whether mistakes can be put right, and these counts agree then, by their
    /// lines.</param>
    public DayOfCounts(LookedAt at, Part asked, Func<IReadOnlyList<Mistake>, ImmutableArray<long>, bool> canBeWritten)
    {
        (_at, _canBeWritten) = (at, canBeWritten);
        _counted = at.Counted.ToDictionary(c => c.Place);
        _off = [.. at.Counted.Where(c => c.Count.Difference != Money.Zero).OrderBy(c => c.Place == asked ? 0 : 1)
            .Take(Most)];
        _causes = [.. _off.Select(c => new Causes(at, c))];
        _alone = [.. _off.Select(_ => new List<Cause>())];
        _mass = new decimal[_off.Length];
        var shared = new Dictionary<string, (Cause Cause, int Places, List<decimal> Weights)>();
        for (var i = 0; i < _off.Length; i++)
        {
            var difference = _off[i].Count.Difference;
            var (pairs, others) = _causes[i].Twos(difference, m => Reach([m]) is not null);
            _mass[i] = _causes[i].Lost(difference) + others;
            foreach (var cause in _causes[i].Singles(difference).Select(m => new Cause([m], m.Weight)).Concat(pairs))
            {
                if (Reach(cause.Mistakes) is not var (places, factor))
                {
                    continue;
                }

                var weight = cause.Weight * factor;
                if (BitOperations.PopCount((uint)places) == 1)
                {
                    _alone[i].Add(cause with { Weight = weight });
                }
                else if (shared.TryGetValue(cause.Code, out var known))
                {
                    known.Weights.Add(weight);
                }
                else
                {
                    shared.Add(cause.Code, (cause, places, [weight]));
                }
            }

            WeighAlone(i);
        }

        // Seen from each place its weight is a little different: the mean is the same from all.
        _shared.AddRange(shared.Values.Select(s => (s.Cause, s.Places, Normal(s.Weights.Average(), s.Places)))
            .Where(s => s.Item3 < Worth || CanBeWritten(s.Cause)));
    }

    // What is likely and can't have been, since it can't be written, is left out.
    private void WeighAlone(int place)
    {
        var least = Worth * (_mass[place] + _alone[place].Sum(c => c.Weight));
        _alone[place].RemoveAll(c => c.Weight >= least && !CanBeWritten(c));
        _mass[place] = (_mass[place] + _alone[place].Sum(c => c.Weight)) / (1m - Priors.NotThoughtOf);
    }

    /// <summary>The counts that disagree, the one asked about first.</summary>
    public IReadOnlyList<CountedPlace> Off => _off;

    /// <summary>The likeliest causes of the count asked about, each with its chance; the likeliest first.</summary>
    public List<(Cause Cause, decimal Chance)> Chances()
    {
        var every = (1 << _off.Length) - 1;
        var all = All(every);
        return
        [
            .. _alone[0].Select(c => (c, c.Weight / _mass[0] * All(every & ~1) / all))
                .Concat(_shared.Where(s => (s.Places & 1) != 0)
                    .Select(s => (s.Cause, s.Weight * All(every & ~s.Places) / all)))
                .OrderByDescending(c => c.Item2).Take(MostCauses)
                .OrderByDescending(c => c.Item2).ThenBy(c => c.Item1.Code, StringComparer.Ordinal),
        ];
    }

    /// <summary>
    /// The likeliest causes that make all counts of the day agree, with the chance that it was all of them; null where
    /// there are none.
    /// </summary>
    public (IReadOnlyList<Cause> Causes, decimal Chance)? Total()
    {
        var every = (1 << _off.Length) - 1;
        var best = new (decimal Weight, List<Cause>? Set)[every + 1];
        best[0] = (1m, []);
        var alone = _alone.Select(causes => causes.OrderByDescending(c => c.Weight).Take(10)
            .FirstOrDefault(CanBeWritten)).ToList();
        var shared = _shared.Where(s => Agreeing(s.Cause.Mistakes) == s.Places).OrderByDescending(s => s.Weight)
            .Take(50).Where(s => CanBeWritten(s.Cause)).ToList();
        for (var done = 0; done < every; done++)
        {
            if (best[done].Set is not { } set)
            {
                continue;
            }

            var next = BitOperations.TrailingZeroCount(~done);
            var options = shared.Where(s => (s.Places & (1 << next)) != 0 && (s.Places & done) == 0);
            options = alone[next] is { } one
                ? options.Append((one, 1 << next, one.Weight / _mass[next]))
                : options;
            foreach (var (cause, places, weight) in options)
            {
                var (after, product) = (done | places, best[done].Weight * weight);
                if (best[after].Set is null || product > best[after].Weight)
                {
                    best[after] = (product, [.. set, cause]);
                }
            }
        }

        return best[every].Set is { } found ? (found, best[every].Weight / All(every)) : null;
    }

    /// <summary>What the book has already and may be the same movement, on another day or elsewhere.</summary>
    /// <param name="missing">The movement.</param>
    /// <param name="alone">Whether it makes the difference alone.</param>
    public IEnumerable<Mistake> ThereAlready(NotRecorded missing, bool alone)
    {
        var at = Array.FindIndex(_off, c => missing.EffectIn(c.Place) != Money.Zero);
        return at < 0 ? []
            : _causes[at].ThereAlready(missing, alone).Where(m => Reach([m]) is not null)
                .Concat(_causes[at].ThereLater(missing)).DistinctBy(m => m.Lines[0]);
    }

    /// <summary>Whether a cause can be put right, by the rules that hold when it is written.</summary>
    public bool CanBeWritten(Cause cause)
    {
        var code = cause.Code;
        if (!_written.TryGetValue(code, out var can))
        {
            _written.Add(code, can = _canBeWritten(cause.Mistakes, AgreeingCounts(cause.Mistakes)));
        }

        return can;
    }

    /// <summary>The counts that agree when some mistakes are put right, by their lines.</summary>
    public ImmutableArray<long> AgreeingCounts(IReadOnlyCollection<Mistake> mistakes) =>
        [.. _off.Where(c => Effect(mistakes, c.Place) == c.Count.Difference).Select(c => c.Count.Line)];

    private int Agreeing(IReadOnlyCollection<Mistake> mistakes) => _off.Select(
        (c, i) => Effect(mistakes, c.Place) == c.Count.Difference ? 1 << i : 0).Sum();

    // The counts that some mistakes touch, with how likely the rest of each is; null where an agreeing count speaks
    // against them.
    private (int Places, decimal Factor)? Reach(IReadOnlyCollection<Mistake> mistakes)
    {
        var (places, factor) = (0, 1m);
        foreach (var (place, effect) in Effects(mistakes))
        {
            if (effect == Money.Zero)
            {
                continue;
            }

            if (!_counted.TryGetValue(place, out var counted))
            {
                if (_at.Book.LastCount(place) is { } last && mistakes.Any(m => m.Day < last.OccurredOn))
                {
                    // A count of another day has found it right, or agreed on what it found.
                    if (!last.Settled && last.Difference == Money.Zero)
                    {
                        return null;
                    }

                    factor *= last.Settled ? Priors.BeforeAgreement : 1m;
                }

                continue;
            }

            var at = Array.IndexOf(_off, counted);
            if (counted.Count.Difference == Money.Zero)
            {
                return null;
            }

            if (at >= 0)
            {
                places |= 1 << at;
                factor *= effect == counted.Count.Difference
                    ? 1m
                    : _causes[at].LeftOver(counted.Count.Difference - effect);
            }
        }

        return (places, factor);
    }

    // Thousands are looked at for one answer.
    private static List<Posting> Effects(IReadOnlyCollection<Mistake> mistakes)
    {
        var all = new List<Posting>();
        foreach (var effect in mistakes.SelectMany(mistake => mistake.Effects))
        {
            var at = all.FindIndex(known => known.Place == effect.Place);
            if (at < 0)
            {
                all.Add(effect);
            }
            else
            {
                all[at] = effect with { Amount = all[at].Amount + effect.Amount };
            }
        }

        return all;
    }

    private static Money Effect(IReadOnlyCollection<Mistake> mistakes, Part place) =>
        mistakes.Aggregate(Money.Zero, (sum, m) => sum + m.EffectIn(place));

    private decimal Normal(decimal weight, int places)
    {
        for (var i = 0; i < _off.Length; i++)
        {
            weight = (places & (1 << i)) != 0 ? weight / _mass[i] : weight;
        }

        return weight;
    }

    // How much speaks for all that could have made these counts disagree, beside each for itself.
    private decimal All(int places)
    {
        if (!_all.TryGetValue(places, out var all))
        {
            var first = places & -places;
            all = All(places & ~first);
            foreach (var (_, touches, weight) in _shared)
            {
                all += (touches & first) != 0 && (touches & ~places) == 0 ? weight * All(places & ~touches) : 0m;
            }

            _all.Add(places, all);
        }

        return all;
    }
}
