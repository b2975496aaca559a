namespace CashEvents.Benchmarks.Explanations;

/// <summary>
/// What one could know who knew how the household lives and errs: how likely each single mistake, or a loss, has made
/// just this book and this count, under the generator's own weights, prices and habits. It is Bayes' rule, over what
/// the program found; nobody can do better on average. Left out is how the generator puts a sum into notes and coins:
/// no household draws them so.
/// </summary>
internal sealed class BestPossible
{
    private const int PurseDraws = 60;
    private const double Unheard = 1e-9;
    private const double NotDue = 1e-6;
    private const double ToppedUp = 0.02;

    // That a count lists its pieces: where the slip was in them, against where it was not.
    private const double PiecesTold = 10.0 / 9;
    private const double PiecesUntold = 5.0 / 6;
    private const double TotalUntold = 5.0 / 2;

    private readonly MistakenBook _book;
    private readonly TrueLife _life;
    private readonly Rates _rates;
    private readonly double[] _weights;
    private readonly double _losses;
    private readonly List<WrittenLine> _window;
    private readonly List<WrittenLine> _here;
    private readonly int _days;

    /// <summary>Looks at a book as it was written.</summary>
    /// <param name="book">The book.</param>
    /// <param name="rates">How people live in it.</param>
    /// <param name="weights">How often each mistake is made.</param>
    /// <param name="losses">How often something is lost or found, beside them.</param>
    public BestPossible(MistakenBook book, Rates rates, double[] weights, double losses)
    {
        (_book, _life, _rates, _weights, _losses) = (book, book.Life, rates, weights, losses);
        _window = [.. book.Written.Where(w => !w.Left && w.Said.OccurredOn > _life.Agreed
            && (w.Said.OccurredOn < _life.CountedOn
                || (w.Said.OccurredOn == _life.CountedOn && w.Number < book.Count)))];
        _here = [.. _window.Where(w => w.Said.Postings.Any(p => p.Place == book.Asked))];
        _days = _life.CountedOn.DayNumber - _life.Agreed.DayNumber;
    }

    /// <summary>What was found, in the best order, each with its chance and whether it is the truth.</summary>
    public Stated[] Chances(IReadOnlyList<Explanation> found)
    {
        var weighed = found.Where(e => e.Mistakes.Length == 1 && Agrees(c => Effect(e.Mistakes[0], c)))
            .Select(e => (Explanation: e, Weight: Of(e.Mistakes[0]))).ToList();
        var all = Math.Max(double.Epsilon, weighed.Sum(w => w.Weight) + (Agrees(Lost) ? Loss() : 0));
        return [.. weighed.OrderByDescending(w => w.Weight)
            .Select(w => new Stated(w.Explanation.Code, (decimal)(w.Weight / all), _book.IsTrue(w.Explanation)))];
    }

    private Money Lost(Part place) => place == _book.Asked ? _book.Difference : Money.Zero;

    private static Money Effect(Mistake mistake, Part place) => mistake.Effects.Where(e => e.Place == place)
        .Aggregate(Money.Zero, (sum, e) => sum + e.Amount);

    // One thing happened: it makes every count what it is.
    private bool Agrees(Func<Part, Money> effect) =>
        _life.Counted.All(c => effect(c) == _book.Book.LastCount(c)!.Difference);

    private double Loss()
    {
        var size = new Money(Math.Abs(_book.Difference.Minor));
        var sign = _book.Difference > Money.Zero ? 0.25 : 0.75;
        return _losses * sign * LostOrFound.Share(size, _life.Prices, _rates);
    }

    private double Weight(Err err) => _weights[(int)err];

