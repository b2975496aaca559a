using System.Collections.Immutable;

namespace CashEvents.Domain.Explanations;

/// <summary>What may have made one count of a day disagree, or several.</summary>
/// <param name="Mistakes">One or two.</param>
/// <param name="Weight">How often it is made and how well it fits what is written: of use only beside others.</param>
internal sealed record Cause(ImmutableArray<Mistake> Mistakes, decimal Weight)
{
    /// <summary>Names it.</summary>
    public string Code => string.Join('+', Mistakes.Select(m => m.Code));
}

/// <summary>The causes of one count's difference.</summary>
internal sealed class Causes
{
    private const int LinesForTwos = 150;
    private const int EffectsBesideTheUnseen = 500;
    private const int MostUnseen = 50;
    private const int EffectsBesideALoss = 2_000;

    // Two are drawn one after the other, so that each pair comes up twice.
    private const decimal Pair = 2 * Priors.Two / (1m - Priors.Two);

    private readonly LookedAt _at;
    private readonly CountedPlace _counted;
    private readonly MissingMovements _missing;
    private readonly MiswrittenLines _miswritten;
    private readonly MisplacedLines _misplaced;
    private readonly NeedlessLines _needless;
    private readonly CountingSlips _counting;
    private readonly Dictionary<Money, decimal> _rests = [];

    public Causes(LookedAt at, CountedPlace counted)
    {
        (_at, _counted) = (at, counted);
        var days = new DaysLeft(at, counted);
        _missing = new MissingMovements(at, counted, days);
        _miswritten = new MiswrittenLines(at, counted, days);
        _misplaced = new MisplacedLines(at, counted);
        _needless = new NeedlessLines(at, counted);
        _counting = new CountingSlips(at, counted);
    }

    /// <summary>The single mistakes that alone would make a difference; each once.</summary>
    public List<Mistake> Singles(Money difference) =>
    [
        .. _missing.Making(difference).Concat(_miswritten.Making(difference)).Concat(_misplaced.Making(difference))
            .Concat(_needless.Making(difference)).Concat(_counting.Making(difference))
            .Concat(_counting.Total())
            .Where(m => m.Weight > 0m)
            .GroupBy(m => m is NeedlesslyRecorded n ? string.Join('-', n.Written.Select(w => w.Line)) : m.Code)
            .Select(g => g.MaxBy(m => m.Weight)! with { Weight = g.Sum(m => m.Weight) }),
    ];

    /// <summary>
    /// Lines that may be a movement that is not recorded, though they stand on another day or elsewhere.
    /// </summary>
    /// <param name="missing">The movement.</param>
    /// <param name="alone">Whether it makes the difference alone: then a line that has it the wrong way round is not
    /// all that is wrong, and is named only where it is as usual that way.</param>
    public IEnumerable<Mistake> ThereAlready(NotRecorded missing, bool alone)
    {
        var effect = missing.EffectIn(_counted.Place);
        return _miswritten.Misdated(effect).Where(m => !m.IsLater)
            .Concat(_misplaced.Making(effect).OfType<Miswritten>().Where(m => missing.Movement is Transferred
                || m.Written.Postings.All(p => p.Place != _counted.Place)))
            .Concat(alone ? [] : _miswritten.Turned(effect, 0m))
            .OrderByDescending(m => m.Weight)
            .Concat(alone ? _miswritten.Turned(effect, 1m).OrderByDescending(m => m.Weight) : []);
    }

    /// <summary>Those that stand elsewhere and on a later day.</summary>
    public IEnumerable<Mistake> ThereLater(NotRecorded missing) =>
        _misplaced.Later(missing.EffectIn(_counted.Place));

    /// <summary>How much speaks for a difference that is lost or found.</summary>
    public decimal Lost(Money difference) => _at.Priors.SomethingElse * _at.Losses.Share(difference);

