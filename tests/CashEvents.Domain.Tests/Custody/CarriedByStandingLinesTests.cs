using System.Collections.Concurrent;
using CsCheck;
using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Custody;

/// <summary>
/// What lies in its place and what is carried, at every line and on every day, follow from the lines that stand:
/// against slips of paper that are written
/// anew each time from those that were not undone. A failure prints the seed that repeats it.
/// </summary>
public class CarriedByStandingLinesTests
{
    private static readonly string[] _compartments = [Ferry, Market];
    private static readonly string[] _reached =
    [
        "amended before it was taken", "amended while carried", "counted", "exchanged", "handed over", "restored",
        "returned", "settled", "settlement undone", "short of what was carried", "undone from carried",
    ];

    private sealed record Asked(ICommand Command, string By, int Back, int DaysAgo);

    private sealed record Slip(long Id, long Cents);

    [Fact]
    public void A_short_that_is_settled_and_undone_is_back_in_the_hands_that_it_was_counted_from()
    {
        var handover = FirstLine + 1;
        var short5 = Settle(handover + 1, Ferry, -5m);
        var book = Given(Fill(Ferry, 15m), new HandedOver(Ferry, "partner", Eur(15m), Today, ""),
            Count(Ferry, 15m, 10m), short5);

        Assert.Equal((Eur(10m), Eur(0m)), (book.Book.Carried(Ferry), book.Book.LiesInPlace(Ferry)));
        var undone = book.When(new ReverseLine(handover + 2, short5, "found in the other pocket"))
            .Then(Reversed(handover + 2, short5, reason: "found in the other pocket") with { Count = handover + 1 });
        Assert.Equal((Eur(15m), Eur(0m)), (undone.Book.Carried(Ferry), undone.Book.LiesInPlace(Ferry)));
    }

    [Fact]
    public void A_handover_that_is_forgotten_keeps_so_many_movements_and_carries_what_it_did()
    {
        var many = Enumerable.Range(0, Handover.MostMoved * 2)
            .Select(i => i % 2 == 0
                ? (IBookEvent)Fill(Ferry, 2m)
                : Spend(Ferry, 1m) with { Carried = new CarriedChange(FirstLine + 1, -Eur(0.01m)) });
        var book = Given([Fill(Ferry, 40m), new HandedOver(Ferry, "partner", Eur(15m), Today, ""), .. many]).Book;

        Assert.Equal(Handover.MostMoved, book.Handovers[Ferry].Moved.Count);
        Assert.Equal(Eur(15m - (Handover.MostMoved * 0.01m)), book.Carried(Ferry));
    }

    [Fact]
    public void A_line_put_back_has_its_place_of_old_on_a_day_before_that_of_its_reversal()
    {
        var (wrong, taken) = (FirstLine + 1, FirstLine + 2);
        var (late, early) = (Fill(Ferry, 8m), Fill(Ferry, 10m, Sept(22)));
        IBookEvent[] lines =
        [
            .. Opening, late, early, new HandedOver(Ferry, "partner", Eur(6m), Sept(23), ""), Reversed(FirstLine, late),
            Reversed(wrong, early),
            Fill(Ferry, 6m, Sept(22)) with { Corrects = new Correction(taken + 1) },
        ];

        var held = lines.Aggregate(Book.Empty, (book, line) => book.Take(line, Sept(23)));

        Assert.Equal((Eur(6m), Eur(0m)), (held.Carried(Ferry), held.LiesInPlace(Ferry)));
    }

    [Fact]
    public void At_each_line_and_on_each_day_what_lies_and_what_is_carried_is_what_the_standing_lines_say()
    {
        var seen = new ConcurrentDictionary<string, int>();

        Any.Array[1, 50].Sample(asked => Run(asked, seen), iter: GeneratedCases.Of(800));

        Assert.Equal(_reached, seen.Keys.Intersect(_reached).Order(StringComparer.Ordinal));
    }

    private static void Run(Asked[] steps, ConcurrentDictionary<string, int> seen)
    {
        var book = Opening.Aggregate(Book.Empty, (b, line) => b.Apply(line));
        var lines = Opening.ToList();
        foreach (var step in steps)
        {
            IReadOnlyList<IBookEvent> written;
            var command = Addressed(step, book, lines);
            try
            {
                written = command.Decide(book, Today);
            }
            catch (RefusalException)
            {
                continue;
            }

            foreach (var line in written)
            {
                Remarks(line, command, book, lines).ToList()
                    .ForEach(what => seen.AddOrUpdate(what, 1, (_, n) => n + 1));
                book = book.Apply(line);
                lines.Add(line);
                Agree(book, lines, DateOnly.MaxValue);
            }
        }

        for (var day = Today.AddDays(-6); day <= Today; day = day.AddDays(1))
        {
            var held = lines.Aggregate(Book.Empty, (b, line) => b.Take(line, day));
            Agree(held, lines, day);
            Assert.All(_compartments, c => Assert.Equal(book.BalanceOn(Cash(c), day), held.Compartments[c].Cash));
        }
    }

