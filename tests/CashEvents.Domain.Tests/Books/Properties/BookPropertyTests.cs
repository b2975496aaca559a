using System.Collections.Concurrent;
using System.Collections.Immutable;
using CsCheck;
using static CashEvents.Domain.Tests.Books.HarbourRow;

namespace CashEvents.Domain.Tests.Books;

/// <summary>
/// Whatever a household asks of its book, in whatever order, the invariants hold and the naive book agrees. A failure
/// prints the seed that repeats it.
/// </summary>
public class BookPropertyTests
{
    [Fact]
    public void Any_sequence_of_commands_keeps_the_invariants_and_agrees_with_the_naive_book()
    {
        var seen = new ConcurrentDictionary<string, int>();

        Step.Any.Array[1, 60].Sample(steps => Run(steps, seen), iter: GeneratedCases.Of(600));

        // The sequences reach every kind of line and every refusal that they can be given.
        Assert.Equal(
            [
                "after-today", "amended", "amount-not-positive", "before-count", "close", "close month",
                "compartment-closed", "compartment-not-empty", "compartment-twice", "compartment-unknown",
                "count", "count-not-open", "count-settled", "counted before a correction was posted",
                "counted before a settlement was posted", "counted but typed in late",
                "fill", "leave-negative", "line-corrected", "line-is-reversal", "line-moves-nothing", "month-closed",
                "not-enough", "nothing-to-settle", "posted today", "refund", "reopen", "reopen month",
                "replacement-empty", "replacement-unfit", "rest from elsewhere", "rest-from-itself", "restored",
                "reverse", "settle", "settle undone", "spend",
                "sweep", "sweep-into-itself", "too-many-decimals", "transfer", "transfer-to-itself",
            ],
            seen.Keys.Order(StringComparer.Ordinal));
    }

    private static void Run(Step[] steps, ConcurrentDictionary<string, int> seen)
    {
        var naive = new NaiveBook();
        var book = Opening.Aggregate(Book.Empty, (b, line) => b.Apply(line));
        var lines = Opening.ToList();
        var halfway = book;
        var today = Today;
        void See(string what) => seen.AddOrUpdate(what, 1, (_, n) => n + 1);

        foreach (var step in steps)
        {
            today = today.AddDays(step.DaysLater);
            var command = step.On(today, naive, lines);
            var (reasons, expected) = naive.Ask(command, today);
            var before = Written.Book(book);
            try
            {
                var decided = command.Decide(book, today);

                Assert.True(reasons.Count == 0,
                    $"{command} was written but must be refused: {string.Join(", ", reasons)}");
                Assert.Equal(expected.Select(l => l.ToString()), decided.Select(l => NaiveLine.Of(l).ToString()));
                foreach (var line in decided)
                {
                    var next = book.Apply(line);
                    TotalStays(line, book, next);
                    book = next;
                    See(NaiveLine.Of(line).Kind);
                }

                HoldsAtTheEndOf(command, book);
                decided.SelectMany(line => Remarks(command, line, before: lines)).Distinct().ToList().ForEach(See);
                if (command is RecordSpend && decided.Count == 2)
                {
                    See("rest from elsewhere");
                }

                lines.AddRange(decided);
                naive.Write(expected);
            }
            catch (RefusalException refused)
            {
                Assert.Contains(refused.Refusal.Code, reasons);
                Shortages.AreTrue(refused.Refusal, book, naive, command, today);
                See(refused.Refusal.Code);
                Assert.Equal(before, Written.Book(book));
            }

            Assert.Equal(naive.Lines, book.Line);
            Assert.Equal(lines.Count, book.Line);
            Agree(book, naive, Enumerable.Range(-12, 14).Select(today.AddDays));
            TotalIsWhatCameInLessWhatWentOut(book, lines);
            halfway = lines.Count <= Opening.Length + (steps.Length / 2) ? book : halfway;
        }

        Agree(book, naive, Enumerable.Range(-10, today.DayNumber - Today.DayNumber + 12).Select(Today.AddDays));
        Assert.Equal(Written.Book(book), Written.Book(lines.Aggregate(Book.Empty, (b, line) => b.Apply(line))));
        Assert.Equal(Written.Book(book),
            Written.Book(lines.Skip((int)halfway.Line).Aggregate(TakenUpAgain(halfway), (b, line) => b.Apply(line))));
    }

