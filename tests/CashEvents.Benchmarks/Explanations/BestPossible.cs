namespace CashEvents.Benchmarks.Explanations;

/// <summary>
/// What one could know who knew how the household lives and errs: how likely each single mistake is under the
/// generator's own weights, prices and habits. By it the explanations are put in order once more; nobody can do much
/// better than that order.
/// </summary>
internal sealed class BestPossible
{
    private const int Draws = 4_000;

    private readonly MistakenBook _book;
    private readonly Rates _rates;
    private readonly Dictionary<(string Purse, string? Words), Dictionary<long, double>> _prices = [];
    private readonly double _lines;
    private readonly Money[] _faces = [.. Denominations.StillIssued(Currency.Of("EUR"))];

    public BestPossible(MistakenBook book, Rates rates)
    {
        (_book, _rates) = (book, rates);
        _lines = Math.Max(1, InWindow().Count());
    }

    /// <summary>At which place, from 1, the truth stands in the best order; null where it was not listed.</summary>
    public int? Rank(IReadOnlyList<Explanation> listed)
    {
        var at = listed.Where(e => e.Mistakes.Length == 1).Select(e => (e, Chance: Of(e.Mistakes[0])))
            .OrderByDescending(e => e.Chance).Select(e => e.e).ToList().FindIndex(_book.IsTrue);
        return at < 0 ? null : at + 1;
    }

    private double Weight(Err err) => _rates.Weights[(int)err];

    private IEnumerable<WrittenLine> InWindow() => _book.Written.Where(w => !w.Left
        && w.Said.OccurredOn > _book.Life.Agreed && w.Said.OccurredOn <= _book.Life.CountedOn
        && w.Said.Postings.Any(p => p.Place == _book.Asked));

    // What another count needs too is as good as sure.
    private double Of(Mistake mistake) => Alone(mistake) * (mistake.Effects.Any(e => e.Place != _book.Asked
        && _book.Life.Counted.Contains(e.Place) && _book.Book.LastCount(e.Place)!.Difference == e.Amount) ? 1e4 : 1);

    private double Alone(Mistake mistake) => mistake switch
    {
        NotRecorded n => Missing(n.Movement),
        NeedlesslyRecorded { Twin: { } twin, Written: [var one] } => Math.Max(Twice(one.Line, twin), NotDone(one.Said)),
        NeedlesslyRecorded { Written: [var one] } => NotDone(one.Said),
        Miscounted m => Miscount(m),
        Miswritten { Kind: MistakeKind.WrongChange } m => Change(m.Effects.Single().Amount),
        Miswritten { Kind: MistakeKind.WrongDay } m => Weight(Err.WrongDay)
            * (m.Right.OccurredOn < m.Written.OccurredOn ? 0.75 : 0.25) / 3 / PerDay(_book.Asked),
        Miswritten { Kind: MistakeKind.WrongCompartment } m => Weight(Err.WrongCompartment) / 2 / _lines
            / (_book.Life.Purses.Length - 1) * Rate(m.Right) / Rate(m.Written),
        Miswritten { Kind: MistakeKind.WrongHolding } m => Weight(Err.WrongHolding) / 2 / _lines
            * Rate(m.Right) / Rate(m.Written),
        Miswritten { Kind: MistakeKind.WrongDirection } m => Weight(Err.WrongWay) / 2 / _lines
            * Rate(m.Right) / Rate(m.Written),
        Miswritten m => Pen(m),
        _ => 0,
    };

    private double Missing(IReplacement movement) => movement switch
    {
        Spent s => Weight(Err.SpendForgotten) * Price(s.Compartment, null, s.Amount),
        Refunded r => Weight(Err.RefundForgotten) * Spends().Count(s => s.Amount == r.Amount)
            / Math.Max(1, Spends().Count()),
        Filled f => Weight(Err.FillForgotten) * (f.Amount.Minor == Purse(f.Compartment).Fill ? 0.8
            : f.Amount.Minor == Math.Max(Purse(f.Compartment).Fill, 5_000) ? 0.2 : 0),
        Transferred t => Weight(Err.TransferForgotten) / 2 * TrueLife.ShareOfRound(t.Amount)
            * Purse((t.From == _book.Asked ? t.To : t.From).Compartment).Share
            / _book.Life.Purses.Where(p => p.Id != _book.Asked.Compartment).Sum(p => p.Share),
        _ => 0,
    };

    private IEnumerable<Spent> Spends() => InWindow().Select(w => w.Said).OfType<Spent>();

    private double Twice(long line, long twin)
    {
        var (copy, first) = (_book.Written.First(w => w.Number == line), _book.Written.First(w => w.Number == twin));
        var gap = Math.Abs(copy.Said.OccurredOn.DayNumber - first.Said.OccurredOn.DayNumber);
        var words = copy.Said.Description == first.Said.Description ? 0.75 : 0.25;
        return gap > 3 ? 0 : Weight(Err.Twice) / _lines * (gap == 0 ? 0.75 : 0.08) * words / Rate(copy.Said);
    }

