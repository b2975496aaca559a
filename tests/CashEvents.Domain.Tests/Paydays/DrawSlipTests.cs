using System.Collections.Immutable;
using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Paydays;

/// <summary>What a draw slip asks for: amounts for compartments, notes in hand, and what the bank gives.</summary>
public class DrawSlipTests
{
    private static PackingTask Task(decimal[] amounts, (decimal Value, int Count)[] inHand, params decimal[] bank) =>
        new([.. amounts.Select((a, i) => new Target($"c{i}", Eur(a), NoteWishes.None))],
            Pieces(inHand), [.. bank.Select(Eur)]);

    private static ImmutableArray<Pieces> Pieces(params (decimal Value, int Count)[] pieces) =>
        [.. pieces.Select(p => new Pieces(Eur(p.Value), p.Count))];

    private static PackingTask Read(Given given, (string Compartment, decimal Amount)[] amounts,
        params (string Value, long Count)[] inHand) => PackingTask.Read(given.Book,
            amounts.ToDictionary(a => a.Compartment, a => a.Amount), inHand.ToDictionary(p => p.Value, p => p.Count),
            [Eur(50m)]);

    private static (string, string?, string) Refused(Func<object> asked)
    {
        var refusal = Assert.Throws<RefusalException>(asked).Refusal;
        return (refusal.Code, refusal.Field, refusal.Detail.Spoken());
    }

    [Fact]
    public void A_task_names_compartments_as_they_were_opened_with_their_wishes()
    {
        var wishes = new NoteWishes([Eur(10m)], [], []);
        var task = Read(Given(new NotesWished(Van, wishes.Prefer, wishes.Avoid, wishes.AtLeast)),
            [(Van, 100_000m), (Ferry, 25m)], ("20", 2), ("5", 0));

        Assert.Equal([(Ferry, Eur(25m)), (Van, Eur(100_000m))], task.Targets.Select(t => (t.Compartment, t.Amount)));
        Assert.Equal(wishes.Prefer, task.Targets[1].Wishes.Prefer);
        Assert.Empty(task.Targets[0].Wishes.Prefer);
        Assert.Equal([Eur(50m), Eur(20m)], task.Values);
        Assert.Equal((2, 0), (task.Held(Eur(20m)), task.Held(Eur(50m))));
    }

    [Fact]
    public void A_task_that_cannot_be()
    {
        Assert.Equal(("amount-too-large", "amounts.ferry-fares",
            "One compartment is packed with at most 100000.00 EUR at a time."),
            Refused(() => Read(Given(), [(Ferry, 100_000.01m)])));
        Assert.Equal(("amount-not-positive", "amounts.ferry-fares",
            "`amounts.ferry-fares` is 0: write an amount above zero, and choose the kind of movement for its "
                + "direction."), Refused(() => Read(Given(), [(Ferry, 0m)])));
        Assert.Equal(("compartment-unknown", "amounts.oars",
            "There is no compartment 'oars'. <ListCompartments> lists them."),
            Refused(() => Read(Given(), [("oars", 1m)])));
        Assert.Equal(("pieces-out-of-range", "inHand.20", "The number of pieces is 0 to 1000000, not -1."),
            Refused(() => Read(Given(), [(Ferry, 1m)], ("20", -1))));
    }

    [Fact]
    public void What_is_missing_is_what_the_notes_in_hand_do_not_come_to()
    {
        Assert.Equal(Eur(45m), Task([30m, 40m], [(20m, 1), (5m, 1)]).Missing);
        Assert.Equal(Eur(-10m), Task([30m], [(20m, 2)]).Missing);
    }

    // By hand: 30.00 in fifties and twenties from the bank is 10.00 off (20 or 40); with tens it is met; 3 of the
    // notes of a round may be needed for the smallest.
    [Fact]
    public void Nearer_than_this_no_notes_come()
    {
        Assert.Equal(Eur(0m), Task([30m], [], 20m, 10m).NeverNearer());
        Assert.Equal(Eur(10m), Task([30m], [], 20m).NeverNearer() + Eur(10m));
        // Fifties, and one twenty in hand: 30.00 is missed by 10.00 with the twenty, and by 20.00 without.
        Assert.Equal(Eur(10m), Task([30m], [(20m, 1)], 50m).NeverNearer());
        Assert.Equal(Eur(20m), Task([30m], [(20m, 0)], 50m).NeverNearer());
        // 65.00 of fifties and twenties: 60.00 and 70.00 are each 5.00 off.
        Assert.Equal(Eur(5m), Task([65m], [], 50m, 20m).NeverNearer());
        // Two targets and one twenty: it helps one of them (10.00 off), the other is 20.00 off.
        Assert.Equal(Eur(30m), Task([30m, 30m], [(20m, 1)], 50m).NeverNearer());
        Assert.Equal(Eur(20m), Task([30m, 30m], [(20m, 2)], 50m).NeverNearer());
        // Hundreds and fives: twenty fives make a round, and 3.00 is 2.00 off the nearest five.
        Assert.Equal(Eur(2m), Task([3m], [], 100m, 5m).NeverNearer());
        // A round of more than twenty is not looked at: hundreds and ones.
        Assert.Equal(Money.Zero, Task([3.50m], [], 100m, 1m).NeverNearer());
    }

