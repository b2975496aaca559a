using System.Collections.Immutable;
using static CashEvents.Benchmarks.Explanations.Retelling;

namespace CashEvents.Benchmarks.Explanations;

/// <summary>People who write down what happened, count what there is, and err.</summary>
internal sealed class Erring
{
    private readonly Random _random;
    private readonly Rates _rates;
    private readonly Dictionary<Part, Money> _found = [];
    private readonly Dictionary<Part, ImmutableArray<Pieces>> _pieces = [];
    private readonly List<Func<Mistake, bool>> _truths = [];

    /// <summary>All is written and counted as it happened, so far.</summary>
    /// <param name="random">Chance.</param>
    /// <param name="life">What happened.</param>
    /// <param name="rates">How people live and err.</param>
    public Erring(Random random, TrueLife life, Rates rates)
    {
        (_random, _rates, Life) = (random, rates, life);
        Written = [.. Life.Lines.Select(l => new WrittenLine(l))];
        foreach (var place in Life.Counted)
        {
            _found[place] = Life.Found(place);
            _pieces[place] = random.Next(5) < 3 ? NotesAndCoins.InPieces(random, _found[place]) : [];
        }

        Asked = rates.Crowded ? TrueLife.Cash(Life.Purses[0].Id) : Life.Counted[random.Next(Life.Counted.Length)];
    }

    public TrueLife Life { get; }

    public List<WrittenLine> Written { get; }

    public Part Asked { get; }

    /// <summary>What is found in a place, with its pieces where they are told.</summary>
    public (Money Found, ImmutableArray<Pieces> Pieces) Counted(Part place) => (_found[place], _pieces[place]);

    /// <summary>Whether it tells all that was done wrong, and nothing else.</summary>
    public bool IsTrue(Explanation explanation) => explanation.Mistakes.Length == _truths.Count && _truths.Count > 0
        && _truths.TrueForAll(t => explanation.Mistakes.Any(t));

    /// <summary>Makes a mistake, if it can be made.</summary>
    public bool Make(Err err) => err switch
    {
        Err.SpendForgotten => Forget(w => w.Said is Spent && Here(w)),
        Err.RefundForgotten => Forget(w => w.Said is Refunded && Here(w)) || ForgetARefund(),
        Err.FillForgotten => Forget(w => w.Said is Filled && Here(w)),
        Err.TransferForgotten => Forget(w => w.Said is Transferred && Here(w)) || ForgetATransfer(),
        Err.Twice => Repeat(),
        Err.WrongWay => Change(w => Here(w), said => Turned(_random, said)),
        Err.WrongCompartment => WriteElsewhere(w => w.Purses.Select(p => TrueLife.Cash(p.Id))),
        Err.WrongHolding => WriteElsewhere(_ => [Asked with { Holding = Holding.Bank }]),
        Err.Transposed or Err.Slid or Err.Rounded or Err.Digit =>
            Change(Here, said => Miswritten(err, said) is { } amount ? WithAmount(said, amount) : null),
        Err.Misread or Err.PieceOff or Err.Stuck => Miscount(err),
        Err.WrongChange => Shortchange(),
        Err.WrongDay => Misdate(),
        Err.Total => Miswrite(),
        _ => NotDone(),
    };

    /// <summary>Something is lost or found.</summary>
    public void Lose()
    {
        var size = LostOrFound.Of(_random, Life.Prices, _rates);
        _found[Asked] += _random.Next(4) == 0 || _found[Asked] < size ? size : -size;
        Recount(Asked);
    }

    private List<WrittenLine> InWindow(Func<WrittenLine, bool> which) => [.. Written.Where(w => !w.Touched
        && w.Happened.Said.OccurredOn > Life.Agreed && Life.Before(w.Happened) && which(w))
        .OrderBy(_ => _random.Next())];

    private bool Here(WrittenLine line) => line.Said.Postings.Any(p => p.Place == Asked);

    private bool Forget(Func<WrittenLine, bool> which)
    {
        if (InWindow(which) is not [var line, ..])
        {
            return false;
        }

        (line.Left, line.Touched) = (true, true);
        return Expect(m => m is NotRecorded n && Same(n.Movement, line.Happened.Said));
    }