    /// <summary>How much speaks for a difference that is lost, found or not recorded: of what is left over.</summary>
    public decimal LeftOver(Money difference)
    {
        if (!_rests.TryGetValue(difference, out var all))
        {
            _rests.Add(difference, all = Lost(difference) + _missing.Weights(difference).Sum(m => m.Weight));
        }

        return all;
    }

    /// <summary>
    /// Two mistakes whose effects add up to a difference: of each effect the likeliest, and the other looked up; with
    /// how much speaks for all pairs that are not among them.
    /// </summary>
    /// <param name="difference">What both make.</param>
    /// <param name="leavesOthers">Whether a mistake is possible by what else was counted.</param>
    public (List<Cause> Pairs, decimal Others) Twos(Money difference, Func<Mistake, bool> leavesOthers)
    {
        var effects = Effects(leavesOthers);
        var (pairs, others) = (new List<Cause>(), 0m);
        foreach (var (effect, (one, all)) in effects)
        {
            var rest = difference - effect;
            if (effect > rest || !effects.TryGetValue(rest, out var second))
            {
                continue;
            }

            var (other, allOthers) = second;
            var weight = effect == rest ? one.Weight * one.Weight / 2 : one.Weight * other.Weight;
            if (effect == rest ? one is NotRecorded && !IsTurned(effect) : !one.Lines.Intersect(other.Lines).Any())
            {
                pairs.Add(Both(one, other, Pair * weight));
                others += Pair * (all * allOthers - weight);
            }
        }

        others += Pair * (_missing.TwoSpends(difference)
            + (_at.Priors.SomethingElse * _missing.Weights(difference).Sum(m => m.Weight)));
        var ordered = effects.OrderByDescending(e => e.Value.All).Take(EffectsBesideALoss).ToList();
        others += ordered.Where(e => e.Key != difference).Sum(e => Pair * e.Value.All * Lost(difference - e.Key));
        var unseen = (from effect in ordered.Take(EffectsBesideTheUnseen)
                      let rest = difference - effect.Key
                      where rest != Money.Zero && !effects.ContainsKey(rest)
                      from missing in _missing.Weights(rest)
                      let one = effect.Value.Likeliest
                      let weight = Pair * one.Weight * missing.Weight
                      orderby weight descending
                      select (one, missing.Kind, rest, weight)).ToList();
        pairs.AddRange(unseen.Take(MostUnseen).Select(u => Both(u.one, _missing.Of(u.Kind, u.rest), u.weight)));
        return (pairs, others + unseen.Skip(MostUnseen).Sum(u => u.weight));
    }

    // Two of one amount are missing, or one line has it the wrong way round: then it is there already.
    private bool IsTurned(Money effect) => _counted.Lines.Any(l => l.Change == -effect);

    private static Cause Both(Mistake one, Mistake other, decimal weight) => new(
        one.Weight > other.Weight || (one.Weight == other.Weight && string.CompareOrdinal(one.Code, other.Code) <= 0)
            ? [one, other]
            : [other, one], weight);

    private Dictionary<Money, (Mistake Likeliest, decimal All)> Effects(Func<Mistake, bool> leavesOthers)
    {
        var effects = new Dictionary<Money, (Mistake Likeliest, decimal All)>();
        foreach (var mistake in _missing.Known().Concat(_miswritten.All(LinesForTwos))
            .Concat(_misplaced.All(LinesForTwos)).Concat(_needless.Twice(null, LinesForTwos))
            .Concat(_counting.Making(null)))
        {
            var effect = mistake.EffectIn(_counted.Place);
            if (effect == Money.Zero || mistake.Weight == 0m || !leavesOthers(mistake))
            {
                continue;
            }

            effects[effect] = effects.TryGetValue(effect, out var known)
                ? (mistake.Weight > known.Likeliest.Weight ? mistake : known.Likeliest, known.All + mistake.Weight)
                : (mistake, mistake.Weight);
        }

        return effects;
    }
}
