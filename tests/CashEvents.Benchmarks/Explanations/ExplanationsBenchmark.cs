using System.Collections.Immutable;
using System.Diagnostics;
using System.Globalization;

namespace CashEvents.Benchmarks;

/// <summary>
/// Made-up households with the demo's density: half a year, four spending compartments, all counted on one day after a
/// month. One known mistake is made of each kind, or two;
/// how often is the true one listed first, among the first three, at all? And how long does an answer take with 5,000
/// lines since the last count that agreed?
/// </summary>
/// <remarks>
/// Which single mistakes are identifiable was ruled before any rank was looked at. One is not if
/// (a) another of its kind, on another line or between other notes, makes the same difference, or a fill and a refund
/// of that amount may be missing and not just one has been seen before; or
/// (b) it leaves no trace on any line (not recorded, wrong denomination, wrong change), and another kind without a
/// trace makes the same difference as well:
/// a note or coin, or the difference of neighbours, by change; neighbours that were counted, by denomination; an amount
/// seen in that compartment before, by what is not recorded.
/// </remarks>
internal static class ExplanationsBenchmark
{
    private const int Limit = 10;
    private const int HouseholdsEach = 200;

    public static int Run(int seed)
    {
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture,
            $"explanations: {HouseholdsEach} households for each kind of mistake, seed {seed}, {Limit} explanations "
                + $"listed"));
        Ranks(seed, 5, "prices in steps of 0.05, as in the demo");
        Ranks(seed, 100, "prices in whole euro, so that many are alike");
        Times(seed);
        return 0;
    }

    private static void Ranks(int seed, int step, string prices)
    {
        Console.WriteLine($"  {prices}");
        Console.WriteLine($"  {"",-22}{"identifiable ones",-36}   all");
        Console.WriteLine(
            $"  {"mistake",-22}{"number",7}{"first",9}{"in three",10}{"listed",9}   "
                + $"{"number",7}{"first",9}{"in three",10}{"listed",9}");
        var (known, every) = (new List<int?>(), new List<int?>());
        foreach (var kind in Enum.GetValues<MistakeKind>())
        {
            var (identifiable, all) = (new List<int?>(), new List<int?>());
            for (var i = 0; i < HouseholdsEach; i++)
            {
                var household = new MistakenHousehold(new Random(HashCode(seed, (int)kind, i)), [kind], step);
                if (!household.IsMistaken)
                {
                    continue;
                }

                var rank = household.Rank(Limit);
                all.Add(rank);
                if (household.IsIdentifiable)
                {
                    identifiable.Add(rank);
                }
            }

            Report(Name(kind), identifiable, all);
            known.AddRange(identifiable);
            every.AddRange(all);
        }

        Report("all single mistakes", known, every);
        var two = Enumerable.Range(0, 2 * HouseholdsEach).Select(i =>
        {
            var random = new Random(HashCode(seed, 99, i));
            var kinds = Enum.GetValues<MistakeKind>()
                .Where(k => k is not (MistakeKind.NotMoved or MistakeKind.WrongCompartment)).ToArray();
            return new MistakenHousehold(random, [kinds[random.Next(kinds.Length)], kinds[random.Next(kinds.Length)]],
                step);
        }).Where(h => h.IsMistaken).Select(h => h.Rank(Limit)).ToList();
        Report("two in a compartment", [], two);
        var apart = Enumerable.Range(0, HouseholdsEach)
            .Select(i => new MistakenHousehold(new Random(HashCode(seed, 98, i)),
                [MistakeKind.WrongCompartment, MistakeKind.RecordedTwice], step, apart: true)).Where(h => h.IsMistaken)
                .ToList();
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture,
            $"  three counts off by two mistakes (wrong compartment, and recorded twice elsewhere): just these are "
                + $"found together in {(double)apart.Count(h => h.IsExplainedTogether()) / apart.Count:P1}"));
    }

    private static void Times(int seed)
    {
        Console.WriteLine("  time for an answer with 5,000 lines in the window, milliseconds:");
        foreach (var kinds in new MistakeKind[][] { [MistakeKind.Transposed], [MistakeKind.NotRecorded],
            [MistakeKind.Transposed, MistakeKind.NotRecorded] })
        {
            var times = new List<double>();
            for (var i = 0; i < 12; i++)
            {
                var household = new MistakenHousehold(new Random(HashCode(seed, 97, i)), kinds, 5,
                    lines: ExplainedCount.MostLines);
                var began = Stopwatch.GetTimestamp();
                household.Rank(Limit);
                times.Add(Stopwatch.GetElapsedTime(began).TotalMilliseconds);
            }

            // The first ones run before the code is compiled for speed.
            var warm = times.Skip(2).Order().ToList();
            Console.WriteLine(string.Create(CultureInfo.InvariantCulture,
                $"    {string.Join(" and ", kinds.Select(Name)),-32} median {warm[warm.Count / 2]:F0}, longest "
                    + $"{warm[^1]:F0} (of the first two {times.Take(2).Max():F0})"));
        }
    }

    private static void Report(string what, List<int?> identifiable, List<int?> all) =>
        Console.WriteLine($"  {what,-22}{Ranks(identifiable)}   {Ranks(all)}");

    private static string Ranks(List<int?> ranks) => ranks.Count == 0 ? $"{0,7}{"-",9}{"-",10}{"-",9}" : string.Create(
        CultureInfo.InvariantCulture,
        $"{ranks.Count,7}{Share(ranks, 1),9:P1}{Share(ranks, 3),10:P1}{Share(ranks, Limit),9:P1}");

    private static double Share(List<int?> ranks, int upTo) => (double)ranks.Count(r => r <= upTo) / ranks.Count;

    private static string Name(MistakeKind kind) => char.ToLowerInvariant(kind.ToString()[0]) + kind.ToString()[1..];

    // The same on every machine and in every run, as HashCode.Combine is not.
    private static int HashCode(int seed, int kind, int i) => unchecked((seed * 7919) + (kind * 104_729) + i);
}