    private double Of(Mistake mistake) => mistake switch
    {
        NotRecorded n => Missing(n.Movement),
        NeedlesslyRecorded { Twin: { } twin, Written: [var one] } =>
            Twice(one.Line, twin) + Twice(twin, one.Line) + NotDone(one.Line),
        NeedlesslyRecorded { Written: [var one] } => NotDone(one.Line),
        Miscounted m => Miscount(m),
        Misstated m => Weight(Err.Total) * TotalUntold * SlipsOfThePen.OfThePen.Sum(e => _rates.Weights[(int)e]
            * SlipsOfThePen.ShareOfSlip(e, m.Right.Minor, m.Taken.Counted.Minor))
                / SlipsOfThePen.OfThePen.Sum(e => _rates.Weights[(int)e]),
        Miswritten { Kind: MistakeKind.WrongChange } m => Change(m.Effects.Single().Amount) + Pen(m),
        Miswritten { Kind: MistakeKind.WrongDay } m => Day(m),
        Miswritten { Kind: MistakeKind.WrongCompartment } m => Elsewhere(m, Err.WrongCompartment)
            / (_life.Purses.Length - 1),
        Miswritten { Kind: MistakeKind.WrongHolding } m => Elsewhere(m, Err.WrongHolding),
        Miswritten { Kind: MistakeKind.WrongDirection } m => Weight(Err.WrongWay) / Math.Max(1, _here.Count)
            * (m.Written is Filled or Refunded && m.Right is Spent ? 0.5 : 1) * Fit(m.Right, m.Written),
        Miswritten m => Pen(m),
        _ => 0,
    };

    private int Count<T>() => _here.Count(w => w.Said is T);

    private double Missing(IReplacement movement) => movement switch
    {
        Spent s => Weight(Err.SpendForgotten) * _days * Rate(s with { Description = "" }) / _rates.Blank
            / (Count<Spent>() + 1),
        Refunded r => Weight(Err.RefundForgotten) * (RefundLived(r) + (Count<Refunded>() > 0 ? 0
            : (double)_here.Count(w => w.Said is Spent s && s.Amount == r.Amount) / Math.Max(1, Count<Spent>()))),
        Filled f => Weight(Err.FillForgotten) / (Count<Filled>() + 1) * ((Missed() * (f.Amount.Minor == Fill ? 1 : 0)
            / NotDue) + (f.Amount.Minor == Math.Max(Fill, 5_000) ? ToppedUp * _days : 0)),
        Transferred t => Weight(Err.TransferForgotten) * TrueLife.ShareOfRound(t.Amount) * (PairRate * _days
            / (Count<Transferred>() + 1) + (Count<Transferred>() > 0 ? 0 : Partner(t) / 2)),
        _ => 0,
    };

    private double PairRate => TrueLife.MovesPerDay / _life.Purses.Length / _life.Purses.Length;

    private double Partner(Transferred t)
    {
        var other = t.From == _book.Asked ? t.To : t.From;
        return other.Holding == Holding.Bank ? 0 : Purse(other.Compartment).Share
            / _life.Purses.Where(p => p.Id != _book.Asked.Compartment).Sum(p => p.Share);
    }

    // That a purchase of these days came back, wholly or in part.
    private double RefundLived(Refunded refund) => TrueLife.ComesBack * _here.Select(w => w.Said).OfType<Spent>()
        .Sum(s => (s.Amount == refund.Amount ? 0.5 : 0) + (0.5 * _life.ShareOfPart(s.Amount, refund.Amount)))
        / (Count<Refunded>() + 1);

    private long Fill => Purse(_book.Asked.Compartment).Fill;

    // Days on which money was due and no line has it.
    private int Missed()
    {
        var purse = Purse(_book.Asked.Compartment);
        return Enumerable.Range(1, _days).Select(d => _life.Agreed.AddDays(d)).Count(d => TrueLife.IsDue(purse, d)
            && !_book.Written.Any(w => !w.Left && w.Said is Filled { Description: "Pay" } f && f.OccurredOn == d
                && f.Compartment == purse.Id));
    }

    private WrittenLine Line(long number) => _book.Written.First(w => w.Number == number);

