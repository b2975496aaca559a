using System.Collections.Concurrent;
using CsCheck;
using static CashEvents.Domain.Tests.Books.HarbourRow;

namespace CashEvents.Domain.Tests.Custody;

/// <summary>
/// Whatever is handed over, spent, corrected and brought back in whatever order. A failure prints the seed that repeats
/// it.
/// </summary>
public class HandoverPropertyTests
{
    private static readonly string[] _compartments = [Ferry, Market, Van];

    private sealed record Asked(ICommand Command, string By, int Back);

    [Fact]
    public void Handovers_change_no_balance_and_nobody_carries_more_than_there_is()
    {
        var seen = new ConcurrentDictionary<string, int>();

        Any.Array[1, 60].Sample(asked => Run(asked, seen), iter: GeneratedCases.Of(600));

        Assert.Equal(
            ["carried-by-another", "from carried", "handed over", "handover-open", "not-enough", "nothing-to-hand-over",
                "returned", "to carried", "undone from carried"],
            seen.Keys.Intersect(["carried-by-another", "from carried", "handed over", "handover-open", "not-enough",
                "nothing-to-hand-over", "returned", "to carried", "undone from carried"])
                .Order(StringComparer.Ordinal));
    }

    private static void Run(Asked[] steps, ConcurrentDictionary<string, int> seen)
    {
        var book = Opening.Aggregate(Book.Empty, (b, line) => b.Apply(line));
        // The same book without a word of who carries what.
        var silent = book;
        var lines = Opening.ToList();
        void See(string what) => seen.AddOrUpdate(what, 1, (_, n) => n + 1);

        foreach (var step in steps)
        {
            var command = Addressed(step, book, lines).SignedBy(step.By);
            IReadOnlyList<IBookEvent> written;
            try
            {
                written = command.Decide(book, Today);
            }
            catch (RefusalException refused)
            {
                See(refused.Refusal.Code);
                IsRefusedWhereTheRestIsCarried(refused.Refusal, command, book);
                continue;
            }

            var before = book;
            foreach (var line in written)
            {
                book = book.Apply(line);
                silent = line is HandedOver or HandoverReturned ? silent : silent.Apply(line);
                See(Remark(line));
            }

            lines.AddRange(written);
            Assert.All(_compartments, c =>
            {
                Assert.Equal((silent.Compartments[c].Cash, silent.Compartments[c].Bank),
                    (book.Compartments[c].Cash, book.Compartments[c].Bank));
                Assert.InRange(book.Carried(c).Minor, 0, book.Compartments[c].Cash.Minor);
            });
            Assert.Equal(book.Days.OrderBy(d => d.Key.ToString()).SelectMany(d => d.Value.Days),
                silent.Days.OrderBy(d => d.Key.ToString()).SelectMany(d => d.Value.Days));
            Assert.Equal(
                book.Compartments.Values.Sum(c => c.Cash.Minor),
                Whereabouts.Lying(book).Sum(p => p.Amount.Minor) + Whereabouts.Carried(book).Sum(c => c.Amount.Minor));
            OnlyTheCarrierOrWhoMeansItTouchesWhatIsCarried(command, step.By, written, before, book);
        }
    }

    private static void OnlyTheCarrierOrWhoMeansItTouchesWhatIsCarried(ICommand command, string by,
        IReadOnlyList<IBookEvent> written, Book before, Book after)
    {
        if (command is OpenHandover or ReturnHandover or ReverseLine or SettleCount)
        {
            return;
        }

        foreach (var handover in before.Handovers.Values)
        {
            var (had, has) = (before.Carried(handover.Compartment), after.Carried(handover.Compartment));
            var meant = command switch
            {
                RecordSpend c => c.Hands,
                RecordRefund c => c.Hands,
                RecordTransfer c => c.Hands,
                _ => Hands.Unsaid
            };
            if (!(meant.Carried ?? by == handover.Carrier)
                || !written.OfType<IMovement>().Any(m => m.About.Contains(handover.Compartment)))
            {
                Assert.Equal(had, has);
            }
            else if (written is [Spent { Holding: Holding.Cash } spent] && spent.Compartment == handover.Compartment)
            {
                Assert.Equal(Math.Max(0, had.Minor - spent.Amount.Minor), has.Minor);
            }
        }
    }

