using System.Collections.Immutable;

namespace CashEvents.Benchmarks.Explanations;

/// <summary>A line as it was written, and what it should have been.</summary>
internal sealed class WrittenLine(Happened happened)
{
    public IReplacement Said { get; set; } = happened.Said;

    public Happened Happened { get; } = happened;

    public DateOnly On { get; set; } = happened.Written;

    public string By { get; set; } = happened.By;

    /// <summary>Whether it is in the book at all.</summary>
    public bool Left { get; set; }

    /// <summary>Whether it stands for something that happened.</summary>
    public bool Spurious { get; init; }

    public bool Touched { get; set; }

    public long Number { get; set; }
}

/// <summary>A book in which known mistakes were made, and whose count disagrees for it.</summary>
internal sealed class MistakenBook
{
    private static readonly Currency Euro = Currency.Of("EUR");
    private static readonly Money[] Faces = [.. Denominations.StillIssued(Euro)];

    private readonly Random _random;
    private readonly Dictionary<Part, Money> _found = [];
    private readonly Dictionary<Part, ImmutableArray<Pieces>> _pieces = [];
    private readonly Dictionary<Part, long> _counts = [];
    private readonly List<Func<Mistake, bool>> _truths = [];

    /// <summary>Lives and errs.</summary>
    /// <param name="random">Chance.</param>
    /// <param name="rates">How people live and err.</param>
    /// <param name="errs">The mistakes.</param>
    /// <param name="loss">Whether something is lost or found.</param>
    /// <param name="foundBefore">What was found behind earlier counts; null for a difference that was accepted.</param>
    /// <param name="told">Whether those counts are in the book.</param>
    public MistakenBook(Random random, Rates rates, Err[] errs, bool loss, Err?[]? foundBefore = null,
        bool told = true)
    {
        (_random, Life) = (random, new TrueLife(random, rates));
        Written = [.. Life.Lines.Select(l => new WrittenLine(l))];
        foreach (var place in Life.Counted)
        {
            _found[place] = Life.Found(place);
            _pieces[place] = random.Next(5) < 3 ? InPieces(random, _found[place]) : [];
        }

        Asked = rates.Crowded ? TrueLife.Cash(Life.Purses[0].Id) : Life.Counted[random.Next(Life.Counted.Length)];
        Made = errs.All(e => Make(e, rates));
        if (loss)
        {
            Lose(rates);
        }

        Write(foundBefore, told);
        // A line that would take what is not there would have been refused.
        Made &= Book.LastCount(Asked)!.Difference != Money.Zero
            && Book.Days.All(d => d.Value.LowestFrom(Life.First).Closing >= Money.Zero);
    }

    public TrueLife Life { get; }

    public List<WrittenLine> Written { get; }

    public Part Asked { get; }

    /// <summary>Whether each mistake could be made, and the count disagrees.</summary>
    public bool Made { get; }

    public Book Book { get; private set; } = Book.Empty;

    public ImmutableArray<BookLine> Lines { get; private set; } = [];

    public long Count => _counts[Asked];

    public Money Difference => Book.LastCount(Asked)!.Difference;

    public bool IsTrue(Explanation explanation) => explanation.Mistakes.Length == _truths.Count && _truths.Count > 0
        && _truths.TrueForAll(t => explanation.Mistakes.Any(t));

    /// <summary>
    /// Whether accepting it would write what stands in the book already, on another day or elsewhere, and it does not
    /// name that line.
    /// </summary>
    public bool WritesASecond(Explanation explanation) => !IsTrue(explanation)
        && explanation.Mistakes.OfType<NotRecorded>().Any(n =>
        Written.Any(w => w.Touched && !w.Left && !w.Spurious && !ReferenceEquals(w.Said, w.Happened.Said)
            && w.Happened.Said.OccurredOn <= Life.CountedOn
            && Amount(w.Said) == Amount(n.Movement) && Amount(w.Happened.Said) == Amount(n.Movement)
            && w.Happened.Said.Postings.Any(p => n.Movement.Postings.Contains(p))
            && !n.MayBe.Concat(explanation.Mistakes).Any(m => m.Lines.Contains(w.Number))));

    private List<WrittenLine> InWindow(Func<WrittenLine, bool> which) => [.. Written.Where(w => !w.Touched
        && w.Happened.Said.OccurredOn > Life.Agreed && Life.Before(w.Happened) && which(w))
        .OrderBy(_ => _random.Next())];

    private bool Here(WrittenLine line) => line.Said.Postings.Any(p => p.Place == Asked);