/// <summary>A household in whose book a known mistake was made.</summary>
internal sealed class MistakenHousehold
{
    private static readonly DateOnly First = new(2026, 6, 1);
    private static readonly DateOnly Agreed = new(2026, 10, 31);
    private static readonly DateOnly Today = new(2026, 11, 30);
    private static readonly Currency Euro = Currency.Of("EUR");
    private static readonly Money[] Faces = [.. Denominations.StillIssued(Euro)];

    // The demo's: how often a month, from and to in steps of five cents, and what is written beside it.
    private static readonly (string Id, int Times, int From, int To, int Fill, string[] Words)[] Habits =
    [
        ("ferry-fares", 9, 117, 246, 9_000, ["Return to the mainland", "Single, morning boat", "Return with bicycle",
            "Bus from the pier"]),
        ("market-days", 11, 154, 456, 19_000, ["Cheese and eggs", "Apples by the sack", "Fish off the boat",
            "Greengrocer's stall", "Smoked mackerel"]),
        ("bakery-van", 8, 66, 172, 5_500, ["Two loaves", "Rolls for Saturday", "Soda bread and scones", "Rye loaf"]),
        ("post-and-paper", 4, 50, 195, 3_000, ["Stamps", "Parcel to the mainland", "Envelopes and twine",
            "Newspapers for the week"]),
    ];

    private readonly Random _random;
    private readonly int _step;
    private readonly List<IReplacement> _truth = [];
    private readonly List<(IReplacement Said, int? True)> _written = [];
    private readonly Dictionary<string, Money> _found = [];
    private readonly Dictionary<string, ImmutableArray<Pieces>> _pieces = [];
    private readonly List<Func<string[]>> _codes = [];
    private readonly List<BookLine> _lines = [];
    private readonly string _place;
    private readonly int _started;
    private readonly int _mistakes;
    private Book _book = Book.Empty;
    private long _count;