    private double NotDone(IReplacement said) => Weight(Err.NotDone) / _lines * (said is not Spent ? 1 : 0.5
        + (0.5 * TrueLife.ShareOfRound(Amount(said)) / Math.Max(1e-4, Price(_book.Asked.Compartment, null,
            Amount(said)))));

    private double Miscount(Miscounted m)
    {
        var pieces = m.Taken.Pieces.IsDefaultOrEmpty ? null : m.Taken.Pieces.ToDictionary(p => p.Value, p => p.Count);
        double all = pieces?.Values.Sum() ?? _faces.Length;
        double There(Money face) => pieces is null ? 1 : pieces.GetValueOrDefault(face) + (m.As == Money.Zero ? 1 : 0);
        return m.Kind == MistakeKind.WrongDenomination
            ? Weight(Err.Misread) / 2 / (pieces?.Count ?? 10)
            : m.As == Money.Zero
                ? ((Weight(Err.PieceOff) * 2 / 3 * There(m.Is) / all)
                    + (m.Is.Minor >= 500 ? Weight(Err.Stuck) * There(m.Is)
                        / (pieces?.Where(p => p.Key.Minor >= 500).Sum(p => p.Value + 0.5) ?? 4) : 0))
                : Weight(Err.PieceOff) / 3 * There(m.As) / all;
    }

    private double Change(Money step)
    {
        Money[] steps = [.. _faces.Concat(_faces.Zip(_faces.Skip(1), (a, b) => a - b)).Distinct()
            .Where(s => s.Minor >= 5)];
        var size = new Money(Math.Abs(step.Minor));
        var chances = Spends().Select(s => _faces.Where(f => f >= s.Amount).DefaultIfEmpty(s.Amount).Min() - s.Amount)
            .Select(change => steps.Count(s => s <= change) is var n && n > 0 && size <= change ? 1.0 / n : 0).ToList();
        return chances.Count == 0 ? 0 : Weight(Err.WrongChange) / 2 * chances.Average();
    }

    private double Pen(Miswritten m)
    {
        var (right, written) = (Amount(m.Right), Amount(m.Written));
        var chance = 0.0;
        foreach (var err in new[] { Err.Transposed, Err.Slid, Err.Rounded, Err.Digit })
        {
            chance += Weight(err) * MistakenBook.ShareOfSlip(err, right.Minor, written.Minor);
        }

        double Usual(Money amount) => m.Written is Spent s ? Price(s.Compartment, s.Description, amount) : 1e-3;
        return chance / _lines * Usual(right) / Usual(written);
    }

    private static Money Amount(IMovement said) => new(Math.Abs(said.Postings.First().Amount.Minor));

    private Purse Purse(string id) => _book.Life.Purses.First(p => p.Id == id);

    private double PerDay(Part place) => _rates.Perday * Purse(place.Compartment).Share
        / _book.Life.Purses.Sum(p => p.Share);

    // How many such lines there are on a day.
    private double Rate(IReplacement said)
    {
        var place = said.Postings.First().Place;
        var holding = !Purse(place.Compartment).HasBank ? (place.Holding == Holding.Cash ? 1 : 1e-3)
            : place.Holding == Holding.Bank ? 0.2 : 0.8;
        return holding * said switch
        {
            Spent s => PerDay(place) * Words(s) * Price(s.Compartment, s.Description, s.Amount),
            Refunded r => 0.035 * PerDay(place) * Words(r) * Price(r.Compartment, r.Description, r.Amount),
            Filled f when f.Description is "Pay" or "Topped up" => 0.1,
            Filled => 1e-6,
            Transferred => 0.12 / _book.Life.Purses.Length * TrueLife.ShareOfRound(Amount(said)),
            _ => 1e-6,
        };
    }

    private double Words(IReplacement said)
    {
        var items = Purse(said.Postings.First().Place.Compartment).Items;
        return said.Description.Length == 0 ? _rates.Blank
            : ((1 - _rates.Blank) * items.Where(i => i.Words == said.Description).Sum(i => i.Share)
                / items.Sum(i => i.Share)) + 1e-4;
    }

    // By drawing many prices; what was not drawn has a small chance.
    private double Price(string purse, string? words, Money amount)
    {
        words = words is { Length: > 0 } && Purse(purse).Items.Any(i => i.Words == words) ? words : null;
        if (!_prices.TryGetValue((purse, words), out var drawn))
        {
            _prices.Add((purse, words), drawn = _book.Life.Drawn(Purse(purse), words, Draws));
        }

        return drawn.GetValueOrDefault(amount.Minor, 0.1 / Draws);
    }
}