    private static void Agree(Book book, List<IBookEvent> lines, DateOnly day)
    {
        var slips = Slips(lines, day);
        Assert.All(_compartments, c =>
        {
            var (cash, slip) = slips[c];
            Assert.Equal((cash, slip?.Id, slip?.Cents ?? 0),
                (book.Compartments[c].Cash.Minor, book.Handovers.GetValueOrDefault(c)?.Id, book.Carried(c).Minor));
            Assert.Equal(book.Compartments[c].Cash, book.LiesInPlace(c) + book.Carried(c));
        });
    }

    // Every line that was not undone, where it stands or where the line stood that it replaces; nobody carries more
    // than there is.
    private static Dictionary<string, (long Cash, Slip? Slip)> Slips(List<IBookEvent> lines, DateOnly day)
    {
        var told = lines.Select((line, i) => (Number: (long)i + 1, Line: line))
            .Where(l => l.Line is not IDatedEvent dated || dated.OccurredOn <= day).ToList();
        var undone = told.Select(l => l.Line).OfType<Domain.Movements.Reversed>().Select(r => r.Corrects.Line)
            .ToHashSet();
        var slips = _compartments.ToDictionary(c => c, _ => (Cash: 0L, Slip: default(Slip)));
        var paid = new Dictionary<long, long>();
        foreach (var (number, line) in told.Where(
            l => l.Line is not Domain.Movements.Reversed && !undone.Contains(l.Number)).OrderBy(l => Origin(l.Number))
            .ThenBy(l => l.Number))
        {
            switch (line)
            {
                case HandedOver e:
                    // What is put right of before it was taken may be said to have been paid from it.
                    slips[e.Compartment] = slips[e.Compartment] with
                    {
                        Slip = new Slip(number,
                        Math.Clamp(e.Amount.Minor + paid.GetValueOrDefault(number), 0,
                            Math.Max(0, slips[e.Compartment].Cash)))
                    };
                    break;
                case HandoverReturned e when slips[e.Compartment].Slip?.Id == e.Handover:
                    slips[e.Compartment] = slips[e.Compartment] with { Slip = null };
                    break;
                case IMovement e:
                    if (e.Carried is { } said && Origin(number) < said.Handover)
                    {
                        paid[said.Handover] = paid.GetValueOrDefault(said.Handover) + said.Change.Minor;
                    }

                    foreach (var (part, change) in e.Postings.Where(
                        p => p.Place.Holding == Holding.Cash && slips.ContainsKey(p.Place.Compartment)))
                    {
                        var (cash, slip) = slips[part.Compartment];
                        cash += change.Minor;
                        var hands = (slip?.Cents ?? 0)
                            + (e.Carried is { } c && c.Handover == slip?.Id ? c.Change.Minor : 0);
                        slips[part.Compartment] =
                            (cash, slip is null ? null : slip with { Cents = Math.Clamp(hands, 0, Math.Max(0, cash)) });
                    }

                    break;
            }
        }

        return slips;

        long Origin(long number) =>
            lines[(int)number - 1] is IMovement { Corrects: { } corrects } ? Origin(corrects.Line) : number;
    }

    private static IEnumerable<string> Remarks(IBookEvent line, ICommand command, Book before, List<IBookEvent> lines)
    {
        var carrying = line.About.Any(before.Handovers.ContainsKey);
        return line switch
        {
            HandedOver => ["handed over"],
            HandoverReturned => ["returned"],
            CountTaken when carrying => ["counted"],
            NotesExchanged when carrying => ["exchanged"],
            CountSettled e when carrying =>
                e.Holding == Holding.Cash && -e.Difference > before.LiesInPlace(e.Compartment)
                    ? ["settled", "short of what was carried"]
                    : ["settled"],
            Domain.Movements.Reversed { Count: not null } when carrying => ["settlement undone"],
            Domain.Movements.Reversed { Carried: not null } when carrying => ["undone from carried"],
            IMovement { Corrects: { } corrects } and not Domain.Movements.Reversed when carrying =>
                command is AmendLine { Written: Domain.Movements.Reversed } ? ["restored"]
                : before.Handovers.Values.Any(h => line.About.Contains(h.Compartment) && h.Id > corrects.Line)
                    ? ["amended before it was taken"]
                    : ["amended while carried"],
            _ => [],
        };
    }