    /// <summary>Makes one.</summary>
    /// <param name="random">Chance.</param>
    /// <param name="kinds">The mistakes.</param>
    /// <param name="step">Prices are multiples of so many cents.</param>
    /// <param name="apart">Whether each after the first is made in a compartment of its own.</param>
    /// <param name="lines">At least so many lines since the counts that agreed, of one compartment; 0 for the demo's
    /// density.</param>
    public MistakenHousehold(Random random, MistakeKind[] kinds, int step, bool apart = false, int lines = 0)
    {
        (_random, _step) = (random, step);
        _place = lines > 0 ? "market-days" : Habits[random.Next(3)].Id;
        Live(First, Agreed, 1);
        _started = _truth.Count;
        Live(Agreed.AddDays(1), Today.AddDays(-1), lines > 0 ? lines / 10 : 1);
        _written.AddRange(_truth.Select((line, i) => (line, (int?)i)));
        foreach (var compartment in Habits.Select(h => h.Id))
        {
            _found[compartment] = new Money(100_000)
                + _truth.SelectMany(t => t.Postings).Where(p => p.Place.Compartment == compartment)
                    .Aggregate(Money.Zero, (sum, p) => sum + p.Amount);
            _pieces[compartment] = random.Next(2) == 0 || kinds.Contains(MistakeKind.WrongDenomination)
                ? InPieces(_found[compartment])
                : [];
        }

        var places = Habits.Select(h => h.Id).Where(h => h != _place).ToArray();
        (IsIdentifiable, _mistakes) = (true, kinds.Length);
        for (var i = 0; i < kinds.Length; i++)
        {
            Err(kinds[i], apart && i > 0 ? places[^1] : _place, places[0]);
        }

        Write();
    }

    /// <summary>Whether there was a line that each mistake could befall.</summary>
    public bool IsMistaken => _codes.Count == _mistakes && _book.CashCount(_place)!.Difference != Money.Zero;

    public bool IsIdentifiable { get; private set; }

    /// <summary>At which place, from 1, the true explanation is listed; null when it is not.</summary>
    public int? Rank(int limit)
    {
        var listed = ExplainedCount.Of(_book, _count, _lines, Today, limit).Explanations;
        var codes = _codes.ConvertAll(c => c());
        var at = listed.ToList().FindIndex(e => IsTrue(e, codes));
        return at < 0 ? null : at + 1;
    }

    public bool IsExplainedTogether()
    {
        var codes = _codes.ConvertAll(c => c());
        return ExplainedCount.Of(_book, _count, _lines, Today, 5).Together is { } together && IsTrue(together, codes);
    }

    private static bool IsTrue(Explanation explanation, List<string[]> codes) =>
        explanation.Mistakes.Length == codes.Count
            && codes.TrueForAll(c => explanation.Mistakes.Any(
                m => c.Any(code => code.EndsWith('*')
                    ? m.Code.StartsWith(code[..^1], StringComparison.Ordinal)
                    : m.Code == code)));

    private void Live(DateOnly from, DateOnly to, int denser)
    {
        var lines = new List<IReplacement>();
        foreach (var (id, times, least, most, fill, words) in Habits)
        {
            for (var month = new DateOnly(from.Year, from.Month, 1); month <= to; month = month.AddMonths(1))
            {
                lines.Add(new Filled(id, Holding.Cash, new Money(fill * (id == _place ? denser : 1)), month,
                    $"{month:MMMM} pay"));
                for (var i = 0; i < times * (id == _place ? denser : 1); i++)
                {
                    var day = month.AddDays(_random.Next(28));
                    lines.Add(_random.Next(30) == 0
                        ? new Refunded(id, Holding.Cash, Price(100, 5 * least), day, "Taken back")
                        : new Spent(id, Holding.Cash, Price(5 * least, 5 * most), day,
                            words[_random.Next(words.Length)]));
                }
            }
        }

        _truth.AddRange(lines.Where(l => l.OccurredOn <= to).OrderBy(l => l.OccurredOn));
    }

    private Money Price(int least, int most) => new(_step * _random.Next(least / _step, (most / _step) + 1));

