using static CashEvents.Domain.Tests.Books.HarbourRow;

namespace CashEvents.Domain.Tests.Books;

/// <summary>
/// The rules once more, as plainly as they can be said: a list of dated changes in cents, every figure summed anew.
/// Shares no arithmetic with the domain: it reads the commands, not the lines that the domain makes of them.
/// </summary>
internal sealed class NaiveBook
{
    private sealed record Change(long Line, Part Place, DateOnly Day, long Cents);

    private sealed record Numbered(long Number, NaiveLine Line);

    private sealed record Found(long Line, Part Place, DateOnly Day, long Expected, long Counted)
    {
        public long? Settled { get; set; }
    }

    public static readonly string[] Compartments = [Ferry, Market, Van, Boat];
    private static readonly Dictionary<string, string> WalletOf = new()
    {
        [Ferry] = "market-bag",
        [Market] = "market-bag",
        [Van] = "strongbox",
        [Boat] = "strongbox"
    };
    private static readonly Dictionary<string, Purpose> PurposeOf = new()
    {
        [Ferry] = Purpose.Spending,
        [Market] = Purpose.Spending,
        [Van] = Purpose.Saving,
        [Boat] = Purpose.SinkingFund
    };

    private readonly List<Numbered> _lines = [];
    private readonly List<Change> _changes = [];
    private readonly List<Found> _counts = [];
    private readonly List<DateOnly> _closedMonths = [];
    private readonly HashSet<string> _closed = [];
    private readonly HashSet<string> _reasons = [];

    public static IEnumerable<Part> Places => Compartments.SelectMany(c => new[] { Cash(c), Bank(c) });

    public long Lines { get; private set; } = FirstLine - 1;

    /// <summary>
    /// The line of a count, 0 for the last one taken, 1 for the one before; a line of no count when there are not so
    /// many.
    /// </summary>
    public long CountBack(int back) => back < _counts.Count ? _counts[^(back + 1)].Line : back;

    public long On(Part part, DateOnly day) =>
        _changes.Where(c => c.Place == part && c.Day <= day).Sum(c => c.Cents);

    public long Now(Part part) => _changes.Where(c => c.Place == part).Sum(c => c.Cents);

    /// <summary>
    /// The least that the place holds at the end of this day and of each day until the last one written.
    /// </summary>
    public long Available(Part part, DateOnly day) =>
        _changes.Select(c => c.Day).Where(d => d > day).Append(day).Min(d => On(part, d));

    /// <summary>
    /// Over or short of the last count of a place: what was settled, or what there is to settle by what is known now;
    /// null if it was never counted.
    /// </summary>
    public long? LastDifference(Part part) =>
        LastCount(part) is { } count ? count.Settled ?? Difference(count) : null;

    // By the day on which it was taken; of several on one day the one written last.
    private Found? LastCount(Part part) =>
        _counts.Where(c => c.Place == part).OrderBy(c => c.Day).ThenBy(c => c.Line).LastOrDefault();

    /// <summary>Where and when the last line stands that belongs to an earlier day; null when none does.</summary>
    public (Part Place, DateOnly Posted)? PostedLate() =>
        _lines.LastOrDefault(l => l.Line.Moves.Length > 0 && Belongs(l.Line) < l.Line.Day) is { } late
            ? (late.Line.Moves[0].Place, late.Line.Day)
            : null;

    /// <summary>Whether the month before this day's is closed already.</summary>
    public bool HasClosedMonthBefore(DateOnly today) => IsClosed(new DateOnly(today.Year, today.Month, 1).AddDays(-1));