    private static ICommand Addressed(Asked step, Book book, List<IBookEvent> lines)
    {
        DateOnly? day = step.DaysAgo < 0 ? null : Today.AddDays(-step.DaysAgo);
        var index = Math.Max(0, lines.Count - 1 - step.Back);
        var command = step.Command switch
        {
            ReverseLine { Line: 0 } c => c with { Line = index + 1, Written = lines[index] },
            ReverseLine c when Math.Max(0, lines.FindLastIndex(line => line is CountSettled)) is var settled =>
                c with { Line = settled + 1, Written = lines[settled] },
            AmendLine c => c with
            {
                Line = index + 1,
                Written = lines[index],
                Replacement = day is { } on ? ((IReplacementCommand)c.Replacement).DatedOn(on) : c.Replacement
            },
            ReturnHandover c => c with
            {
                Handover =
                book.Handovers.Values.OrderBy(h => h.Id).Select(h => h.Id).FirstOrDefault(),
                OccurredOn = day
            },
            SettleCount c => c with { Count = lines.FindLastIndex(line => line is CountTaken) + 1 },
            OpenHandover c => c with { OccurredOn = day },
            RecordExchange c => c with { OccurredOn = day },
            // Near what is there, so that some short is more than what lies in its place.
            RecordCount c => c with
            {
                OccurredOn = day,
                Total = Math.Max(0m, book.Currency.ToDecimal(book.ExpectedOn(Cash(c.Compartment), day ?? Today))
                    + c.Total!.Value - 10m)
            },
            IReplacementCommand c when day is { } on => c.DatedOn(on),
            _ => step.Command,
        };
        return command.SignedBy(step.By);
    }

    private static Gen<Asked> Any
    {
        get
        {
            var compartment = Gen.OneOf([.. _compartments.Select(Gen.Const)]);
            var amount = Gen.Int[1, 40].Select(n => n / 2m);
            var hands = Gen.OneOf(Gen.Const(default(bool?)), Gen.Bool.Select(b => (bool?)b))
                .Select(carried => new Hands(Carried: carried));
            var piece = new Dictionary<string, long> { ["1"] = 1 };
            var movement = Gen.Frequency(
                (5, Gen.Select(compartment, amount,
                    (c, a) => (ICommand)new RecordFill(c, Holding.Cash, a, null, null))),
                (5, Gen.Select(compartment, amount, hands,
                    (c, a, h) => (ICommand)new RecordSpend(c, Holding.Cash, a, null, null) { Hands = h })),
                (1, Gen.Select(compartment, compartment, amount, hands,
                    (c, cover, a, h) => (ICommand)new RecordSpend(c, Holding.Cash, a, null, null,
                        cover)
                    { Hands = h })),
                (2, Gen.Select(compartment, amount, hands,
                    (c, a, h) => (ICommand)new RecordRefund(c, Holding.Cash, a, null, null) { Hands = h })),
                (2, Gen.Select(compartment, compartment, amount, hands,
                    (c, to, a, h) => (ICommand)new RecordTransfer(Cash(c), c == to ? Bank(c) : Cash(to), a, null,
                        null)
                    { Hands = h })),
                (1, Gen.Select(compartment, amount,
                    (to, leave) => (ICommand)new RecordSweep(new SweepFrom(Purpose: Purpose.Spending), Holding.Cash,
                        Cash(to), leave, null, null))));
            var command = Gen.Frequency(
                (10, movement),
                (4, Gen.Select(compartment, Gen.OneOf(Gen.Const(default(decimal?)), amount.Select(a => (decimal?)a)),
                    (c, a) => (ICommand)new OpenHandover(c, a, "partner", null, null))),
                (1, amount.Select(total => (ICommand)new ReturnHandover(0, total, null, null, null, null))),
                (3, Gen.Select(compartment, amount,
                    (c, total) => (ICommand)new RecordCount(c, Holding.Cash, total, null, null, null,
                        null)
                    { Hands = new Hands(Carried: true) })),
                (3, Gen.Const((ICommand)new SettleCount(0, "agreed", null))),
                (1, Gen.Const((ICommand)new RecordExchange(Ferry, Market, piece, piece, null, null))),
                (3, Gen.Int[0, 1].Select(line => (ICommand)new ReverseLine(line, null!, "wrong"))),
                (3, movement.Select(m => (ICommand)new AmendLine(0, null!, m, "wrong"))));
            return Gen.Select(command, Gen.OneOf(Gen.Const("keeper"), Gen.Const("partner")), Gen.Int[0, 12],
                Gen.Int[-4, 5], (c, by, back, ago) => new Asked(c, by, back, ago));
        }
    }
}