    private void Err(MistakeKind kind, string place, string other)
    {
        // A line of the window, on days before the count, that a mistake can befall.
        var candidates = _written.Select((w, i) => (w.Said, w.True, Index: i))
            .Where(w => w.True >= _started && w.Said.Postings.First().Place.Compartment == place)
            .OrderBy(_ => _random.Next()).ToList();
        foreach (var (said, truth, index) in candidates)
        {
            switch (kind)
            {
                case MistakeKind.NotRecorded:
                    _written.RemoveAt(index);
                    _codes.Add(() => [$"notRecorded-{Kind(said)}-{place}-cash-{Retell(said).Minor}"]);
                    Rule(!CouldBeChange(Retell(said)) && !CouldBeCounted(said.Postings.First().Amount, place)
                        && IsTheOnlyWay(said, place));
                    return;
                case MistakeKind.RecordedTwice:
                    var day = _random.Next(10) < 7
                        ? said.OccurredOn
                        : Min(said.OccurredOn.AddDays(_random.Next(1, 4)), Today.AddDays(-1));
                    _written[index] = (said, null);
                    Add((IReplacement)Dated(said, day), index, i => $"recordedTwice-{i}", truth);
                    Rule(Alike(said, place) == 1);
                    return;
                case MistakeKind.WrongDirection when Opposite(said) is { } opposite:
                    Replace(index, opposite, n => $"wrongDirection-{n}-{Kind(said)}");
                    Rule(Alike(opposite, place) == 0);
                    return;
                case MistakeKind.WrongCompartment when Moved(said, other) is { } moved:
                    Replace(index, moved, n => $"wrongCompartment-{n}-*");
                    Rule(Alike(moved, other) == 0);
                    return;
                case MistakeKind.Transposed or MistakeKind.Slid when Slipped(said, kind) is { } slipped:
                    Replace(index, slipped, n =>
                        $"{(kind == MistakeKind.Slid ? "slid" : "transposed")}-{n}-{Retell(said).Minor}");
                    var difference = said.Postings.First().Amount - slipped.Postings.First().Amount;
                    Rule(InWindow(place).Sum(
                        w => Slip.ItemsOf(w.Postings.First().Amount)
                            .Count(s => s.Kind == (kind == MistakeKind.Slid ? SlipKind.Slide : SlipKind.Transposition)
                                && -s.Difference == difference)) == 1);
                    return;
                case MistakeKind.WrongChange when said is Spent spent && Step(spent) is { } step:
                    _found[place] += step;
                    _pieces[place] = _pieces[place].IsDefaultOrEmpty ? [] : InPieces(_found[place]);
                    _codes.Add(() => ["wrongChange-*"]);
                    Rule(!CouldBeCounted(step, place) && !WasSeen(step, place));
                    return;
                case MistakeKind.WrongDenomination:
                    MistakeDenomination(place);
                    return;
                case MistakeKind.NotMoved:
                    ForgetToMove(place, index, said, candidates[_random.Next(candidates.Count)].Said);
                    return;
            }
        }
    }

    private void MistakeDenomination(string place)
    {
        var (taken, right) = Neighbours(place).ElementAt(_random.Next(Neighbours(place).Count()));
        var off = taken - right;
        _found[place] += off;
        _pieces[place] = [.. _pieces[place].Append(new Pieces(taken, 1)).Append(new Pieces(right, -1))
            .GroupBy(p => p.Value).Select(g => new Pieces(g.Key, g.Sum(p => p.Count)))
            .Where(p => p.Count > 0).OrderByDescending(p => p.Value)];
        _codes.Add(() => [$"wrongDenomination-{taken.Minor}-{right.Minor}"]);
        Rule(CountedPairs(place).Count(p => p == off) == 1 && !WasSeen(off, place)
            && !InWindow(place).OfType<Spent>().Any(s => ChangeOn(s.Amount) >= new Money(Math.Abs(off.Minor))));
    }

    private void ForgetToMove(string place, int index, IReplacement said, IReplacement another)
    {
        var one = (IReplacement)Changed(said, _step);
        var two = (IReplacement)Dated(Changed(another, 2 * _step), said.OccurredOn);
        _written.Insert(index + 1, (one, null));
        _written.Insert(index + 2, (two, null));
        _codes.Add(() =>
        {
            long[] numbers = [Number(one), Number(two)];
            return [$"notMoved-{string.Join('-', numbers.Order())}"];
        });
        Rule(SubsetsLike(one.Postings.First().Amount + two.Postings.First().Amount, place) == 1);
    }

    private void Rule(bool identifiable) => IsIdentifiable &= identifiable;

    private IEnumerable<IReplacement> InWindow(string place) =>
        _written.Where(w => w.Said.OccurredOn > Agreed && w.Said.Postings.First().Place.Compartment == place)
            .Select(w => w.Said);