    /// <summary>Why the command must be refused, or the lines that must be written.</summary>
    public (IReadOnlySet<string> Reasons, IReadOnlyList<NaiveLine> Lines) Ask(ICommand command, DateOnly today)
    {
        _reasons.Clear();
        var lines = command switch
        {
            RecordFill c => In("fill", c.Compartment, c.Holding, c.Amount, c.OccurredOn, today),
            RecordRefund c => In("refund", c.Compartment, c.Holding, c.Amount, c.OccurredOn, today),
            RecordSpend c => Spend(c, today),
            RecordTransfer c => Transfer(c, today),
            RecordSweep c => Sweep(c, today),
            RecordCount c => Count(c, today),
            SettleCount c => Settle(c, today),
            ChangeCompartment { Closed: { } closed } c => CloseOrReopen(c.Compartment, closed),
            ReverseLine c => Reverse(c.Line, today),
            AmendLine c => Amend(c, today),
            TurnMonth { Close: true } =>
                [new NaiveLine("close month",
                    (_closedMonths.Count > 0
                        ? _closedMonths[^1].AddDays(1).AddMonths(1)
                        : new DateOnly(today.Year, today.Month, 1)).AddDays(-1))],
            TurnMonth => [new NaiveLine("reopen month",
                new DateOnly(_closedMonths[^1].Year, _closedMonths[^1].Month, 1).AddDays(-1))],
            _ => throw new ArgumentException($"No naive rule for {command}."),
        };
        return (_reasons.ToHashSet(), _reasons.Count > 0 ? [] : [.. lines]);
    }

    /// <summary>Writes lines that were granted.</summary>
    public void Write(IEnumerable<NaiveLine> lines)
    {
        foreach (var line in lines)
        {
            Lines++;
            _lines.Add(new Numbered(Lines, line));
            _changes.AddRange(line.Moves.Select(m => new Change(Lines, m.Place, line.Day, m.Cents)));
            switch (line.Kind)
            {
                case "count":
                    _counts.Add(new Found(Lines, line.Place, line.Day, line.Expected, line.Counted));
                    break;
                case "settle":
                    _counts.Single(c => c.Line == line.Count).Settled = line.Moves[0].Cents;
                    break;
                case "reverse" when line.Count > 0:
                    _counts.Single(c => c.Line == line.Count).Settled = null;
                    break;
                case "close month":
                    _closedMonths.Add(line.Day);
                    break;
                case "reopen month":
                    _closedMonths.RemoveAt(_closedMonths.Count - 1);
                    break;
                case "close":
                    _closed.Add(line.Place.Compartment);
                    break;
                case "reopen":
                    _closed.Remove(line.Place.Compartment);
                    break;
            }
        }
    }

    private IEnumerable<NaiveLine> In(string kind, string compartment, Holding holding, decimal amount, DateOnly? on,
        DateOnly today)
    {
        Use(compartment);
        return [new NaiveLine(kind, Day(on, today), (new Part(compartment, holding), Cents(amount)))];
    }

    private IEnumerable<NaiveLine> Spend(RecordSpend c, DateOnly today)
    {
        Use(c.Compartment);
        var part = new Part(c.Compartment, c.Holding);
        var cents = Cents(c.Amount);
        var day = Day(c.OccurredOn, today);
        var spend = new NaiveLine("spend", day, (part, -cents));
        if (c.RestFrom is null)
        {
            Take(part, cents, day);
            return [spend];
        }

        Use(c.RestFrom);
        Refuse(c.RestFrom == c.Compartment, "rest-from-itself");
        var missing = cents - Available(part, day);
        if (missing <= 0)
        {
            return [spend];
        }

        var cover = new Part(c.RestFrom, c.Holding);
        Take(cover, missing, day);
        return [new NaiveLine("transfer", day, (cover, -missing), (part, missing)), spend];
    }

    private IEnumerable<NaiveLine> Transfer(RecordTransfer c, DateOnly today)
    {
        Use(c.From.Compartment);
        Use(c.To.Compartment);
        Refuse(c.From == c.To, "transfer-to-itself");
        var cents = Cents(c.Amount);
        var day = Day(c.OccurredOn, today);
        Take(c.From, cents, day);
        return [new NaiveLine("transfer", day, (c.From, -cents), (c.To, cents))];
    }

