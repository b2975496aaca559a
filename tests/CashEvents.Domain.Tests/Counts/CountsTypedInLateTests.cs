using System.Collections.Immutable;
using CsCheck;
using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Counts;

/// <summary>
/// Paper comes in late and out of order: the last count of a place is that of the latest day, in whatever order counts
/// are typed in. A failure prints the seed that repeats it.
/// </summary>
public class CountsTypedInLateTests
{
    private static readonly Month _september = Month.Read("2026-09")!.Value;

    private static RecordCount Found(decimal total, int day, string compartment = Ferry) =>
        new(compartment, Holding.Cash, total, null, Sept(day), null, null);

    [Fact]
    public void A_count_that_is_typed_in_late_leaves_the_short_of_a_later_day_where_it_was()
    {
        var later = FirstLine + 1;
        var book = Given(Fill(Ferry, 40m, Sept(1)), Count(Ferry, 40m, 39m, Sept(10))).When(Found(40m, 1))
            .Then(Count(Ferry, 40m, 40m, Sept(1)));

        Assert.Equal([new OpenItem(OpenItemKind.CountUnsettled, Cash(Ferry), Sept(10), later, Eur(-1m))],
            OpenItem.At(_september, book.Book));
        Assert.Equal(Eur(-1m), Assert.Single(Reconciliation.Of(book.Book)).Difference);
        book.When(new SettleCount(later + 1, "agreed", null)).ThenRefused("count-not-open");
        book.When(new SettleCount(later, "agreed", null)).Then(Settle(later, Ferry, -1m));
    }

    [Fact]
    public void A_count_of_a_later_day_stands_though_the_earlier_one_is_settled_and_finds_what_was_agreed_on()
    {
        // One was short on the 2nd, which was agreed on the 12th; then the slip of the 10th turns up, which found the
        // same.
        var book = Given(Fill(Ferry, 40m, Sept(1)), Count(Ferry, 40m, 39m, Sept(2)),
            Settle(FirstLine + 1, Ferry, -1m, Sept(12))).When(Found(39m, 10)).Then(Count(Ferry, 39m, 39m, Sept(10)));

        Assert.Empty(OpenItem.At(_september, book.Book));
        Assert.Equal(Money.Zero, Assert.Single(Reconciliation.Of(book.Book)).Difference);

        // And without the settlement the later one is short.
        var undone = book.Book.Apply(
            Reversed(FirstLine + 2, Settle(FirstLine + 1, Ferry, -1m, Sept(12))) with { Count = FirstLine + 1 });
        Assert.Equal((Eur(-1m), false), (undone.CashCount(Ferry)!.Difference, undone.CashCount(Ferry)!.Settled));
    }

    [Fact]
    public void Notes_stay_known_from_the_later_count_and_those_exchanged_since_an_earlier_one_are_not_known_from_it()
    {
        var pieces = ImmutableArray.Create(new Pieces(Eur(20m), 2));
        var twenties = Count(Ferry, 40m, 40m, Sept(10)) with { Pieces = pieces };
        var exchanged = new NotesExchanged(Ferry, Market, [new Pieces(Eur(20m), 1)], [new Pieces(Eur(10m), 2)], Sept(5),
            "");

        var known = Given(Fill(Ferry, 40m, Sept(1)), twenties).When(Found(40m, 2))
            .Then(Count(Ferry, 40m, 40m, Sept(2))).Book.NotesOf(Ferry);
        var unknown = Given(Fill(Ferry, 40m, Sept(1)), Fill(Market, 20m, Sept(1)), exchanged,
            twenties with { OccurredOn = Sept(2) }).Book.NotesOf(Ferry);

        Assert.Equal((Sept(10), pieces), (known!.CountedOn, known.Pieces));
        Assert.Null(unknown);
    }