    // How many other lines of the window say as much.
    private int Alike(IReplacement like, string place) =>
        InWindow(place).Count(w =>
            !ReferenceEquals(w, like) && w.Kind == like.Kind
                && w.Postings.First().Amount == like.Postings.First().Amount);

    private static bool CouldBeChange(Money amount) =>
        Faces.Contains(amount) || Faces.Zip(Faces.Skip(1), (a, b) => a - b).Contains(amount);

    private IEnumerable<Money> CountedPairs(string place) =>
        Neighbours(place, either: true).Select(p => p.Taken - p.Right);

    private bool CouldBeCounted(Money difference, string place) => _pieces[place].IsDefaultOrEmpty
        ? Faces.Zip(Faces.Skip(1), (a, b) => a - b).Contains(new Money(Math.Abs(difference.Minor)))
        : CountedPairs(place).Contains(-difference) || CountedPairs(place).Contains(difference);

    private bool WasSeen(Money change, string place) =>
        _written.Exists(w => w.Said.Postings.First() is var p && p.Place.Compartment == place && p.Amount == change);

    private bool IsTheOnlyWay(IReplacement missing, string place) => missing is Spent
        || (WasRecorded(missing.Kind, missing, place)
            && !WasRecorded(missing.Kind == MovementKind.Fill ? MovementKind.Refund : MovementKind.Fill, missing,
                place));

    private bool WasRecorded(MovementKind kind, IReplacement like, string place) =>
        _written.Exists(w => w.Said.Kind == kind && w.Said.Postings.First() == like.Postings.First()
            && w.Said.Postings.First().Place.Compartment == place);

    private int SubsetsLike(Money sum, string place)
    {
        var amounts = InWindow(place).Select(w => w.Postings.First().Amount).ToList();
        var found = amounts.Count(a => a == sum);
        for (var i = 0; i < amounts.Count; i++)
        {
            for (var j = i + 1; j < amounts.Count; j++)
            {
                found += amounts[i] + amounts[j] == sum ? 1 : 0;
                for (var k = j + 1; k < amounts.Count; k++)
                {
                    found += amounts[i] + amounts[j] + amounts[k] == sum ? 1 : 0;
                }
            }
        }

        return found;
    }

    // Of the pieces counted, or with either of them counted, those that may be taken for a neighbour.
    private IEnumerable<(Money Taken, Money Right)> Neighbours(string place, bool either = false) =>
        Faces.Zip(Faces.Skip(1))
        .SelectMany(pair => new[] { (Taken: pair.First, Right: pair.Second), (Taken: pair.Second, Right: pair.First) })
        .Where(pair => _pieces[place].Any(p => p.Value == (either ? pair.Taken : pair.Right)));

    private static Money ChangeOn(Money price) => Faces.Where(f => f >= price).DefaultIfEmpty(price).Min() - price;

    private Money? Step(Spent spent)
    {
        var change = ChangeOn(spent.Amount);
        Money[] steps = [.. Faces.Concat(Faces.Zip(Faces.Skip(1), (a, b) => a - b))
            .Where(s => s <= change && s.Minor >= 5)];
        return steps.Length == 0
            ? null
            : new Money(steps[_random.Next(steps.Length)].Minor * (_random.Next(2) == 0 ? -1 : 1));
    }

    private IReplacement? Slipped(IReplacement said, MistakeKind kind)
    {
        Slip[] slips = [.. Slip.ItemsOf(Retell(said))
            .Where(s => s.Kind == (kind == MistakeKind.Slid ? SlipKind.Slide : SlipKind.Transposition)
                && s.Item.Minor < 90_000)];
        return slips.Length == 0 ? null : WithAmount(said, slips[_random.Next(slips.Length)].Item);
    }

    private IReplacement? Opposite(IReplacement said) => said switch
    {
        Spent s when _random.Next(2) == 0 =>
            new Filled(s.Compartment, s.Holding, s.Amount, s.OccurredOn, s.Description),
        Spent s => new Refunded(s.Compartment, s.Holding, s.Amount, s.OccurredOn, s.Description),
        Refunded r => new Spent(r.Compartment, r.Holding, r.Amount, r.OccurredOn, r.Description),
        Filled f => new Spent(f.Compartment, f.Holding, f.Amount, f.OccurredOn, f.Description),
        _ => null,
    };

