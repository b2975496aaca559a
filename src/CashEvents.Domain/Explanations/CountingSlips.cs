namespace CashEvents.Domain.Explanations;

/// <summary>What may have gone wrong with notes and coins: when they were counted, or given in change.</summary>
internal sealed class CountingSlips(LookedAt at, CountedPlace counted)
{
    private const decimal Missed = 0.7m;
    private const decimal StuckTogether = 0.3m;

    /// <summary>All of them, or those that alone would make a difference.</summary>
    public IEnumerable<Mistake> Making(Money? wanted) =>
        counted.Place.Holding == Holding.Bank || at.Faces.IsEmpty ? []
        : Misread().Concat(Pieces()).Where(m => wanted is null || m.Effects[0].Amount == wanted)
            .Concat(WrongChange(wanted));

    /// <summary>
    /// The total itself was written wrong, where no pieces say otherwise. It is one more number that was written,
    /// beside those of the lines; what it should be is known.
    /// </summary>
    public IEnumerable<Mistake> Total()
    {
        var (right, written) = (counted.Count.Expected, counted.Count.Counted);
        if (!counted.Taken.Pieces.IsDefaultOrEmpty || right <= Money.Zero || written <= Money.Zero)
        {
            return [];
        }

        List<(MistakeKind Kind, decimal Weight)> slips = [.. PenSlips.Between(right.Minor, written.Minor, at.Unit)
            .Select(s => (s.Kind, at.Priors.Of(s.Kind) * s.Chance / counted.Numbers))];
        return slips.Count == 0 ? [] : [new Misstated(slips.MaxBy(s => s.Weight).Kind, counted.Count.Line,
            counted.Taken, right) { Weight = slips.Sum(s => s.Weight) }];
    }

    // A note or coin was taken for its neighbour.
    private IEnumerable<Mistake> Misread()
    {
        var pieces = counted.Taken.Pieces.IsDefaultOrEmpty
            ? []
            : counted.Taken.Pieces.ToDictionary(p => p.Value, p => p.Count);
        decimal all = pieces.Values.Sum();
        for (var i = 0; i + 1 < at.Faces.Length; i++)
        {
            foreach (var (taken, right) in new[] { (at.Faces[i], at.Faces[i + 1]), (at.Faces[i + 1], at.Faces[i]) })
            {
                // Where only a total was told, any pair may be the one.
                var there = pieces.GetValueOrDefault(taken);
                var share = all == 0m ? 0.5m / (at.Faces.Length - 1)
                    : there == 0 ? 0m : (0.25m * there / all) + (0.25m / pieces.Count);
                if (share > 0m && counted.Count.Counted + right - taken >= Money.Zero)
                {
                    yield return new Miscounted(counted.Count.Line, counted.Taken, taken, right)
                    { Weight = at.Priors.Of(MistakeKind.WrongDenomination) * share };
                }
            }
        }
    }

    // One piece was missed, as a note that sticks to another is, or counted twice.
    private IEnumerable<Mistake> Pieces()
    {
        var pieces = counted.Taken.Pieces.IsDefaultOrEmpty
            ? null
            : counted.Taken.Pieces.ToDictionary(p => p.Value, p => (decimal)p.Count);
        var most = pieces?.Keys.Max() is { } largest && largest > counted.Count.Expected
            ? largest
            : counted.Count.Expected;
        var faces = at.Faces.Where(f => f <= most).ToList();
        var all = faces.Sum(f => (pieces?.GetValueOrDefault(f) ?? 1m) + 0.3m);
        var notes = faces.Count(IsNote);
        foreach (var face in faces)
        {
            var there = pieces?.GetValueOrDefault(face) ?? 1m;
            var missed = ((1m - StuckTogether) * (there + 0.3m) / all)
                + (IsNote(face) ? StuckTogether / notes : 0m);
            yield return new Miscounted(counted.Count.Line, counted.Taken, Money.Zero, face)
            { Weight = at.Priors.Of(MistakeKind.PiecesMiscounted) * Missed * missed };
            if (there > 0m && counted.Count.Counted >= face)
            {
                yield return new Miscounted(counted.Count.Line, counted.Taken, face, Money.Zero)
                { Weight = at.Priors.Of(MistakeKind.PiecesMiscounted) * (1m - Missed) * there / all };
            }
        }
    }

    private bool IsNote(Money face) => face.Minor >= 5 * at.Book.Currency.ToMinor;

    // A note or coin too few or too many, or one for its neighbour; never more than the change there was on the next
    // larger note.
    private IEnumerable<Mistake> WrongChange(Money? wanted)
    {
        var steps = at.Faces.Concat(at.Faces.Zip(at.Faces.Skip(1), (larger, smaller) => larger - smaller)).Distinct()
            .Order().ToArray();
        if (wanted is { } one && Array.BinarySearch(steps, new Money(Math.Abs(one.Minor))) < 0)
        {
            yield break;
        }

        // Of each spend, how many steps its change could have been wrong by.
        var spends = counted.Lines.Where(l => l.Said is Spent && !l.IsBefore).Reverse()
            .Select(l => (Line: l, Change: ChangeOn(-l.Change)))
            .Select(l => (l.Line, Steps: UpTo(steps, l.Change))).Where(l => l.Steps > 0).ToList();
        for (var i = 0; i < steps.Length; i++)
        {
            var fitting = spends.Where(s => s.Steps > i).ToList();
            if (fitting.Count == 0)
            {
                break;
            }

            var line = fitting[0].Line;
            var weight = at.Priors.Of(MistakeKind.WrongChange) / 2 * fitting.Sum(s => 1m / s.Steps) / spends.Count;
            foreach (var step in new[] { steps[i], -steps[i] })
            {
                if ((wanted is null || wanted == step) && -line.Change - step is { Minor: > 0 } left
                    && Retold.WithAmount(line.Said, left) is { } right)
                {
                    yield return new Miswritten(MistakeKind.WrongChange, line.Number, line.Said, right)
                    { Weight = weight };
                }
            }
        }
    }

    private static int UpTo(Money[] steps, Money change)
    {
        var at = Array.BinarySearch(steps, change);
        return at >= 0 ? at + 1 : ~at;
    }

    private Money ChangeOn(Money price)
    {
        var paid = at.Faces.Where(face => face >= price).DefaultIfEmpty(price).Min();
        return paid - price;
    }
}