    // Somebody took back what was bought some days before, and wrote nothing.
    private bool ForgetARefund()
    {
        if (InWindow(w => w.Said is Spent && Here(w)) is not [var line, ..])
        {
            return false;
        }

        var refund = new Refunded(Asked.Compartment, Asked.Holding, Amount(line.Said), Life.CountedOn, "");
        _found[Asked] += refund.Amount;
        Recount(Asked);
        return Expect(m => m is NotRecorded n && Same(n.Movement, refund));
    }

    private bool ForgetATransfer()
    {
        var other = TrueLife.Cash(Life.Weighted([.. Life.Purses.Where(p => p.Id != Asked.Compartment)],
            p => p.Share).Id);
        var (from, to) = _random.Next(2) == 0 && _found[Asked] > new Money(6_000) ? (Asked, other) : (other, Asked);
        var moved = new Transferred(from, to, Life.Round(), Life.CountedOn, "");
        foreach (var posting in moved.Postings.Where(p => _found.ContainsKey(p.Place)))
        {
            _found[posting.Place] += posting.Amount;
            Recount(posting.Place);
        }

        return Expect(m => m is NotRecorded n && Same(n.Movement, moved));
    }

    private bool Repeat()
    {
        if (InWindow(w => Here(w) && w.Said is not Filled { Description: "Pay" }) is not [var line, ..])
        {
            return false;
        }

        var byOther = _random.Next(2) == 0;
        var day = _random.Next(4) == 0 ? line.Said.OccurredOn.AddDays(_random.Next(1, 4)) : line.Said.OccurredOn;
        if (day >= Life.CountedOn)
        {
            day = line.Said.OccurredOn;
        }

        var said = Dated(_random.Next(4) == 0 ? Worded(line.Said, "") : line.Said, day);
        var on = line.On.AddDays(_random.Next(0, 4));
        var copy = new WrittenLine(line.Happened)
        {
            Said = said,
            On = on > Life.Today ? Life.Today : on < day ? day : on,
            By = byOther ? Life.Writers.First(w => w != line.By) : line.By,
            Spurious = true,
            Touched = true,
        };
        line.Touched = true;
        Written.Add(copy);
        return Expect(m => m is NeedlesslyRecorded { Written: [var one] }
            && (one.Line == line.Number || one.Line == copy.Number));
    }

    private bool Change(Func<WrittenLine, bool> which, Func<IReplacement, IReplacement?> how)
    {
        foreach (var line in InWindow(which))
        {
            if (how(line.Said) is { } wrong)
            {
                (line.Said, line.Touched) = (wrong, true);
                return Expect(m => m is Miswritten w && w.Line == line.Number && Same(w.Right, line.Happened.Said));
            }
        }

        return false;
    }

    // Half of it is written here and belongs elsewhere, half the other way.
    private bool WriteElsewhere(Func<TrueLife, IEnumerable<Part>> where)
    {
        var others = where(Life).Where(p => p != Asked
            && (p.Holding == Holding.Cash || Life.Purses.First(q => q.Id == p.Compartment).HasBank)).ToList();
        if (others.Count == 0)
        {
            return false;
        }

        var other = others[_random.Next(others.Count)];
        var (right, wrong) = _random.Next(2) == 0 ? (Asked, other) : (other, Asked);
        return Change(w => w.Said is Spent or Refunded or Filled && w.Said.Postings.First().Place == right,
            said => Moved(said, wrong))
            || Change(w => w.Said is Spent or Refunded or Filled && w.Said.Postings.First().Place == Asked,
                said => Moved(said, other));
    }

    private bool Miscount(Err err)
    {
        var pieces = _pieces[Asked];
        if (pieces.IsDefaultOrEmpty)
        {
            _pieces[Asked] = pieces = NotesAndCoins.InPieces(_random, _found[Asked]);
        }

        if (pieces.IsEmpty)
        {
            return false;
        }

        var piece = err == Err.Misread
            ? pieces[_random.Next(pieces.Length)].Value
            : Life.Weighted([.. pieces.Where(p => err != Err.Stuck || p.Value.Minor >= 500)
                .DefaultIfEmpty(pieces[0])], p => p.Count).Value;
        var at = Array.IndexOf(NotesAndCoins.Faces, piece);
        Money? taken = err switch
        {
            Err.Misread => Neighbour(at),
            _ => null,
        };
        var more = err == Err.PieceOff && _random.Next(3) == 0;
        var off = taken is { } t ? t - piece : more ? piece : -piece;
        _pieces[Asked] = [.. pieces.Append(new Pieces(piece, more ? 1 : -1))
            .Concat(taken is { } u ? [new Pieces(u, 1)] : Array.Empty<Pieces>())
            .GroupBy(p => p.Value).Select(g => new Pieces(g.Key, g.Sum(p => p.Count)))
            .Where(p => p.Count > 0).OrderByDescending(p => p.Value)];
        _found[Asked] += off;
        if (_random.Next(3) == 0)
        {
            _pieces[Asked] = [];
        }

        return Expect(m => m is Miscounted c && c.Effects[0].Amount == off
            && (c.Kind == MistakeKind.WrongDenomination) == (err == Err.Misread));
    }

