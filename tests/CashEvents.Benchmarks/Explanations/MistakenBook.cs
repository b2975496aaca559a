using System.Collections.Immutable;
using static CashEvents.Benchmarks.Explanations.Retelling;

namespace CashEvents.Benchmarks.Explanations;

/// <summary>A book in which known mistakes were made, and whose count disagrees for it.</summary>
internal sealed class MistakenBook
{
    private readonly Erring _erring;
    private readonly Dictionary<Part, long> _counts = [];

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
        Life = new TrueLife(random, rates);
        _erring = new Erring(random, Life, rates);
        Made = errs.All(_erring.Make);
        if (loss)
        {
            _erring.Lose();
        }

        Write(foundBefore, told);
        // A line that would take what is not there would have been refused.
        Made &= Book.LastCount(Asked)!.Difference != Money.Zero
            && Book.Days.All(d => d.Value.LowestFrom(Life.First).Closing >= Money.Zero);
    }

    public TrueLife Life { get; }

    public List<WrittenLine> Written => _erring.Written;

    public Part Asked => _erring.Asked;

    /// <summary>Whether each mistake could be made, and the count disagrees.</summary>
    public bool Made { get; }

    public Book Book { get; private set; } = Book.Empty;

    public ImmutableArray<BookLine> Lines { get; private set; } = [];

    public long Count => _counts[Asked];

    public Money Difference => Book.LastCount(Asked)!.Difference;

    public bool IsTrue(Explanation explanation) => _erring.IsTrue(explanation);

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
            var (found, pieces) = agrees ? (expected + unwritten, []) : _erring.Counted(place);
            append(new CountTaken(place.Compartment, place.Holding, expected, found, pieces, day, "", ""), "keeper");
            _counts[place] = Book.Line;
        }
    }
}