    // It is there, but not where whoever asks can take it.
    private static void IsRefusedWhereTheRestIsCarried(Refusal refusal, ICommand command, Book book)
    {
        if (refusal.Code == "carried-by-another" && command is RecordSpend { RestFrom: null } spend)
        {
            var amount = Eur(spend.Amount);
            Assert.True(amount <= book.Compartments[spend.Compartment].Cash
                && amount > book.LiesInPlace(spend.Compartment), $"{command}: {refusal.Detail}");
        }
    }

    private static ICommand Addressed(Asked step, Book book, List<IBookEvent> lines) => step.Command switch
    {
        ReverseLine c when Math.Max(0, lines.Count - 1 - step.Back) is var index =>
            c with { Line = index + 1, Written = lines[index] },
        ReturnHandover c => c with
        {
            Handover =
            book.Handovers.Values.OrderBy(h => h.Id).Select(h => h.Id).FirstOrDefault()
        },
        SettleCount c => c with { Count = lines.FindLastIndex(line => line is CountTaken) + 1 },
        _ => step.Command,
    };

    private static string Remark(IBookEvent line) => line switch
    {
        HandedOver => "handed over",
        HandoverReturned => "returned",
        Reversed { Carried: not null } => "undone from carried",
        IMovement { Carried.Change: var change } => change > Money.Zero ? "to carried" : "from carried",
        _ => line.GetType().Name,
    };

    private static Gen<Asked> Any
    {
        get
        {
            var compartment = Gen.OneOf([.. _compartments.Select(Gen.Const)]);
            var amount = Gen.Int[1, 40].Select(n => n / 2m);
            var hands = Gen.OneOf(Gen.Const(default(bool?)), Gen.Const(default(bool?)), Gen.Bool.Select(b => (bool?)b))
                .Select(carried => new Hands(Carried: carried));
            var command = Gen.Frequency(
                (5, Gen.Select(compartment, amount,
                    (c, a) => (ICommand)new RecordFill(c, Holding.Cash, a, null, null))),
                (6, Gen.Select(compartment, amount, hands,
                    (c, a, h) => (ICommand)new RecordSpend(c, Holding.Cash, a, null, null) { Hands = h })),
                (2, Gen.Select(compartment, compartment, amount, hands,
                    (c, cover, a, h) => (ICommand)new RecordSpend(c, Holding.Cash, a, null, null,
                        cover)
                    { Hands = h })),
                (2, Gen.Select(compartment, amount, hands,
                    (c, a, h) => (ICommand)new RecordRefund(c, Holding.Cash, a, null, null) { Hands = h })),
                (3, Gen.Select(compartment, compartment, amount, hands,
                    (c, to, a, h) => (ICommand)new RecordTransfer(Cash(c), c == to ? Bank(c) : Cash(to), a, null,
                        null)
                    { Hands = h })),
                (1, Gen.Select(compartment, amount,
                    (to, leave) => (ICommand)new RecordSweep(new SweepFrom(Purpose: Purpose.Spending), Holding.Cash,
                        Cash(to), leave, null, null))),
                (4, Gen.Select(compartment, Gen.OneOf(Gen.Const(default(decimal?)), amount.Select(a => (decimal?)a)),
                    (c, a) => (ICommand)new OpenHandover(c, a, "partner", null, null))),
                (2, amount.Select(total => (ICommand)new ReturnHandover(0, total, null, null, null, null))),
                (1, Gen.Select(compartment, amount, hands,
                    (c, total, h) => (ICommand)new RecordCount(c, Holding.Cash, total, null, null, null,
                        null)
                    { Hands = h })),
                (1, Gen.Const((ICommand)new SettleCount(0, "agreed", null))),
                (3, Gen.Const((ICommand)new ReverseLine(0, null!, "wrong"))));
            return Gen.Select(command, Gen.OneOf(Gen.Const("keeper"), Gen.Const("partner")), Gen.Int[0, 12],
                (c, by, back) => new Asked(c, by, back));
        }
    }
}