    private IEnumerable<NaiveLine> Sweep(RecordSweep c, DateOnly today)
    {
        Use(c.To.Compartment);
        var leave = (long)((c.Leave ?? 0m) * 100m);
        Refuse(leave < 0, "leave-negative");
        var day = Day(c.OccurredOn, today);
        IEnumerable<string> sources =
            Compartments.Where(x => !_closed.Contains(x)
                && (WalletOf[x] == c.From.Wallet || PurposeOf[x] == c.From.Purpose));
        if (c.From.Compartments is { } named)
        {
            sources = named;
            named.ToList().ForEach(Use);
            Refuse(named.Distinct().Count() < named.Length, "compartment-twice");
            Refuse(named.Any(x => new Part(x, c.Holding) == c.To), "sweep-into-itself");
        }

        return sources.Select(x => new Part(x, c.Holding))
            .Where(part => part != c.To)
            .Select(part => (Place: part,
                Cents: Math.Min(Available(part, day) - leave,
                    c.Take == SweepTake.All ? long.MaxValue : BroughtForward(part, day))))
            .Where(swept => swept.Cents > 0)
            .Select(swept => new NaiveLine("sweep", day, (swept.Place, -swept.Cents), (c.To, swept.Cents)));
    }

    // All that is there, less all that came in from the day of the last fill on.
    private long BroughtForward(Part part, DateOnly day)
    {
        var came = (
            from l in _lines
            where l.Line.ClosedDay is null && l.Line.Day <= day
            let undone = l.Line.Kind == "reverse" ? _lines.Single(x => x.Number == l.Line.Corrects).Line : l.Line
            where undone.Kind is "fill" or "transfer" or "sweep"
            from m in l.Line.Moves
            where m.Place == part && m.Cents > 0 == (l.Line.Kind != "reverse")
            select (l.Line.Day, m.Cents, IsFill: undone.Kind == "fill")).ToList();
        var fills = came.Where(c => c.IsFill).GroupBy(c => c.Day).Where(d => d.Sum(c => c.Cents) > 0).Select(d => d.Key)
            .ToList();
        return On(part, day) - (fills.Count == 0 ? 0 : came.Where(c => c.Day >= fills.Max()).Sum(c => c.Cents));
    }

    private IEnumerable<NaiveLine> Count(RecordCount c, DateOnly today)
    {
        Use(c.Compartment);
        var day = Day(c.OccurredOn, today);
        var part = new Part(c.Compartment, c.Holding);
        return [new NaiveLine("count", day) { Place = part, Expected = BelongsUpTo(part, day),
            Counted = (long)(c.Total!.Value * 100m) }];
    }

    // The notes know nothing of closed months or settlements: they hold what happened, on whatever page it was posted.
    private DateOnly Belongs(NaiveLine line) =>
        line.Count > 0 ? _counts.Single(c => c.Line == line.Count).Day : line.Belongs;

    private long BelongsUpTo(Part part, DateOnly day) =>
        _lines.Where(l => Belongs(l.Line) <= day).SelectMany(l => l.Line.Moves).Where(m => m.Place == part)
            .Sum(m => m.Cents);

    private IEnumerable<NaiveLine> Settle(SettleCount c, DateOnly today)
    {
        if (_counts.Find(x => x.Line == c.Count) is not { } count || LastCount(count.Place) != count)
        {
            _reasons.Add("count-not-open");
            return [];
        }

        var difference = Difference(count);
        var day = Day(c.OccurredOn, today);
        Refuse(count.Settled is not null, "count-settled");
        Refuse(difference == 0, "nothing-to-settle");
        Use(count.Place.Compartment);
        Refuse(day < count.Day, "before-count");
        Take(count.Place, -difference, day);
        return [new NaiveLine("settle", day, (count.Place, difference)) { Count = count.Line }];
    }

    private IEnumerable<NaiveLine> CloseOrReopen(string compartment, bool close)
    {
        if (close == _closed.Contains(compartment))
        {
            return [];
        }

        Refuse(close && (Now(Cash(compartment)) != 0 || Now(Bank(compartment)) != 0), "compartment-not-empty");
        return [new NaiveLine(close ? "close" : "reopen", default) { Place = Cash(compartment) }];
    }

    private List<NaiveLine> Reverse(long number, DateOnly today)
    {
        var line = _lines.Find(l => l.Number == number)?.Line;
        if (line is null || line.Moves.Length == 0)
        {
            _reasons.Add("line-moves-nothing");
            return [];
        }

        Refuse(line.Kind == "reverse", "line-is-reversal");
        Refuse(_lines.Any(l => l.Line.Corrects == number), "line-corrected");
        line.Moves.ToList().ForEach(m => Refuse(_closed.Contains(m.Place.Compartment), "compartment-closed"));
        NaiveLine reversal = new("reverse", IsClosed(line.Day) ? today : line.Day,
            [.. line.Moves.Select(m => (m.Place, -m.Cents))])
        {
            Corrects = number,
            ClosedDay = line.ClosedDay ?? (IsClosed(line.Day) ? line.Day : null),
            Count = line.Count,
        };
        Refuse(_reasons.Count == 0 && IsShortAfter([reversal]), "not-enough");
        return [reversal];
    }