    private bool Make(Err err, Rates rates) => err switch
    {
        Err.SpendForgotten => Forget(w => w.Said is Spent && Here(w)),
        Err.RefundForgotten => Forget(w => w.Said is Refunded && Here(w)) || ForgetARefund(),
        Err.FillForgotten => Forget(w => w.Said is Filled && Here(w)),
        Err.TransferForgotten => Forget(w => w.Said is Transferred && Here(w)) || ForgetATransfer(),
        Err.Twice => Repeat(),
        Err.WrongWay => Change(w => Here(w), Turned),
        Err.WrongCompartment => WriteElsewhere(w => w.Purses.Select(p => TrueLife.Cash(p.Id))),
        Err.WrongHolding => WriteElsewhere(_ => [Asked with { Holding = Holding.Bank }]),
        Err.Transposed or Err.Slid or Err.Rounded or Err.Digit =>
            Change(Here, said => Miswritten(err, said) is { } amount ? WithAmount(said, amount) : null),
        Err.Misread or Err.PieceOff or Err.Stuck => Miscount(err),
        Err.WrongChange => Shortchange(),
        Err.WrongDay => Misdate(),
        Err.Total => Miswrite(rates),
        _ => NotDone(),
    };

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

        var said = (IReplacement)Dated(_random.Next(4) == 0 ? Worded(line.Said, "") : line.Said, day);
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
            _pieces[Asked] = pieces = InPieces(_random, _found[Asked]);
        }

        if (pieces.IsEmpty)
        {
            return false;
        }

        var piece = err == Err.Misread
            ? pieces[_random.Next(pieces.Length)].Value
            : Life.Weighted([.. pieces.Where(p => err != Err.Stuck || p.Value.Minor >= 500)
                .DefaultIfEmpty(pieces[0])], p => p.Count).Value;
        var at = Array.IndexOf(Faces, piece);
        Money? taken = err switch
        {
            Err.Misread => Faces[at == 0 ? 1 : at == Faces.Length - 1 ? at - 1 : at + (_random.Next(2) == 0 ? 1 : -1)],
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

    /// <summary>What the pen does to one number: slips of the kinds that befall lines.</summary>
    public static readonly Err[] OfThePen = [Err.Transposed, Err.Slid, Err.Rounded, Err.Digit];

    // The total of the count itself.
    private bool Miswrite(Rates rates)
    {
        var right = _found[Asked];
        if (Slip(_random, Life.Weighted(OfThePen, e => rates.Weights[(int)e]), right.Minor) is not { } wrong)
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
            var steps = StepsOfChange(Amount(line.Said));
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

    /// <summary>By how much the change on a price may be wrong.</summary>
    public static Money[] StepsOfChange(Money price)
    {
        var change = Faces.Where(f => f >= price).DefaultIfEmpty(price).Min() - price;
        return [.. Faces.Concat(Faces.Zip(Faces.Skip(1), (a, b) => a - b)).Distinct()
            .Where(s => s <= change && s.Minor >= 5)];
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
            (line.Said, line.On, line.Touched) = ((IReplacement)Dated(line.Said, day), Later(day), true);
            return Expect(m => m is Miswritten { Kind: MistakeKind.WrongDay } w && w.Line == line.Number);
        }

        var after = Written.Where(w => !w.Touched && Here(w) && w.Said.OccurredOn > Life.CountedOn)
            .OrderBy(_ => _random.Next()).FirstOrDefault();
        if (after is null)
        {
            return false;
        }

        (after.Said, after.Touched) =
            ((IReplacement)Dated(after.Said, Life.CountedOn.AddDays(-_random.Next(1, 3))), true);
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
            Said = (IReplacement)Dated(said, like.Said.OccurredOn.AddDays(-1)),
            Touched = true,
            Spurious = true,
        };
        Written.Add(line);
        return Expect(m => m is NeedlesslyRecorded { Written: [var one] } && one.Line == line.Number);
    }

    private static readonly Money[] Coins = [.. Faces.Where(f => f.Minor is >= 5 and < 500)];
    private static readonly Money[] Notes = [.. Faces.Where(f => f.Minor is >= 500 and <= 5_000)];

    /// <summary>How likely what is lost or found is just so much.</summary>
    public static double ShareOfLoss(Money size, Prices prices, Rates rates)
    {
        double One(Money[] faces) => faces.Contains(size) ? 1.0 / faces.Length : 0;
        var odd = prices == Prices.Cents ? (size.Minor is >= 3 and < 700 ? 1.0 / 697 : 0)
            : size.Minor is >= 5 and < 700 && size.Minor % 5 == 0 ? 1.0 / 139 : 0;
        return (rates.Loss.Coin * One(Coins)) + (rates.Loss.Note * One(Notes))
            + ((1 - rates.Loss.Coin - rates.Loss.Note) * odd);
    }

    private void Lose(Rates rates)
    {
        var size = _random.NextDouble() switch
        {
            var x when x < rates.Loss.Coin => Coins[_random.Next(Coins.Length)],
            var x when x < rates.Loss.Coin + rates.Loss.Note => Notes[_random.Next(Notes.Length)],
            _ => new Money(Life.Prices == Prices.Cents ? _random.Next(3, 700) : 5 * _random.Next(1, 140)),
        };
        _found[Asked] += _random.Next(4) == 0 || _found[Asked] < size ? size : -size;
        Recount(Asked);
    }

    private bool Expect(Func<Mistake, bool> truth)
    {
        _truths.Add(truth);
        return true;
    }

    // What a slip may make of an amount; of a digit, at each place each other one.
    private static List<(long Wrong, double Chance)> Slips(Err err, long right)
    {
        var text = right.ToString(Invariant);
        List<(long Wrong, double Chance)> wrong = [];
        void Add(long made, double chance = 1) => wrong.Add((made, chance));
        switch (err)
        {
            case Err.Transposed:
                for (var i = 0; i + 1 < text.Length; i++)
                {
                    Add(long.Parse(text[..i] + text[i + 1] + text[i] + text[(i + 2)..], Invariant));
                }

                break;
            case Err.Slid:
                Add(right * 10);
                Add(right * 100);
                Add(right % 10 == 0 ? right / 10 : right);
                break;
            case Err.Rounded:
                Add((right + 50) / 100 * 100, 2);
                Add(right / 100 * 100);
                Add((right + 25) / 50 * 50);
                break;
            default:
                for (var at = 0; at < text.Length; at++)
                {
                    for (var digit = at == 0 ? '1' : '0'; digit <= '9'; digit++)
                    {
                        Add(long.Parse(text[..at] + digit + text[(at + 1)..], Invariant), at == 0 ? 1.0 / 9 : 0.1);
                    }
                }

                break;
        }

        wrong.RemoveAll(w => w.Wrong == right || w.Wrong <= 0 || w.Wrong > 90_000);
        return wrong;
    }

    private static long? Slip(Random random, Err err, long right)
    {
        var wrong = Slips(err, right);
        var at = random.NextDouble() * wrong.Sum(w => w.Chance);
        foreach (var (made, chance) in wrong)
        {
            at -= chance;
            if (at <= 0)
            {
                return made;
            }
        }

        return null;
    }

    /// <summary>Whether a slip of one kind can befall an amount.</summary>
    public static bool MaySlip(Err err, long right) => Slips(err, right).Count > 0;

    /// <summary>How likely a slip of one kind makes one amount of another.</summary>
    public static double ShareOfSlip(Err err, long right, long written)
    {
        var slips = Slips(err, right);
        return slips.Count == 0 ? 0
            : slips.Where(s => s.Wrong == written).Sum(s => s.Chance) / slips.Sum(s => s.Chance);
    }

    private Money? Miswritten(Err err, IReplacement said) =>
        Slip(_random, err, Amount(said).Minor) is { } wrong ? new Money(wrong) : null;

    private static readonly System.Globalization.CultureInfo Invariant =
        System.Globalization.CultureInfo.InvariantCulture;

    private IReplacement? Turned(IReplacement said) => said switch
    {
        Spent s when _random.Next(2) == 0 =>
            new Filled(s.Compartment, s.Holding, s.Amount, s.OccurredOn, s.Description),
        Spent s => new Refunded(s.Compartment, s.Holding, s.Amount, s.OccurredOn, s.Description),
        Refunded r => new Spent(r.Compartment, r.Holding, r.Amount, r.OccurredOn, r.Description),
        Transferred t => t with { From = t.To, To = t.From },
        Filled f => new Spent(f.Compartment, f.Holding, f.Amount, f.OccurredOn, f.Description),
        _ => null,
    };

    private static IReplacement? Moved(IReplacement said, Part to) => said switch
    {
        Spent s => s with { Compartment = to.Compartment, Holding = to.Holding },
        Refunded r => r with { Compartment = to.Compartment, Holding = to.Holding },
        Filled f => f with { Compartment = to.Compartment, Holding = to.Holding },
        _ => null,
    };

    private static IReplacement? WithAmount(IReplacement said, Money amount) => said switch
    {
        Spent s => s with { Amount = amount },
        Refunded r => r with { Amount = amount },
        Filled f => f with { Amount = amount },
        Transferred t => t with { Amount = amount },
        _ => null,
    };

    public static IMovement Dated(IReplacement said, DateOnly day) => said switch
    {
        Spent s => s with { OccurredOn = day },
        Refunded r => r with { OccurredOn = day },
        Filled f => f with { OccurredOn = day },
        Transferred t => t with { OccurredOn = day },
        _ => said,
    };

    private static IReplacement Worded(IReplacement said, string words) => said switch
    {
        Spent s => s with { Description = words },
        Refunded r => r with { Description = words },
        Transferred t => t with { Description = words },
        _ => said,
    };

    private static Money Amount(IMovement said) => new(Math.Abs(said.Postings.First().Amount.Minor));

    // Words and day can't be known.
    private static bool Same(IReplacement one, IReplacement other) =>
        one.Kind == other.Kind && one.Postings.SequenceEqual(other.Postings);

    private void Recount(Part place)
    {
        if (!_pieces[place].IsDefaultOrEmpty)
        {
            _pieces[place] = InPieces(_random, _found[place]);
        }
    }

    /// <summary>A purse with some of everything, not the fewest pieces.</summary>
    public static ImmutableArray<Pieces> InPieces(Random random, Money total)
    {
        var (rest, pieces) = (total.Minor, new List<Pieces>());
        foreach (var face in Faces.Select(f => f.Minor).Where(f => f <= 5_000))
        {
            var most = (int)(rest / face);
            var number = face is 1 ? most : face > 2_000
                ? Math.Max(0, most - random.Next(3))
                : Math.Max(0, Math.Min(most, (most / 2) + random.Next(3)));
            pieces.Add(new Pieces(new Money(face), number));
            rest -= number * face;
        }

        return [.. pieces.Where(p => p.Count > 0)];
    }

    private void Write(Err?[]? foundBefore, bool told)
    {
        var lines = ImmutableArray.CreateBuilder<BookLine>();
        long Enter(params IBookEvent[] entry)
        {
            var id = Book.Line + 1;
            foreach (var said in entry)
            {
                Book = Book.Apply(said);
                lines.Add(new BookLine(Book.Line, id, DateTimeOffset.UnixEpoch, "keeper", said));
            }

            return Book.Line;
        }

        void Append(IBookEvent said, string by)
        {
            Book = Book.Apply(said);
            lines.Add(new BookLine(Book.Line, Book.Line, DateTimeOffset.UnixEpoch, by, said));
        }

        Append(new HouseholdDescribed("Harbour Row", "EUR", "Europe/Dublin", DayOfWeek.Monday), "keeper");
        Append(new WalletOpened("oilskin-wallet", "Oilskin wallet"), "keeper");
        foreach (var purse in Life.Purses)
        {
            Append(new CompartmentOpened(purse.Id, purse.Id, "oilskin-wallet", purse.Purpose), "keeper");
            foreach (var holding in purse.HasBank ? [Holding.Cash, Holding.Bank] : new[] { Holding.Cash })
            {
                Append(new Filled(purse.Id, holding, TrueLife.Opening(holding), Life.First.AddDays(-1),
                    "What there was"), "keeper");
            }
        }

        if (foundBefore is not null)
        {
            Append(new CompartmentOpened(FoundBefore.Compartment, FoundBefore.Compartment, "oilskin-wallet",
                Purpose.Spending), "keeper");
            new FoundBefore(Enter, told).Write(foundBefore, Life.Purses[0].Id, Life.First.AddDays(-3));
        }

        // Lines dated before the agreed counts were written before them or count as known late: both agree.
        foreach (var act in Written.Where(w => !w.Left)
            .Select(w => (w.On, Late: w.On == Life.CountedOn && w.Happened.AfterCount ? 2 : 0, Do: (Action)(() =>
            {
                Append(w.Said, w.By);
                w.Number = Book.Line;
            })))
            .Append((On: Life.Agreed, Late: 1, Do: () => CountAll(Life.Agreed, Append, agrees: true)))
            .Append((On: Life.CountedOn, Late: 1, Do: () => CountAll(Life.CountedOn, Append, agrees: false)))
            .OrderBy(a => a.On).ThenBy(a => a.Late))
        {
            act.Do();
        }

        Lines = [.. lines.OrderBy(l => (l.Event as IDatedEvent)?.OccurredOn ?? DateOnly.MinValue)
            .ThenBy(l => l.Number)];
    }

    private void CountAll(DateOnly day, Action<IBookEvent, string> append, bool agrees)
    {
        foreach (var place in Life.Counted)
        {
            var expected = Book.ExpectedOn(place, day);
            // What is dated before that day and written later was found by the count.
            var unwritten = Written.Where(w => !w.Left && w.Number == 0 && w.Said.OccurredOn < day)
                .SelectMany(w => w.Said.Postings).Where(p => p.Place == place)
                .Aggregate(Money.Zero, (sum, p) => sum + p.Amount);
            append(new CountTaken(place.Compartment, place.Holding, expected, agrees ? expected + unwritten
                : _found[place], agrees ? [] : _pieces[place], day, "", ""), "keeper");
            _counts[place] = Book.Line;
        }
    }
}
