using System.Collections.Immutable;

namespace CashEvents.Domain.Explanations;

/// <summary>
/// The single mistakes that may have been made on a counted place's sheet, each with how much speaks for it.
/// </summary>
/// <remarks>The work follows the lines of the sheet: sums are looked up, not tried out.</remarks>
internal sealed class PossibleMistakes(Book book, Habits habits, CountedPlace counted,
    IReadOnlyList<CountedPlace> others)
{
    private const int LongestGap = 7;
    private const int MostAlike = 20;
    private const int LongestRun = 12;
    private const int LinesForTwos = 1_000;
    private const int LinesForThrees = 60;
    private const int DaysLookedAt = 60;

    private readonly Part _place = counted.Place;
    private readonly Lazy<HashSet<(MovementKind, string, DateOnly)>> _said = new(
        () => [.. counted.Lines.Select(l => (l.Said.Kind, l.Said.Description, l.Said.OccurredOn))]);
    private readonly ImmutableArray<Money> _faces = Denominations.StillIssued(book.Currency);
    private List<(DateOnly Day, Money Available)>? _daysBefore;

    /// <summary>Those that alone would explain a difference.</summary>
    public IEnumerable<Mistake> Making(Money difference) =>
        Untraced(difference).Concat(Traced(difference)).Concat(NotMoved(difference));

    /// <summary>
    /// All that might be one of two, on the latest lines: among more of them two can be found for any difference.
    /// </summary>
    public IEnumerable<Mistake> All() => Untraced(null).Concat(Traced(null));

    // What leaves no trace on any line: a movement that is not there, a count that is wrong, change.
    private IEnumerable<Mistake> Untraced(Money? wanted)
    {
        foreach (var (kind, goesOut) in new[] { (MovementKind.Spend, true), (MovementKind.Fill, false),
            (MovementKind.Refund, false) })
        {
            IEnumerable<Money> amounts =
                wanted is not { } one ? habits.Amounts(_place, kind, goesOut) : one < Money.Zero == goesOut
                    ? [one]
                    : [];
            foreach (var change in amounts)
            {
                yield return NotRecorded(kind, change);
            }
        }

        foreach (var mistake in Miscounted().Concat(WrongChange())
            .Concat(wanted is { } all ? TransferNotRecorded(all) : []))
        {
            if (wanted is null || mistake.EffectIn(_place) == wanted)
            {
                yield return mistake;
            }
        }
    }

    private IEnumerable<Mistake> Traced(Money? wanted)
    {
        foreach (var line in wanted is null ? counted.Lines.TakeLast(LinesForTwos) : counted.Lines)
        {
            var trust = line.IsBefore ? Priors.BeforeAgreement : 1m;
            decimal? usual = null;
            foreach (var slip in Slip.ItemsOf(line.Change))
            {
                if ((wanted is null || -slip.Difference == wanted)
                    && Retold.WithAmount(line.Said, new Money(Math.Abs(slip.Item.Minor))) is { } right)
                {
                    var (kind, prior) = slip.Kind == SlipKind.Transposition
                        ? (MistakeKind.Transposed, Priors.Transposed)
                        : (MistakeKind.Slid, Priors.Slid);
                    usual ??= habits.ShareWithWords(_place, line.Said, line.Change, line.Change);
                    var fit = habits.ShareWithWords(_place, line.Said, slip.Item, line.Change) / usual.Value;
                    yield return new Miswritten(kind, line.Number, line.Said, right)
                    { Weight = trust * prior / slip.Ways * fit };
                }
            }

            // Half the difference.
            if (wanted is null || wanted == -line.Change - line.Change)
            {
                var rate = habits.Rate(_place, line.Said, line.Change, itself: true);
                foreach (var right in Retold.OtherWay(line.Said))
                {
                    var fit = habits.Rate(_place, right, -line.Change, itself: false) / rate;
                    yield return new Miswritten(MistakeKind.WrongDirection, line.Number, line.Said, right)
                    { Weight = trust * Priors.WrongDirection * fit };
                }
            }
        }

        if (wanted is { } difference)
        {
            foreach (var other in others.Where(o => o.Place != _place && o.Count.Difference == -difference))
            {
                foreach (var mistake in WrongCompartment(counted, other).Concat(WrongCompartment(other, counted)))
                {
                    yield return mistake;
                }
            }
        }

        foreach (var twice in RecordedTwice(wanted))
        {
            yield return twice;
        }
    }

    // The difference itself, and another place's the other way round.
    private IEnumerable<Mistake> WrongCompartment(CountedPlace written, CountedPlace right)
    {
        foreach (var line in written.Lines.Where(
            l => -l.Change == written.Count.Difference && !book.Compartments[right.Place.Compartment].Closed))
        {
            if (Retold.Elsewhere(line.Said, written.Place, right.Place) is { } said)
            {
                var fit = habits.Rate(right.Place, said, line.Change, itself: false) / habits.Rate(written.Place,
                    line.Said, line.Change, itself: true);
                yield return new Miswritten(MistakeKind.WrongCompartment, line.Number, line.Said, said)
                {
                    Weight = (line.IsBefore ? Priors.BeforeAgreement : 1m) * Priors.WrongCompartment / OtherPlaces
                        * fit,
                };
            }
        }
    }

    private int OtherPlaces => Math.Max(1, book.Compartments.Values.Count(c => !c.Closed) - 1);

    private NotRecorded NotRecorded(MovementKind kind, Money change)
    {
        var amount = new Money(Math.Abs(change.Minor));
        var known = habits.WordsFor(_place, kind, change);
        var day = Day(kind, change, known?.Words);
        var (on, words) = (day ?? counted.Count.OccurredOn, known?.Words ?? "");
        IReplacement movement = kind switch
        {
            MovementKind.Spend => new Spent(_place.Compartment, _place.Holding, amount, on, words),
            MovementKind.Fill => new Filled(_place.Compartment, _place.Holding, amount, on, words),
            _ => new Refunded(_place.Compartment, _place.Holding, amount, on, words),
        };
        return new NotRecorded(movement, known?.Times ?? 0, day is null ? counted.Taken : null)
        {
            Weight = Priors.NotRecorded * DaysSince * habits.PerDay(_place, kind, change < Money.Zero)
                * habits.Share(_place, kind, change),
        };
    }

    private IEnumerable<Mistake> TransferNotRecorded(Money difference)
    {
        foreach (var other in others.Where(o => o.Count.Difference == -difference && o.Place != _place))
        {
            var (from, to) = difference < Money.Zero ? (_place, other.Place) : (other.Place, _place);
            var day = Day(MovementKind.Transfer, difference, null);
            if (day is { } on)
            {
                yield return new NotRecorded(new Transferred(from, to, new Money(Math.Abs(difference.Minor)), on, ""),
                    0, null)
                {
                    Weight = Priors.NotRecorded * DaysSince
                        * habits.PerDay(_place, MovementKind.Transfer, difference < Money.Zero) / OtherPlaces
                        * habits.Share(_place, MovementKind.Transfer, difference),
                };
            }
        }
    }

    private int DaysSince => Math.Max(1,
        counted.Count.OccurredOn.DayNumber
            - (counted.Since ?? counted.Lines.FirstOrDefault()?.Said.OccurredOn ?? counted.Count.OccurredOn).DayNumber);

    // The likeliest day since the last agreeing count and before this one: by the weekday, and rather one on which the
    // like is not there yet. Lines of the day itself count as later.
    private DateOnly? Day(MovementKind kind, Money change, string? words)
    {
        (DateOnly Day, decimal Fit)? best = null;
        foreach (var (day, available) in DaysBefore)
        {
            if (available < -change)
            {
                break;
            }

            var fit = words is null
                ? 1m
                : habits.WeekdayShare(_place, kind, change < Money.Zero, words,
                    day.DayOfWeek) / (_said.Value.Contains((kind, words, day)) ? 4m : 1m);
            if (best is null || fit > best.Value.Fit)
            {
                best = (day, fit);
            }
        }

        return best?.Day;
    }

    // The latest first, with what can be taken on each without a later one falling below zero: the earlier, the less.
    private List<(DateOnly Day, Money Available)> DaysBefore => _daysBefore ??=
    [
        .. Enumerable.Range(1, DaysLookedAt)
            .TakeWhile(back => counted.Count.OccurredOn.DayNumber - back
                >= (counted.Since ?? DateOnly.MinValue).DayNumber)
            .Select(back => counted.Count.OccurredOn.AddDays(-back))
            .TakeWhile(day => !book.IsClosed(day))
            .Select(day => (day, book.Available(_place, day).Closing)),
    ];

    private IEnumerable<Mistake> Miscounted()
    {
        if (_place.Holding == Holding.Bank || _faces.IsEmpty)
        {
            yield break;
        }

        var pieces = counted.Taken.Pieces.IsDefaultOrEmpty
            ? []
            : counted.Taken.Pieces.ToDictionary(p => p.Value, p => p.Count);
        var all = pieces.Values.Sum();
        for (var i = 0; i + 1 < _faces.Length; i++)
        {
            foreach (var (taken, right) in new[] { (_faces[i], _faces[i + 1]), (_faces[i + 1], _faces[i]) })
            {
                // Where only a total was told, any pair may be the one.
                var share = all == 0 ? 0.5m / (_faces.Length - 1) : 0.5m * pieces.GetValueOrDefault(taken) / all;
                if (share > 0m && counted.Count.Counted + right - taken >= Money.Zero)
                {
                    yield return new Miscounted(counted.Count.Line, counted.Taken, taken, right)
                    { Weight = Priors.WrongDenomination * share };
                }
            }
        }
    }

    // A note or coin too few or too many, or one for its neighbour; never more than the change there was on the next
    // larger note.
    private IEnumerable<Mistake> WrongChange()
    {
        if (_place.Holding == Holding.Bank || _faces.IsEmpty)
        {
            yield break;
        }

        var spends = counted.Lines.Where(l => l.Said is Spent && !l.IsBefore)
            .Select(l => (Line: l, Change: ChangeOn(-l.Change))).Where(l => l.Change > Money.Zero).Reverse().ToList();
        var steps = _faces.Concat(_faces.Zip(_faces.Skip(1), (larger, smaller) => larger - smaller)).Distinct().Order()
            .ToList();
        foreach (var step in steps)
        {
            var fitting = spends.Where(s => s.Change >= step).ToList();
            if (fitting.Count == 0)
            {
                continue;
            }

            var (line, weight) = (fitting[0].Line, Priors.WrongChange * fitting.Count / (2 * steps.Count));
            foreach (var left in new[] { -line.Change + step, -line.Change - step })
            {
                if (left > Money.Zero && Retold.WithAmount(line.Said, left) is { } right)
                {
                    yield return new Miswritten(MistakeKind.WrongChange, line.Number, line.Said, right)
                    { Weight = weight };
                }
            }
        }
    }

    private Money ChangeOn(Money price)
    {
        var paid = _faces.Where(face => face >= price).DefaultIfEmpty(Money.Zero).Min();
        return paid - price;
    }

    private IEnumerable<Mistake> RecordedTwice(Money? wanted)
    {
        foreach (var alike in counted.Lines.Where(l => wanted is null || wanted == -l.Change)
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

                // A copy mostly has the same words.
                var sameWords = twin.Said.Description == copy.Said.Description;
                yield return new NeedlesslyRecorded(MistakeKind.RecordedTwice, [(copy.Number, copy.Said)], twin.Number)
                {
                    Weight = (copy.IsBefore ? Priors.BeforeAgreement : 1m) * Priors.RecordedTwice * Near(gap)
                        * (sameWords ? 0.9m : 0.01m) / habits.Rate(_place, copy.Said, copy.Change, itself: true),
                };
            }
        }
    }

    private Part? Other(SheetLine line) =>
        line.Said.Postings.Select(p => (Part?)p.Place).FirstOrDefault(p => p != _place);

    // Lines that together are the difference: one; two, or three of the latest, within a week, rather of one day; or
    // some that follow one another.
    private IEnumerable<Mistake> NotMoved(Money wanted)
    {
        var lines = counted.Lines.Where(l => !l.IsBefore).ToList();
        var found = new List<(SheetLine[] Lines, decimal Weight)>();
        found.AddRange(lines.Where(l => -l.Change == wanted)
            .Select(l => (new[] { l }, Priors.NotMoved / 2 / lines.Count)));
        found.AddRange(WithinAWeek(Twos(lines, wanted))
            .Select(set => (set, Priors.NotMoved / 4 / lines.Count * Near(Days(set)))));
        found.AddRange(WithinAWeek(Threes([.. lines.TakeLast(LinesForThrees)], wanted))
            .Select(set => (set, Priors.NotMoved / 8 / lines.Count * Near(Days(set)))));
        found.AddRange(Runs(lines, wanted).Take(MostAlike)
            .Select(set => (set, Priors.NotMoved / 8 / lines.Count / LongestRun)));
        return found.Select(f => new NeedlesslyRecorded(MistakeKind.NotMoved,
            [.. f.Lines.Select(l => (l.Number, l.Said))], null)
        { Weight = f.Weight });
    }

    private static IEnumerable<SheetLine[]> WithinAWeek(IEnumerable<SheetLine[]> sets) =>
        sets.Where(s => Days(s) <= LongestGap).OrderBy(Days).ThenBy(s => s[0].Number).Take(MostAlike);

    private static int Days(SheetLine[] lines) =>
        lines[^1].Said.OccurredOn.DayNumber - lines[0].Said.OccurredOn.DayNumber;

    // Half as likely for each day between, so that all gaps together make one.
    private static decimal Near(int days) => 1m / (1 << (days + 1));

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