    private Money Neighbour(int at) => NotesAndCoins.Faces[at == 0 ? 1
        : at == NotesAndCoins.Faces.Length - 1 ? at - 1
        : at + (_random.Next(2) == 0 ? 1 : -1)];

    // The total of the count itself.
    private bool Miswrite()
    {
        var right = _found[Asked];
        var err = Life.Weighted(SlipsOfThePen.OfThePen, e => _rates.Weights[(int)e]);
        if (SlipsOfThePen.Slip(_random, err, right.Minor) is not { } wrong)
        {
            return false;
        }

        (_found[Asked], _pieces[Asked]) = (new Money(wrong), []);
        return Expect(m => m is Misstated s && s.Right == right);
    }

    private bool Shortchange()
    {
        foreach (var line in InWindow(w => w.Said is Spent && Here(w)))
        {
            var steps = NotesAndCoins.StepsOfChange(Amount(line.Said));
            if (steps.Length > 0)
            {
                var step = steps[_random.Next(steps.Length)];
                step = _random.Next(2) == 0 ? step : -step;
                _found[Asked] += step;
                Recount(Asked);
                line.Touched = true;
                return Expect(m => m.Kind == MistakeKind.WrongChange && m.Effects.Single().Amount == step);
            }
        }

        return false;
    }

    // Written on the day on which it was remembered, after the count; or one from after it on a day before.
    private bool Misdate()
    {
        if (_random.Next(4) > 0 || Life.CountedOn == Life.Today)
        {
            var before = InWindow(w => Here(w) && w.Said.OccurredOn > Life.CountedOn.AddDays(-6));
            if (before is not [var line, ..])
            {
                return false;
            }

            var day = Life.CountedOn.AddDays(_random.Next(0, Math.Min(4, Life.Today.DayNumber
                - Life.CountedOn.DayNumber + 1)));
            (line.Said, line.On, line.Touched) = (Dated(line.Said, day), Later(day), true);
            return Expect(m => m is Miswritten { Kind: MistakeKind.WrongDay } w && w.Line == line.Number);
        }

        var after = Written.Where(w => !w.Touched && Here(w) && w.Said.OccurredOn > Life.CountedOn)
            .OrderBy(_ => _random.Next()).FirstOrDefault();
        if (after is null)
        {
            return false;
        }

        (after.Said, after.Touched) =
            (Dated(after.Said, Life.CountedOn.AddDays(-_random.Next(1, 3))), true);
        return Expect(m => m is Miswritten { Kind: MistakeKind.WrongDay } w && w.Line == after.Number);
    }

    // After the count, so that it stands behind the count on the day itself too.
    private DateOnly Later(DateOnly day) => day == Life.CountedOn ? day.AddDays(1) : day;

    private bool NotDone()
    {
        if (InWindow(Here) is not [var like, ..])
        {
            return false;
        }

        var said = WithAmount(like.Said, _random.Next(2) == 0 ? Amount(like.Said) : Life.Round());
        if (said is null)
        {
            return false;
        }

        var line = new WrittenLine(like.Happened)
        {
            Said = Dated(said, like.Said.OccurredOn.AddDays(-1)),
            Touched = true,
            Spurious = true,
        };
        Written.Add(line);
        return Expect(m => m is NeedlesslyRecorded { Written: [var one] } && one.Line == line.Number);
    }

    private bool Expect(Func<Mistake, bool> truth)
    {
        _truths.Add(truth);
        return true;
    }

    private Money? Miswritten(Err err, IReplacement said) =>
        SlipsOfThePen.Slip(_random, err, Amount(said).Minor) is { } wrong ? new Money(wrong) : null;

    private void Recount(Part place)
    {
        if (!_pieces[place].IsDefaultOrEmpty)
        {
            _pieces[place] = NotesAndCoins.InPieces(_random, _found[place]);
        }
    }
}