    [Fact]
    public void What_a_packing_takes_beyond_what_is_in_hand_is_asked_for_and_what_it_does_not_take_is_left()
    {
        var task = Task([30m, 20m], [(20m, 1), (5m, 4)], 50m, 10m);
        var packing = new Packing(task, [Pieces((20m, 1), (10m, 1)), Pieces((10m, 1), (5m, 2))], true);

        Assert.Equal(Pieces((10m, 2)), packing.Asked);
        Assert.Equal(Pieces((5m, 2)), packing.Left);
        Assert.True(packing.IsExact);
        Assert.Equal(Pieces((20m, 1), (5m, 4)),
            new Packing(task, [Pieces((50m, 1)), []], true).Left);
        packing.MustBeExact(Given().Book, compartment => compartment);
    }

    [Fact]
    public void A_packing_that_must_be_exact_and_is_not_names_the_compartment()
    {
        var packing = new Packing(Task([30m, 25m], [], 20m, 10m), [Pieces((20m, 1), (10m, 1)), Pieces((20m, 1))],
            true);

        Assert.False(packing.IsExact);
        Assert.Equal(("amount-not-in-notes", "amounts.c1",
            "'c1' is to get 25.00 EUR, and the nearest that can be made up is 20.00 EUR: change the amount, or name "
                + "smaller pieces in `denominations`."),
            Refused(() =>
            {
                packing.MustBeExact(Given().Book, compartment => $"amounts.{compartment}");
                return packing;
            }));
    }

    [Fact]
    public void A_run_draws_the_cash_that_it_fills_compartments_in_use_with()
    {
        Assert.Equal([(Ferry, 20m)], Run((Ferry, 20m, 5m), (Van, 0m, 9m), (Market, 7m, 0m))
            .CashToDraw(Given(new CompartmentClosed(Market)).Book).Select(a => (a.Key, a.Value)));
        Assert.Equal(("nothing-to-draw", null,
            "No compartment gets cash on 2026-09-24, so there is nothing to draw."),
            Refused(() => Run((Van, 0m, 9m)).CashToDraw(Given().Book)));
        string[] many = [.. Enumerable.Range(0, 61).Select(n => $"purpose-{n}")];
        var given = Given([.. many.Select(id => new CompartmentOpened(id, id, "strongbox", Purpose.Saving))]);
        Assert.Equal(("too-many", null,
            "61 compartments get cash, and a draw slip is packed for at most 60: send them in two parts to <Draw>."),
            Refused(() => Run([.. many.Select(id => (id, 1m, 0m))]).CashToDraw(given.Book)));
        Assert.Equal(60, Run([.. many.Skip(1).Select(id => (id, 1m, 0m))]).CashToDraw(given.Book).Count);
    }

    private static FillRun Run(params (string Compartment, decimal Cash, decimal Bank)[] fills) =>
        new(Today, Today.AddDays(30), Eur(900m), Money.Zero, Money.Zero,
            [.. fills.Select(f => new CompartmentFill(f.Compartment, FillRuleKind.Fixed, 1, Eur(f.Cash + f.Bank),
                Money.Zero, Money.Zero, Eur(f.Cash), Eur(f.Bank)))]);

    [Fact]
    public void Wishes_that_contradict_each_other_or_name_what_is_not_issued() => Given().Refuses(
        (new WishNotes(Ferry, [10m, 20m], [20m], null), "wishes-contradict", "avoid",
            "20.00 EUR is to be avoided and is wished for: leave it out of one of the two."),
        (new WishNotes(Ferry, null, [5m], new Dictionary<string, long> { ["5"] = 1 }), "wishes-contradict", "avoid",
            "5.00 EUR is to be avoided and is wished for: leave it out of one of the two."),
        (new WishNotes(Ferry, [10m, 10m], null, null), "denomination-twice", "prefer[1]",
            "'10' is written twice: write it once."),
        (new WishNotes(Ferry, null, null, new Dictionary<string, long> { ["0.5"] = 1, ["0.50"] = 2 }),
            "denomination-twice", "atLeast.0.50",
            "'0.50' is written twice (as 0.5 and 0.50 would be): add the two numbers up."),
        (new WishNotes("oars", null, null, null), "compartment-unknown", null, "There is no compartment 'oars'."));

    // From memory: the European Central Bank's Europa series, and the notes of the Bureau of Engraving and Printing,
    // which are all of one size, 6.14 by 2.61 inches.
    [Fact]
    public void Notes_have_the_sizes_they_are_printed_in()
    {
        Assert.Equal([new NoteSize(5, 120, 62), new NoteSize(10, 127, 67), new NoteSize(20, 133, 72),
            new NoteSize(50, 140, 77), new NoteSize(100, 147, 77), new NoteSize(200, 153, 77)],
            NoteSize.Of(Currency.Of("EUR")));
        Assert.Equal(["1 156 66", "5 156 66", "10 156 66", "20 156 66", "50 156 66", "100 156 66"],
            NoteSize.Of(Currency.Of("USD")).Select(n => $"{n.Face} {n.Length} {n.Height}"));
        Assert.All(["GBP", "CHF", "CAD", "AUD", "JPY"], (string code) => Assert.All(
            NoteSize.Of(Currency.Of(code)), note => Assert.Contains((decimal)note.Face,
                Denominations.Of(Currency.Of(code)))));
        Assert.Empty(NoteSize.Of(Currency.Of("SEK")));
        Assert.Empty(NoteSize.Of(null));
    }
}
