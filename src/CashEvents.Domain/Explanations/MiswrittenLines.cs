namespace CashEvents.Domain.Explanations;

/// <summary>
/// Lines of a counted place that may say the wrong amount, the wrong direction or a day on the wrong side of the count.
/// </summary>
internal sealed class MiswrittenLines(LookedAt at, CountedPlace counted, DaysLeft days)
{
    /// <summary>How many days on the wrong side of a count a line is looked for.</summary>
    public const int LatestDay = 14;

    private const decimal WrittenLate = 0.75m;
    private const decimal AnotherDayAway = 0.7m;

    private readonly long _unit = at.Unit;

    /// <summary>Those that alone would make a difference.</summary>
    public IEnumerable<Mistake> Making(Money difference) => counted.Lines
        .SelectMany(line => Amount(line, line.Change + difference, null)
            .Concat(difference == -line.Change - line.Change ? Turned(line) : []))
        .Concat(OnTheWrongSide(difference));

    /// <summary>Those that alone would make a difference by a day on the wrong side of the count.</summary>
    public IEnumerable<Miswritten> Misdated(Money difference) => OnTheWrongSide(difference);

    /// <summary>Lines that may have a movement of this effect the wrong way round.</summary>
    /// <param name="effect">What it makes.</param>
    /// <param name="leastFit">How many times as usual as what is written it is that way round, at least.</param>
    public IEnumerable<Mistake> Turned(Money effect, decimal leastFit) =>
        counted.Lines.Where(l => l.Change == -effect).SelectMany(l => Turned(l, leastFit));

    /// <summary>All on the latest lines.</summary>
    /// <param name="latest">How many.</param>
    public IEnumerable<Mistake> All(int latest)
    {
        var seen = at.Habits.Repeated(counted.Place, MovementKind.Spend, goesOut: true).Order().ToArray();
        foreach (var line in counted.Lines.TakeLast(latest))
        {
            var written = Math.Abs(line.Change.Minor);
            var others = Slip.ItemsOf(new Money(written)).Select(s => s.Item.Minor)
                .Concat(PenSlips.OneFigureOff(written)).Concat(Near(seen, written, line)).Distinct();
            var usual = at.Habits.ShareWithWords(counted.Place, line.Said, line.Change, line.Change);
            foreach (var right in others)
            {
                foreach (var mistake in Amount(line, new Money(line.Change < Money.Zero ? -right : right), usual))
                {
                    yield return mistake;
                }
            }

            foreach (var mistake in Turned(line))
            {
                yield return mistake;
            }
        }

        foreach (var mistake in OnTheWrongSide(null).Take(latest))
        {
            yield return mistake;
        }
    }

    // Of what was rounded to a round amount only amounts that come again: any other could explain anything.
    private IEnumerable<long> Near(long[] seen, long written, SheetLine line)
    {
        if (line.Said is not Spent || written % (_unit / 2) != 0)
        {
            yield break;
        }

        var from = Array.BinarySearch(seen, written - _unit);
        for (var i = from < 0 ? ~from : from; i < seen.Length && seen[i] < written + _unit; i++)
        {
            yield return seen[i];
        }
    }

    // One thing is put right, whichever slip it was: it is named by the likeliest.
    private IEnumerable<Mistake> Amount(SheetLine line, Money right, decimal? usual)
    {
        if (right == line.Change || right < Money.Zero != line.Change < Money.Zero || right == Money.Zero)
        {
            yield break;
        }

        var (chance, likeliest) = (0m, (Kind: default(MistakeKind), Chance: 0m));
        foreach (var (kind, slips) in PenSlips.Between(Math.Abs(right.Minor), Math.Abs(line.Change.Minor), _unit))
        {
            var one = at.Priors.Of(kind) * slips;
            chance += one;
            likeliest = one > likeliest.Chance ? (kind, one) : likeliest;
        }

        if (chance > 0m && Retold.WithAmount(line.Said, new Money(Math.Abs(right.Minor))) is { } said)
        {
            var fit = at.Habits.ShareWithWords(counted.Place, line.Said, right, line.Change)
                / (usual ?? at.Habits.ShareWithWords(counted.Place, line.Said, line.Change, line.Change));
            yield return new Miswritten(likeliest.Kind, line.Number, line.Said, said)
            { Weight = Trust(line) * chance / counted.Numbers * fit };
        }
    }

    // Half the difference.
    private IEnumerable<Mistake> Turned(SheetLine line, decimal leastFit = 0m)
    {
        decimal? rate = null;
        foreach (var right in Retold.OtherWay(line.Said))
        {
            rate ??= at.Habits.Rate(counted.Place, line.Said, line.Change, AmountsOf.Words);
            var fit = at.Habits.Rate(counted.Place, right, -line.Change, AmountsOf.Household) / rate.Value;
            if (fit >= leastFit)
            {
                yield return new Miswritten(MistakeKind.WrongDirection, line.Number, line.Said, right)
                { Weight = Trust(line) * at.Priors.Of(MistakeKind.WrongDirection) / 2 / counted.Fresh * fit };
            }
        }
    }

    // What is dated after the count happened before it, or the other way. A day later is a little less likely.
    private IEnumerable<Miswritten> OnTheWrongSide(Money? wanted)
    {
        // A day's share of the lines that may have been misdated, against the lines that a day has anyway.
        var (day, each) = (counted.Count.OccurredOn, at.Priors.Of(MistakeKind.WrongDay) / counted.Fresh * counted.Days);
        var before = day.AddDays(-1);
        // Until today; a line may be dated after it.
        var since = counted.Later.Select(l => l.Said.OccurredOn.DayNumber).Append(at.Today.DayNumber).Max()
            - day.DayNumber;
        var writtenLate = since > 0 ? WrittenLate : 1m;
        foreach (var line in counted.Later.Where(l => wanted is null || l.Change == wanted))
        {
            var late = line.Said.OccurredOn.DayNumber - day.DayNumber;
            if (late is >= 0 and <= LatestDay && !at.Book.IsClosed(before)
                && Retold.OnDay(line.Said, before) is { } right)
            {
                yield return new Miswritten(MistakeKind.WrongDay, line.Number, line.Said, right)
                {
                    Weight = each * writtenLate * Away(late, since) * Usual(line)
                        * days.For(line.Said.Kind, line.Change < Money.Zero, line.Said.Description),
                };
            }
        }

        foreach (var line in counted.Lines.Where(l => !l.IsBefore && (wanted is null || l.Change == -wanted)))
        {
            var early = day.DayNumber - line.Said.OccurredOn.DayNumber;
            if (since > 0 && early <= LatestDay && Retold.OnDay(line.Said, day.AddDays(1)) is { } right)
            {
                yield return new Miswritten(MistakeKind.WrongDay, line.Number, line.Said, right)
                { Weight = each * (1m - writtenLate) * Away(early, counted.Days) * Usual(line) };
            }
        }
    }

    // A day further away is a little less likely, among the days that there are.
    private static decimal Away(int days, int most)
    {
        var (chance, all, each) = (0m, 0m, 1m);
        for (var i = 0; i <= Math.Clamp(most, days, LatestDay); i++)
        {
            chance = i == days ? each : chance;
            all += each;
            each *= AnotherDayAway;
        }

        return chance / all;
    }

    // What comes on this weekday always is right where it stands.
    private decimal Usual(SheetLine line) => 1m / at.Habits.WeekdayShare(counted.Place, line.Said, line.Change);

    private static decimal Trust(SheetLine line) => line.IsBefore ? Priors.BeforeAgreement : 1m;
}