    private double Twice(long copied, long from)
    {
        var (copy, first) = (Line(copied).Said, Line(from));
        var gap = copy.OccurredOn.DayNumber - first.Said.OccurredOn.DayNumber;
        var words = copy.Description == first.Said.Description
            ? (copy.Description.Length == 0 || copy is Filled ? 1 : 0.75)
            : copy.Description.Length == 0 ? 0.25 : 0;
        var may = _here.Count(w => w.Said is not Filled { Description: "Pay" }) - 1;
        return !_here.Contains(first) || may < 1 || copy is Filled { Description: "Pay" } || gap is < 0 or > 3 ? 0
            : Weight(Err.Twice) / may * (gap == 0 ? 0.75 : 0.25 / 3) * words / Rate(copy);
    }

    // Like a line of the next day, with its amount or a round one.
    private double NotDone(long number)
    {
        var said = Line(number).Said;
        return _here.Where(w => w.Number != number && w.Said.Kind == said.Kind
                && w.Said.OccurredOn == said.OccurredOn.AddDays(1) && w.Said.Description == said.Description
                && w.Said.Postings.Select(p => p.Place).SequenceEqual(said.Postings.Select(p => p.Place)))
            .Sum(w => 0.5 * (Amount(w.Said) == Amount(said) ? 1 : 0) + (0.5 * TrueLife.ShareOfRound(Amount(said))))
            * Weight(Err.NotDone) / Math.Max(1, _here.Count - 1) / Rate(said);
    }

    private double Miscount(Miscounted m)
    {
        var told = !m.Taken.Pieces.IsDefaultOrEmpty;
        var total = m.Taken.Counted + m.Is - m.As;
        var random = new Random(1);
        return (told ? PiecesTold : PiecesUntold) * (told
            ? Miscount(m, m.Taken.Pieces.ToDictionary(p => p.Value, p => p.Count + (p.Value == m.Is ? 1 : 0)
                - (p.Value == m.As ? 1 : 0)))
            : Enumerable.Range(0, PurseDraws).Average(_ => Miscount(m,
                NotesAndCoins.InPieces(random, total).ToDictionary(p => p.Value, p => p.Count))));
    }

    // By the pieces that there were.
    private double Miscount(Miscounted m, Dictionary<Money, int> there)
    {
        if (m.Is > Money.Zero && !there.ContainsKey(m.Is))
        {
            there[m.Is] = m.Taken.Pieces.IsDefaultOrEmpty ? 0 : 1;
        }

        double Among(Money face, long least) => Math.Max(0, there.GetValueOrDefault(face))
            / Math.Max(1.0, there.Where(p => p.Key.Minor >= least).Sum(p => p.Value));
        return m.Kind == MistakeKind.WrongDenomination
            ? Weight(Err.Misread) * (there[m.Is] > 0 ? 1.0 / there.Count(p => p.Value > 0) : 0)
                * (m.Is == NotesAndCoins.Faces[0] || m.Is == NotesAndCoins.Faces[^1] ? 1 : 0.5)
            : m.As == Money.Zero
                ? (Weight(Err.PieceOff) * 2 / 3 * Among(m.Is, 0))
                    + (m.Is.Minor >= 500 ? Weight(Err.Stuck) * Among(m.Is, 500) : 0)
                : Weight(Err.PieceOff) / 3 * Among(m.As, 0);
    }

    private double Change(Money step)
    {
        var size = new Money(Math.Abs(step.Minor));
        var steps = _here.Select(w => w.Said).OfType<Spent>().Select(s => NotesAndCoins.StepsOfChange(s.Amount))
            .Where(s => s.Length > 0).ToList();
        return steps.Count == 0 ? 0 : Weight(Err.WrongChange) / 2
            * steps.Average(s => s.Contains(size) ? 1.0 / s.Length : 0);
    }