    [Fact]
    public void A_figure_of_a_round_follows_the_day_and_not_the_line_of_another_count()
    {
        var book = Given(Fill(Ferry, 40m, Sept(1)), new CountRoundOpened([Ferry], null, null, false));
        var (round, moment) = (book.Book.Line, book.Book.Line);

        var late = book.When(Found(40m, 2)).Then(Count(Ferry, 40m, 40m, Sept(2)));
        Assert.Equal(Eur(-1m), late.Book.Decide(new CountInRound(round, Found(39m, 23), moment, "keeper"), Today).After
            .CashCount(Ferry)!.Difference);

        var afterwards = book.When(Found(40m, 24)).Then(Count(Ferry, 40m, 40m, Sept(24)));
        afterwards.When(new CountInRound(round, Found(39m, 23), moment, "keeper"))
            .ThenRefused("count-replaced", "countedAt");
    }

    [Fact]
    public void A_count_typed_in_late_that_agreed_tells_where_a_later_difference_is_looked_for()
    {
        var lines = new IBookEvent[] { Fill(Ferry, 40m, Sept(1)), Spend(Ferry, 3m, Sept(2)), Spend(Ferry, 5m, Sept(6)),
            Count(Ferry, 32m, 30m, Sept(10)) };

        Assert.Null(Explained(Given(lines).Book, lines).Since);
        Assert.Equal(Sept(4), Explained(Given([.. lines, Count(Ferry, 37m, 37m, Sept(4))]).Book,
            [.. lines, Count(Ferry, 37m, 37m, Sept(4))]).Since);
        // It agreed when it was taken; by what was written since it should not have.
        Assert.Null(Explained(Given([.. lines, Count(Ferry, 37m, 37m, Sept(4)), Spend(Ferry, 1m, Sept(1))]).Book,
            [.. lines, Count(Ferry, 37m, 37m, Sept(4)), Spend(Ferry, 1m, Sept(1))]).Since);
    }

    [Fact]
    public void Counts_typed_in_in_any_order_tell_what_they_do_in_the_order_of_their_days()
    {
        var compartment = Gen.OneOf(Gen.Const(Ferry), Gen.Const(Market));
        var movement = Gen.Select(Gen.Int[0, 3], compartment, Gen.Int[1, 9], Gen.Int[1, 24])
            .Select(IBookEvent (kind, c, amount, day) => kind switch
        {
            0 => Spend(c, amount, Sept(day)),
            1 => Transfer(Cash(c), Bank(c), amount, Sept(day)),
            2 => new NotesExchanged(Ferry, Market, [new Pieces(Eur(10m), 1)], [new Pieces(Eur(5m), 2)], Sept(day), ""),
            _ => Fill(c, amount, Sept(day)),
        });
        var count = Gen.Select(compartment, Gen.Int[1, 24], Gen.OneOf(Gen.Const(0), Gen.Int[-3, 3]), Gen.Bool,
            Gen.Frequency((4, Gen.Const(Holding.Cash)), (1, Gen.Const(Holding.Bank))));

        Gen.Select(movement.Array[0, 8], count.Array[1, 8], movement.Array[0, 4], Gen.Bool, Gen.Int[0, 9_999])
            .Sample((before, counts, after, settle, seed) =>
        {
            IBookEvent[] opened = [Fill(Ferry, 900m, Sept(1)), Fill(Market, 900m, Sept(1)),
                Fill(Ferry, 900m, Sept(1), Holding.Bank), Fill(Market, 900m, Sept(1), Holding.Bank), .. before];
            // One a day for each place: those of one day follow one another as they are typed in.
            var inOrder = counts.DistinctBy(c => (c.Item1, c.Item2, c.Item5)).OrderBy(c => c.Item2).ToArray();
            var shuffled = inOrder.ToArray();
            new Random(seed).Shuffle(shuffled);

            string[] Told((string Compartment, int Day, int Off, bool ByPieces, Holding Holding)[] typed)
            {
                var lines = opened.ToList();
                var book = Given([.. lines]).Book;
                void Write(IEnumerable<IBookEvent> more)
                {
                    foreach (var line in more)
                    {
                        lines.Add(line);
                        book = book.Apply(line);
                    }
                }

                foreach (var c in typed)
                {
                    var total = book.Currency.ToDecimal(
                        book.ExpectedOn(new Part(c.Compartment, c.Holding), Sept(c.Day))) + c.Off;
                    var cents = c.ByPieces && c.Holding == Holding.Cash;
                    Write(book.Decide(new RecordCount(c.Compartment, c.Holding, cents ? null : total,
                        cents ? new Dictionary<string, long> { ["1"] = (long)total } : null, Sept(c.Day), null, null),
                        Today).Lines);
                }

                if (settle)
                {
                    foreach (var open in OpenItem.At(_september, book).Where(o => o.Kind == OpenItemKind.CountUnsettled)
                        .ToList())
                    {
                        Write(book.Decide(new SettleCount(open.Count!.Value, "agreed", null), Today).Lines);
                    }
                }

                Write(after);
                return Said(book, lines);
            }

            Assert.Equal(Told(inOrder), Told(shuffled));
        }, iter: GeneratedCases.Of(400));
    }