    private static IEnumerable<string> Remarks(ICommand command, IBookEvent line, List<IBookEvent> before)
    {
        if (line is CountTaken count && before.OfType<IMovement>().Any(m =>
            m.Corrects?.ClosedDay <= count.OccurredOn && m.OccurredOn > count.OccurredOn
                && m.Postings.Any(p => p.Place == new Part(count.Compartment, count.Holding))))
        {
            yield return "counted before a correction was posted";
        }

        if (line is CountTaken late
            && before.OfType<CountTaken>()
                .Any(c => c.OccurredOn > late.OccurredOn
                    && (c.Compartment, c.Holding) == (late.Compartment, late.Holding)))
        {
            yield return "counted but typed in late";
        }

        if (line is CountTaken then
            && before.OfType<CountSettled>()
                .Any(s => s.OccurredOn > then.OccurredOn
                    && (s.Compartment, s.Holding) == (then.Compartment, then.Holding)
            && ((CountTaken)before[(int)s.Count - 1]).OccurredOn <= then.OccurredOn))
        {
            yield return "counted before a settlement was posted";
        }

        if (line is IMovement { Corrects: { } corrects })
        {
            yield return command is AmendLine { Written: Reversed { } } ? "restored" : command is AmendLine
                ? "amended"
                : "reverse";
            if (corrects.ClosedDay is not null)
            {
                yield return "posted today";
            }
        }

        if (line is Reversed { Count: not null })
        {
            yield return "settle undone";
        }
    }

    // Between the lines of an entry a balance may be below zero.
    private static void HoldsAtTheEndOf(ICommand entry, Book after)
    {
        Assert.All(after.Compartments.Values,
            c => Assert.True(c.Cash >= Money.Zero && c.Bank >= Money.Zero, $"{c} after {entry}"));
        Assert.All(after.Days.Values.SelectMany(d => d.Days),
            day => Assert.True(day.Closing >= Money.Zero, $"{day} after {entry}"));
    }

    private static void TotalStays(IBookEvent line, Book before, Book after)
    {
        Assert.Equal(before.Line + 1, after.Line);
        if (line is Transferred or Swept or Reversed { Kind: MovementKind.Transfer or MovementKind.Sweep })
        {
            Assert.Equal(Total(before), Total(after));
        }
    }

    private static void Agree(Book book, NaiveBook naive, IEnumerable<DateOnly> dates)
    {
        foreach (var part in NaiveBook.Places)
        {
            var compartment = book.Compartments[part.Compartment];
            Assert.Equal(naive.Now(part), compartment.Balance(part.Holding).Minor);
            foreach (var date in dates)
            {
                Assert.Equal(naive.On(part, date), book.BalanceOn(part, date).Minor);
                Assert.Equal(naive.Available(part, date), book.Available(part, date).Closing.Minor);
            }

            Assert.Equal(naive.LastDifference(part), book.LastCount(part)?.Difference.Minor);
        }
    }

    private static void TotalIsWhatCameInLessWhatWentOut(Book book, IEnumerable<IBookEvent> lines) =>
        Assert.Equal(
            lines.Sum(line => line switch
            {
                Filled e => e.Amount.Minor,
                Spent e => -e.Amount.Minor,
                Refunded e => e.Amount.Minor,
                CountSettled e => e.Difference.Minor,
                Reversed e => e.Changes.Sum(c => c.Amount.Minor),
                _ => 0,
            }),
            Total(book));

    private static long Total(Book book) => book.Compartments.Values.Sum(c => c.Cash.Minor + c.Bank.Minor);

    // As from stored rows: the days in date order and nothing else of them.
    private static Book TakenUpAgain(Book book) =>
        book.With(BalancesInBook.Days,
            book.Days.ToImmutableDictionary(d => d.Key, d => DailyBalances.Of(d.Value.Days)));
}