    // A line is struck out and the right one written below it; only the whole must come out right.
    private List<NaiveLine> Amend(AmendLine c, DateOnly today)
    {
        Refuse(c.Replacement is RecordCount or SettleCount, "replacement-unfit");
        var line = _lines.Find(l => l.Number == c.Line)?.Line;
        List<NaiveLine> struckOut = [];
        if (line?.Kind == "reverse")
        {
            // What it undid has perhaps its replacement already, written together with it or later.
            var undone = line.Corrects;
            Refuse(_lines.Any(l => l.Line.Corrects == c.Line || (l.Line.Corrects == undone && l.Number > c.Line)),
                "line-corrected");
        }
        else
        {
            struckOut = Reverse(c.Line, today);
            _reasons.Remove("not-enough");
        }

        if (_reasons.Count > 0)
        {
            return [];
        }

        var written = (c.Replacement as IReplacementCommand)!.OccurredOn;
        var (day, closedDay) = written is { } on ? IsClosed(on) ? (today, on) : (on, default(DateOnly?))
            : IsClosed(line!.Day) ? (today, line.ClosedDay ?? line.Day) : (line.Day, line.ClosedDay);
        var (reasons, replaced) = After(struckOut).Ask(((IReplacementCommand)c.Replacement).DatedOn(day), today);
        reasons.ToList().ForEach(reason => _reasons.Add(reason));
        Refuse(_reasons.Count == 0 && replaced.Count == 0, "replacement-empty");
        List<NaiveLine> lines = [.. struckOut,
            .. replaced.Select(l => l with { Corrects = c.Line, ClosedDay = closedDay })];
        Refuse(_reasons.Count == 0 && IsShortAfter(lines), "not-enough");
        return lines;
    }

    private bool IsShortAfter(List<NaiveLine> lines) =>
        After(lines) is var after && after._changes.Any(c => after.On(c.Place, c.Day) < 0);

    private NaiveBook After(List<NaiveLine> lines)
    {
        var after = new NaiveBook();
        after.Write([.. _lines.Select(l => l.Line), .. lines]);
        return after;
    }

    private bool IsClosed(DateOnly day) => _closedMonths.Any(end => day <= end);

    // What was written after the count but belongs before its day is part of what should have been found; so is,
    // on that very day, what corrects a line that the count had expected.
    private long Difference(Found count) => count.Counted - count.Expected - _lines
        .Where(l => l.Number > count.Line
            && (Belongs(l.Line) < count.Day
                || (Belongs(l.Line) == count.Day && l.Line.Corrects > 0 && Origin(l.Number) < count.Line)))
        .SelectMany(l => l.Line.Moves)
        .Where(m => m.Place == count.Place)
        .Sum(m => m.Cents);

    private long Origin(long number)
    {
        while (_lines.Find(l => l.Number == number) is { Line.Corrects: > 0 and var earlier })
        {
            number = earlier;
        }

        return number;
    }

    private void Use(string compartment)
    {
        Refuse(!Compartments.Contains(compartment), "compartment-unknown");
        Refuse(_closed.Contains(compartment), "compartment-closed");
    }

    private DateOnly Day(DateOnly? on, DateOnly today)
    {
        Refuse(on > today, "after-today");
        Refuse(IsClosed(on ?? today), "month-closed");
        return on ?? today;
    }

    private long Cents(decimal amount)
    {
        Refuse(amount * 100m % 1m != 0m, "too-many-decimals");
        Refuse(amount <= 0m, "amount-not-positive");
        return (long)(amount * 100m);
    }

    private void Take(Part part, long cents, DateOnly day) =>
        Refuse(_reasons.Count == 0 && cents > Math.Max(0, Available(part, day)), "not-enough");

    private void Refuse(bool when, string reason)
    {
        if (when)
        {
            _reasons.Add(reason);
        }
    }
}