    private double Day(Miswritten m)
    {
        var (said, on) = (m.Written, m.Written.OccurredOn);
        double Lived(IEnumerable<DateOnly> days) => days.Sum(d => Rate(Dated(said, d))) / Rate(said);
        if (m.Right.OccurredOn < on)
        {
            var possible = Math.Min(4, _life.Today.DayNumber - _life.CountedOn.DayNumber + 1);
            var days = Enumerable.Range(0, Math.Min(6, _days)).Select(d => _life.CountedOn.AddDays(-d));
            var recent = _here.Count(w => w.Said.OccurredOn > _life.CountedOn.AddDays(-6));
            return on >= _life.CountedOn.AddDays(possible) ? 0 : Weight(Err.WrongDay)
                * (_life.CountedOn == _life.Today ? 1 : 0.75) / possible * Lived(days) / (recent + 1);
        }

        var after = _book.Written.Count(w => !w.Left && w.Said.OccurredOn > _life.CountedOn
            && w.Said.Postings.Any(p => p.Place == _book.Asked));
        var later = Enumerable.Range(1, _life.Today.DayNumber - _life.CountedOn.DayNumber)
            .Select(_life.CountedOn.AddDays);
        return on < _life.CountedOn.AddDays(-2) || on == _life.CountedOn ? 0
            : Weight(Err.WrongDay) * 0.25 / 2 * Lived(later) / (after + 1);
    }

    private double Elsewhere(Miswritten m, Err err)
    {
        var (right, written) = (m.Right.Postings.First().Place, m.Written.Postings.First().Place);
        int In(Part place) => _window.Count(w => w.Said is Spent or Refunded or Filled
            && w.Said.Postings.First().Place == place);
        if (m.Written is Transferred)
        {
            return 0;
        }

        var chosen = right == _book.Asked
            ? (0.5 + (In(written) == 1 ? 0.5 : 0)) / (In(right) + 1)
            : 0.5 / (In(right) + 1);
        return Weight(err) * chosen * Fit(m.Right, m.Written);
    }

    private double Pen(Miswritten m)
    {
        var (right, written) = (Amount(m.Right), Amount(m.Written));
        var chance = 0.0;
        foreach (var err in SlipsOfThePen.OfThePen)
        {
            chance += Weight(err) * SlipsOfThePen.ShareOfSlip(err, right.Minor, written.Minor)
                / Math.Max(1, _here.Count(w => SlipsOfThePen.MaySlip(err, Amount(w.Said).Minor)));
        }

        return chance * Fit(m.Right, m.Written);
    }

    private static Money Amount(IMovement said) => new(Math.Abs(said.Postings.First().Amount.Minor));

    private static IReplacement Dated(IReplacement said, DateOnly day) => Retelling.Dated(said, day);

    private Purse Purse(string id) => _life.Purses.First(p => p.Id == id);

    private double Fit(IReplacement right, IReplacement written) => Rate(right) / Rate(written);

    // How many such lines there are on such a day.
    private double Rate(IReplacement said)
    {
        var place = said.Postings.First().Place;
        var purse = Purse(place.Compartment);
        double Held(double bank) => !purse.HasBank ? (place.Holding == Holding.Cash ? 1 : Unheard)
            : place.Holding == Holding.Bank ? bank : 1 - bank;
        double Bought(Func<Item, double> share) => Math.Max(Unheard, Held(0.2) * _rates.Perday * purse.Share
            / _life.Purses.Sum(p => p.Share) * purse.Items.Sum(i => i.Share * share(i)
                * (said.Description.Length == 0 ? _rates.Blank
                    : said.Description == i.Words ? 1 - _rates.Blank : 0)) / purse.Items.Sum(i => i.Share));
        var amount = Amount(said);
        return said switch
        {
            Spent => Bought(i => _life.ShareOfPrice(i, amount)),
            Refunded => Bought(i => TrueLife.ComesBack * _life.ShareBack(i, amount)),
            Filled { Description: "Pay" } => TrueLife.IsDue(purse, said.OccurredOn) && amount.Minor == purse.Fill
                ? Held(1.0 / 3) : NotDue,
            Filled { Description: "Topped up" } => amount.Minor == Math.Max(purse.Fill, 5_000)
                ? Math.Max(Unheard, ToppedUp * Held(0.2)) : Unheard,
            Transferred => Math.Max(Unheard, PairRate * TrueLife.ShareOfRound(amount)),
            _ => Unheard,
        };
    }
}
