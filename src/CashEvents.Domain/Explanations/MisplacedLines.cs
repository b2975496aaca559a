namespace CashEvents.Domain.Explanations;

/// <summary>
/// Lines that may stand in the wrong place: another compartment, counted or not, or the other holding.
/// </summary>
internal sealed class MisplacedLines(LookedAt at, CountedPlace counted)
{
    /// <summary>Those that alone would make a difference.</summary>
    public IEnumerable<Mistake> Making(Money difference) => counted.Lines.Where(l => l.Change == -difference)
        .SelectMany(l => Away(l, l.IsBefore))
        .Concat(at.Moving(difference).SelectMany(l => Hither(l.Line, l.Said, difference)));

    /// <summary>All on the latest lines.</summary>
    /// <param name="latest">How many.</param>
    public IEnumerable<Mistake> All(int latest) => counted.Lines.TakeLast(latest).SelectMany(l => Away(l, l.IsBefore))
        .Concat(at.Standing.TakeLast(latest).SelectMany(l => Hither(l.Line, l.Said, null)));

    /// <summary>
    /// Lines elsewhere that are dated after the count and may be a movement here before it: two things would be wrong
    /// with each, so they are named and not weighed.
    /// </summary>
    public IEnumerable<Miswritten> Later(Money difference)
    {
        var day = counted.Count.OccurredOn;
        foreach (var (line, said) in at.Moving(difference))
        {
            if (counted.ShouldHaveFound(said.OccurredOn, line.Number)
                || said.OccurredOn > day.AddDays(MiswrittenLines.LatestDay) || at.Book.IsClosed(day.AddDays(-1)))
            {
                continue;
            }

            foreach (var place in said.Postings.Where(p => p.Amount == difference && p.Place != counted.Place)
                .Select(p => p.Place).Where(p => AreNear(p, counted.Place)))
            {
                if (Retold.Elsewhere(said, place, counted.Place) is { } moved
                    && Retold.OnDay(moved, day.AddDays(-1)) is { } right)
                {
                    yield return new Miswritten(Kind(place, counted.Place), line.Number, said, right);
                }
            }
        }
    }

    private static MistakeKind Kind(Part one, Part other) => one.Compartment == other.Compartment
        ? MistakeKind.WrongHolding
        : MistakeKind.WrongCompartment;

    // It stands here and belongs elsewhere.
    private IEnumerable<Mistake> Away(SheetLine line, bool isBefore)
    {
        var usual = at.Habits.Rate(counted.Place, line.Said, line.Change, AmountsOf.Words);
        foreach (var place in Places())
        {
            if (Weigh(line.Number, line.Said, counted.Place, place, (line.Change, usual), isBefore) is { } mistake)
            {
                yield return mistake;
            }
        }
    }

    // It stands elsewhere and belongs here: in the days of this count, whether it was counted there or not.
    private IEnumerable<Mistake> Hither(BookLine line, IReplacement said, Money? wanted)
    {
        if (!counted.ShouldHaveFound(said.OccurredOn, line.Number))
        {
            yield break;
        }

        var isBefore = said.OccurredOn < counted.Since;
        if (isBefore && said.OccurredOn < counted.Since!.Value.AddDays(-ExplainedCount.DaysBefore))
        {
            yield break;
        }

        foreach (var posting in said.Postings)
        {
            if (posting.Place != counted.Place && (wanted is null || posting.Amount == wanted)
                && AreNear(posting.Place, counted.Place)
                && Weigh(line.Number, said, posting.Place, counted.Place, (posting.Amount,
                    at.Habits.Rate(posting.Place, said, posting.Amount, AmountsOf.Words)), isBefore) is { } mistake)
            {
                yield return mistake;
            }
        }
    }

    private Miswritten? Weigh(long number, IReplacement said, Part written, Part right,
        (Money Change, decimal Usual) moves, bool isBefore)
    {
        if (Retold.Elsewhere(said, written, right) is not { } moved)
        {
            return null;
        }

        var kind = Kind(written, right);
        // It befell one of the lines that belong there, this one among them.
        var lines = 1m + at.LinesIn(right, counted);
        var fit = at.Habits.Rate(right, moved, moves.Change, AmountsOf.Kind) / moves.Usual;
        var places = kind == MistakeKind.WrongHolding ? 1 : at.OtherPlaces;
        return new Miswritten(kind, number, said, moved)
        {
            Weight = (isBefore ? Priors.BeforeAgreement : 1m) * at.Priors.Of(kind) / 2 / lines / places * fit,
        };
    }

    private IEnumerable<Part> Places() => at.Book.Compartments.Values.Where(c => !c.Closed)
        .SelectMany(c => new[] { new Part(c.Id, Holding.Cash), new Part(c.Id, Holding.Bank) })
        .Where(p => p != counted.Place && AreNear(p, counted.Place));

    // Another compartment's cash for cash, or the bank part of the same.
    private bool AreNear(Part one, Part other) => one.Compartment == other.Compartment
        ? at.Habits.Knows(one) && at.Habits.Knows(other)
        : one.Holding == other.Holding;
}