    private static IReplacement? Moved(IReplacement said, string to) => said switch
    {
        Spent s => s with { Compartment = to },
        Refunded r => r with { Compartment = to },
        Filled f => f with { Compartment = to },
        _ => null,
    };

    private static IMovement Changed(IMovement said, long by) => WithAmount(said, Retell(said) + new Money(by));

    private static IReplacement WithAmount(IMovement said, Money amount) => said switch
    {
        Spent s => s with { Amount = amount },
        Refunded r => r with { Amount = amount },
        Filled f => f with { Amount = amount },
        _ => throw new ArgumentException("Not made here.", nameof(said)),
    };

    private static IMovement Dated(IMovement said, DateOnly day) => said switch
    {
        Spent s => s with { OccurredOn = day },
        Refunded r => r with { OccurredOn = day },
        Filled f => f with { OccurredOn = day },
        _ => throw new ArgumentException("Not made here.", nameof(said)),
    };

    private static DateOnly Min(DateOnly a, DateOnly b) => a < b ? a : b;

    private static string Kind(IMovement said) => said.Kind.ToString().ToLowerInvariant();

    private static Money Retell(IMovement said) => new(Math.Abs(said.Postings.First().Amount.Minor));

    private void Add(IReplacement copy, int index, Func<long, string> code, int? of)
    {
        var at = _written.FindIndex(index + 1, w => w.Said.OccurredOn > copy.OccurredOn);
        _written.Insert(at < 0 ? _written.Count : at, (copy, null));
        _codes.Add(() => [code(Number(copy)), code(Number(_truth[of!.Value]))]);
    }

    private void Replace(int index, IReplacement written, Func<long, string> code)
    {
        _written[index] = (written, null);
        _codes.Add(() => [code(Number(written))]);
    }

    private long Number(IReplacement said) => _lines.First(l => ReferenceEquals(l.Event, said)).Number;

    private void Write()
    {
        Append(new HouseholdDescribed("Harbour Row", "EUR", "Europe/Dublin", DayOfWeek.Monday));
        Append(new WalletOpened("oilskin-wallet", "Oilskin wallet"));
        foreach (var (id, _, _, _, _, _) in Habits)
        {
            Append(new CompartmentOpened(id, id, "oilskin-wallet", Purpose.Spending));
            Append(new Filled(id, Holding.Cash, new Money(100_000), First.AddDays(-1), "What there was"));
        }

        var agreed = false;
        foreach (var (said, _) in _written)
        {
            if (said.OccurredOn > Agreed && !agreed)
            {
                Habits.ToList().ForEach(h =>
                    Append(Count(h.Id, Agreed, _book.BalanceOn(new Part(h.Id, Holding.Cash), Agreed), [])));
                agreed = true;
            }

            Append(said);
        }

        foreach (var (id, _, _, _, _, _) in Habits)
        {
            Append(Count(id, Today, _found[id], _pieces[id]));
            _count = id == _place ? _book.Line : _count;
        }
    }

    private CountTaken Count(string compartment, DateOnly day, Money found, ImmutableArray<Pieces> pieces) =>
        new(compartment, Holding.Cash, _book.BalanceOn(new Part(compartment, Holding.Cash), day), found, pieces, day,
            "", "");

    private void Append(IBookEvent line)
    {
        _book = _book.Apply(line);
        _lines.Add(new BookLine(_book.Line, _book.Line, DateTimeOffset.UnixEpoch, "keeper", line));
    }

    // A purse with some of everything, not the fewest pieces.
    private ImmutableArray<Pieces> InPieces(Money total)
    {
        var (rest, pieces) = (total.Minor, new List<Pieces>());
        foreach (var face in Faces.Select(f => f.Minor).Where(f => f <= 5_000))
        {
            var most = (int)(rest / face);
            var number = face is 1 ? most : face > 2_000
                ? Math.Max(0, most - _random.Next(3))
                : Math.Max(0, Math.Min(most, (most / 2) + _random.Next(3)));
            pieces.Add(new Pieces(new Money(face), number));
            rest -= number * face;
        }

        return [.. pieces.Where(p => p.Count > 0)];
    }
}