    // Everything that looks at the last count, without the numbers of lines.
    private static string[] Said(Book book, List<IBookEvent> lines) =>
    [
        .. from c in book.Compartments.Values.OrderBy(c => c.Line)
           from holding in Enum.GetValues<Holding>()
           let count = book.LastCount(new Part(c.Id, holding))
           where count is not null
           select $"{c.Id} {holding} {count.OccurredOn:O} {count.Expected} {count.Counted} {count.MovedSince:O} "
               + $"{count.Settled} {count.LearntSince}",
        .. book.Compartments.Values.OrderBy(c => c.Line)
            .Select(c =>
                $"{c.Id} {c.Cash} {c.Bank} {book.NotesOf(c.Id)?.CountedOn:O} "
                    + $"{string.Join(' ', book.NotesOf(c.Id)?.Pieces ?? [])}"),
        .. OpenItem.At(_september, book).Select(o => $"{o.Kind} {o.Place} {o.On:O} {o.Difference}"),
        .. Reconciliation.Of(book)
            .Select(p =>
                $"{p.Compartment.Id} {p.Holding} {p.Count?.OccurredOn:O} {p.MovedSince} {p.There} {p.Difference} "
                    + $"{p.NotCounted}"),
        .. Marked(book, lines),
        .. OverAndShortReport.Of(
            lines.OfType<CountSettled>()
                .Select(s => new SettledDifference(0, 0, new Part(s.Compartment, s.Holding), s.Difference,
                    s.OccurredOn, "keeper", "")))
            .Differences.Select(d => $"{d.Settled.Place} {d.Settled.Difference} {d.Running.Net}"),
        .. book.Compartments.Values.OrderBy(c => c.Line)
            .SelectMany(c => Enum.GetValues<Holding>().Select(h => book.LastCount(new Part(c.Id, h))))
            .Where(c => c is { Settled: false })
            .Select(c => ExplainedCount.Of(book, c!.Line, Lines(lines, c.OccurredOn), Today, 5))
            .Select(e =>
                $"{e.Place} {e.Since:O} {e.LinesLookedAt} {string.Join(' ', e.Explanations.Select(x => x.Likelihood))} "
                    + $"{e.Together?.Likelihood}"),
    ];

    private static IEnumerable<string> Marked(Book book, List<IBookEvent> lines)
    {
        var dated = Lines(lines, Today).Where(l => l.Event is IDatedEvent).ToList();
        var trail = Trail.Of(_september, book, ImmutableDictionary<Part, Money>.Empty,
            book.Days.Keys.ToDictionary(p => p, p => book.BalanceOn(p, _september.Last)), dated, null);
        return trail.Lines.Where(l => l.Unsettled).Select(l => (CountTaken)l.Line.Event)
            .Select(c => $"{c.Compartment} {c.Holding} {c.OccurredOn:O}").Order(StringComparer.Ordinal);
    }

    private static ExplainedCount Explained(Book book, IBookEvent[] lines) =>
        ExplainedCount.Of(book, book.CashCount(Ferry)!.Line, Lines([.. lines], Sept(10)), Today, 20);

    private static List<BookLine> Lines(List<IBookEvent> lines, DateOnly upTo) =>
    [
        .. Opening.Concat(lines).Select(
            (line, i) => new BookLine(i + 1, i + 1, DateTimeOffset.UnixEpoch, "keeper", line))
            .Where(l => ((l.Event as IDatedEvent)?.OccurredOn ?? DateOnly.MinValue) <= upTo)
            .OrderBy(l => (l.Event as IDatedEvent)?.OccurredOn ?? DateOnly.MinValue),
    ];
}
