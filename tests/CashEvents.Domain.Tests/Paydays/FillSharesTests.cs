using CsCheck;
using static CashEvents.Domain.Tests.Books.HarbourRow;

namespace CashEvents.Domain.Tests.Paydays;

public class FillSharesTests
{
    private static Want Fixed(string compartment, decimal amount, int rank = 1, decimal? roundTo = null,
        decimal? ceiling = null, decimal there = 0m, Holding holding = Holding.Cash) => new(
        new FillRule(compartment, FillRuleKind.Fixed, Eur(amount), null, Optional(ceiling), holding, rank,
            Optional(roundTo)), Eur(amount), Eur(there), holding == Holding.Bank ? 100 : 0);

    private static Want Share(string compartment, int basisPoints, int rank = 1, decimal? roundTo = null) =>
        new(new FillRule(compartment, FillRuleKind.Share, null, basisPoints, null, Holding.Cash, rank,
            Optional(roundTo)), Money.Zero, Money.Zero, 0);

    private static Money? Optional(decimal? amount) => amount is { } a ? Eur(a) : null;

    private static IEnumerable<decimal> Amounts(decimal available, params Want[] wants) =>
        FillShares.Of(Eur(available), wants).Select(f => f.Amount.Minor / 100m);

    [Fact]
    public void Each_gets_what_it_wants_while_the_money_lasts() =>
        Assert.Equal([25m, 40m], Amounts(100m, Fixed(Ferry, 25m), Fixed(Market, 40m, rank: 2)));

    // The method is Hamilton's of 1792. Worked example: electowiki, "Hamilton method" (populations of 1790, 60 seats);
    // a seat is a cent here.
    [Fact]
    public void A_rank_that_is_short_is_shared_out_as_in_the_worked_example_of_largest_remainder()
    {
        int[] people = [630_560, 475_327, 432_879, 353_523, 331_589, 278_514, 236_841, 206_236, 179_570, 141_822,
            85_533, 70_835, 68_705, 68_446, 55_540];

        var fills = FillShares.Of(Eur(0.60m), people.Select((p, i) => Fixed($"state-{i}", p / 100m)));

        Assert.Equal([11, 8, 7, 6, 6, 5, 4, 3, 3, 2, 1, 1, 1, 1, 1], fills.Select(f => f.Amount.Minor));
        Assert.Equal(people.Select((p, i) => p - fills[i].Amount.Minor), fills.Select(f => f.Cut.Minor));
    }

    [Fact]
    public void Later_ranks_get_nothing_once_one_is_cut() =>
        Assert.Equal([30m, 10m, 0m, 0m],
            Amounts(40m, Fixed(Ferry, 30m), Fixed(Market, 20m, rank: 2), Fixed(Van, 5m, rank: 3),
                Share(Boat, 10_000, rank: 4)));

    [Fact]
    public void A_share_is_of_what_the_earlier_ranks_leave() =>
        Assert.Equal([30m, 17.50m, 35m, 17.50m],
            Amounts(100m, Fixed(Ferry, 30m), Share(Market, 2_500, rank: 2), Share(Van, 5_000, rank: 2),
                Share(Boat, 10_000, rank: 3)));

    [Fact]
    public void Shares_of_one_rank_that_come_to_more_than_all_are_cut_in_proportion() =>
        Assert.Equal([60m, 30m], Amounts(90m, Share(Ferry, 10_000), Share(Market, 5_000)));

    [Fact]
    public void Amounts_are_rounded_up_to_their_step_and_shares_down()
    {
        var fills = FillShares.Of(Eur(200m),
            [Fixed(Ferry, 103.58m, roundTo: 5m), Share(Market, 5_000, rank: 2, roundTo: 5m)]);

        Assert.Equal([(Eur(105m), Eur(1.42m)), (Eur(45m), Eur(-2.50m))], fills.Select(f => (f.Amount, f.Rounding)));
    }

    [Fact]
    public void Rounding_up_gives_way_before_anything_is_cut()
    {
        // 103.58 + 42.10 are there, and 1.50 more: 1.42 of it rounds the first up, the second stays exact.
        var fills = FillShares.Of(Eur(147.18m),
            [Fixed(Ferry, 103.58m, roundTo: 5m), Fixed(Market, 42.10m, roundTo: 5m)]);

        Assert.Equal([Eur(105m), Eur(42.10m)], fills.Select(f => f.Amount));
        Assert.All(fills, f => Assert.Equal(Money.Zero, f.Cut));
    }

    [Fact]
    public void A_cut_rank_keeps_to_whole_steps_as_far_as_can_be()
    {
        // In proportion 49.20, 24.60 and 49.20; down to fives 45 and 20, with 8.80 to spare: a five for the second,
        // whom rounding took most, the rest for the one without a step.
        Assert.Equal([45m, 25m, 53m],
            Amounts(123m, Fixed(Ferry, 62m, roundTo: 5m), Fixed(Market, 31m, roundTo: 5m), Fixed(Van, 62m)));
        // 41.00 each in proportion: 40 each, then 3 that make no step.
        Assert.Equal([43m, 40m, 40m],
            Amounts(123m, Fixed(Ferry, 50m, roundTo: 5m), Fixed(Market, 50m, roundTo: 5m),
                Fixed(Van, 50m, roundTo: 5m)));
    }

    [Fact]
    public void A_step_that_is_just_what_is_needed_is_given_before_the_rest_goes_on()
    {
        // In proportion 3.47, 3.47 and 43.06; down to fives nothing, with 6.94 to spare: a five for the first, which is
        // all that it needs, and what makes no five for the one without a step.
        Assert.Equal([5m, 0m, 45m],
            Amounts(50m, Fixed(Ferry, 5m, roundTo: 5m), Fixed(Market, 5m, roundTo: 5m), Fixed(Van, 62m)));
    }

    [Fact]
    public void Nothing_is_filled_above_its_ceiling_even_for_a_whole_step()
    {
        var fills = FillShares.Of(Eur(100m),
            [Fixed(Ferry, 30m, ceiling: 50m, there: 37m, roundTo: 5m), Fixed(Market, 30m, ceiling: 50m, there: 62m)]);

        Assert.Equal([(Eur(10m), Eur(17m), Eur(-3m)), (Money.Zero, Eur(30m), Money.Zero)],
            fills.Select(f => (f.Amount, f.OverCeiling, f.Rounding)));
        Assert.All(fills, f => Assert.Equal(Money.Zero, f.Cut));
    }

    [Fact]
    public void The_bank_part_is_rounded_down()
    {
        var want = Fixed(Boat, 10.01m) with { BankPercent = 60 };

        Assert.Equal((Eur(4.01m), Eur(6m)), FillShares.Of(Eur(20m), [want]).Select(f => (f.Cash, f.Bank)).Single());
    }

    [Theory]
    [InlineData(35, 20, 15)]
    [InlineData(33, 15, 18)]
    [InlineData(3.01, 0, 3.01)]
    [InlineData(6, 5, 1)]
    public void Of_a_fill_that_is_divided_the_cash_part_is_in_whole_steps_and_the_bank_takes_the_rest(double amount,
        double cash, double bank)
    {
        var want = Fixed(Boat, (decimal)amount, roundTo: 5m) with { BankPercent = 50 };

        Assert.Equal((Eur((decimal)cash), Eur((decimal)bank), Money.Zero),
            FillShares.Of(Eur(100m), [want]).Select(f => (f.Cash, f.Bank, f.Rounding)).Single());
        // The same when it is cut.
        Assert.Equal((Eur((decimal)cash), Eur((decimal)bank)),
            FillShares.Of(Eur((decimal)amount), [want with { Amount = Eur(80m) }]).Select(f => (f.Cash, f.Bank))
                .Single());
    }

    [Fact]
    public void Cash_is_in_whole_notes_of_the_smallest_that_is_drawn_whatever_its_rule_says()
    {
        IEnumerable<(Money, Money, Money)> Fills(decimal available, params Want[] wants) =>
            FillShares.Of(Eur(available), wants, Eur(5m)).Select(f => (f.Cash, f.Bank, f.Cut));

        // No step, a step that is no multiple of the note, and the bank part of one that is divided.
        Assert.Equal(
            [(Eur(35m), Money.Zero, Money.Zero), (Eur(45m), Money.Zero, Money.Zero),
                (Eur(15m), Eur(12.75m), Money.Zero), (Money.Zero, Eur(7.01m), Money.Zero)],
            Fills(500m, Fixed(Ferry, 31.20m), Fixed(Market, 31.20m, roundTo: 7.50m),
                Fixed(Boat, 27.75m) with { BankPercent = 50 }, Fixed(Van, 7.01m, holding: Holding.Bank)));
        // Rounding up gives way, and what makes no note is left.
        Assert.Equal([(Eur(30m), Money.Zero, Money.Zero)], Fills(33m, Fixed(Ferry, 31.20m)));
        // A rank that is short: 16.50 each, down to 15.00; what makes no note goes to no later rank.
        Assert.Equal(
            [(Eur(15m), Money.Zero, Eur(5m)), (Eur(15m), Money.Zero, Eur(5m)), (Money.Zero, Money.Zero, Eur(3m))],
            Fills(33m, Fixed(Ferry, 20m), Fixed(Market, 20m), Fixed(Van, 3m, rank: 2, holding: Holding.Bank)));
        // The bank takes it where one of the rank is filled there.
        Assert.Equal([(Eur(15m), Money.Zero, Eur(5m)), (Money.Zero, Eur(18m), Eur(2m))],
            Fills(33m, Fixed(Ferry, 20m), Fixed(Van, 20m, holding: Holding.Bank)));
    }

    [Fact]
    public void Where_bills_take_more_than_the_pay_all_is_cut() =>
        Assert.Equal([(Money.Zero, Eur(25m))],
            FillShares.Of(Eur(-10m), [Fixed(Ferry, 25m)]).Select(f => (f.Amount, f.Cut)));

    private static readonly long?[] _steps = [null, null, 5, 500, 2_000];

    private static readonly Gen<Want> _want = Gen.Select(
        Gen.Int[0, 2], Gen.Long[0, 30_000], Gen.Int[1, 10_000], Gen.Long[-20_000, 60_000], Gen.Long[0, 50_000],
        Gen.Int[1, 4], Gen.Select(Gen.Int[0, 4].Select(i => _steps[i]), Gen.Int[0, 100]))
        .Select((kind, amount, share, ceiling, there, rank, more) => new Want(
            new FillRule("", kind == 0 ? FillRuleKind.Share : FillRuleKind.Fixed, null, share,
                ceiling > 0 ? new Money(ceiling) : null, Holding.Cash, rank, more.Item1 is { } s ? new Money(s) : null),
            new Money(amount), new Money(there), more.Item2));

    private static readonly long[] _notes = [1, 5, 500, 2_000];

    private static readonly Gen<(Money Available, List<Want> Wants, Money Note)> _payday =
        Gen.Select(Gen.Long[-20_000, 150_000], _want.List[1, 12], Gen.Int[0, 3])
        .Select((available, wants, note) =>
            (new Money(available), wants.Select((w, i) => w with { Rule = w.Rule with { Compartment = $"c{i:00}" } })
                .ToList(), new Money(_notes[note])));

    [Fact]
    public void However_a_payday_is_shared_out_the_rules_hold() => _payday.Sample(payday =>
    {
        var (available, wants, note) = payday;
        var fills = FillShares.Of(available, wants, note);

        Assert.Equal(wants.Select(w => w.Rule.Compartment).Order(), fills.Select(f => f.Compartment).Order());
        var toShare = available > Money.Zero ? available : Money.Zero;
        var filled = fills.Aggregate(Money.Zero, (sum, f) => sum + f.Amount);
        Assert.True(filled >= Money.Zero && filled <= toShare);
        var lastCut = int.MaxValue;
        foreach (var fill in fills)
        {
            var want = wants.Single(w => w.Rule.Compartment == fill.Compartment);
            Assert.True(fill.Cash >= Money.Zero && fill.Bank >= Money.Zero && fill.Cut >= Money.Zero
                && fill.OverCeiling >= Money.Zero);
            Assert.Equal(fill.Amount, fill.Wanted - fill.OverCeiling + fill.Rounding - fill.Cut);
            if (want.Rule.Ceiling is { } ceiling && fill.Amount > Money.Zero)
            {
                Assert.True(want.There + fill.Amount <= ceiling);
            }

            // Rounding is less than a step, either way, and what is divided is exact.
            Assert.True(fill.Cut > Money.Zero || Math.Abs(fill.Rounding.Minor) < Step(want, note));
            // Cash can be drawn: in whole notes, and in whole steps where the bank takes the rest.
            Assert.Equal(0, fill.Cash.Minor % (want.BankPercent > 0 || fill.Rounding > Money.Zero
                ? Multiple(want.Rule.RoundTo?.Minor ?? 1, note.Minor)
                : note.Minor));
            Assert.True((want.BankPercent < 100 || fill.Cash == Money.Zero)
                && (want.BankPercent > 0 || fill.Bank == Money.Zero));
            Assert.True(fill.Rank <= lastCut || fill.Amount == Money.Zero);
            lastCut = fill.Cut > Money.Zero ? Math.Min(lastCut, fill.Rank) : lastCut;
        }

        // Where anything is cut, nothing is left over that makes a note.
        Assert.True(lastCut == int.MaxValue || toShare - filled < note);
        // The cut rank is shared in proportion: without steps none is a whole minor unit off, with steps none is off by
        // the largest of them.
        foreach (var rank in fills.Where(f => f.Rank == lastCut).GroupBy(f => f.Rank))
        {
            var needs = rank.Select(f => f.Amount.Minor + f.Cut.Minor).ToList();
            var given = rank.Sum(f => f.Amount.Minor);
            var steps = rank.Select(f =>
                wants.Single(w => w.Rule.Compartment == f.Compartment).Rule.RoundTo?.Minor ?? 0)
                .Select(step => Math.Max(step, note.Minor > 1 ? note.Minor : 0)).ToList();
            var mostOff = steps.Sum() == 0 ? 1m : 1m + steps.Sum();
            Assert.All(rank.Zip(needs),
                f => Assert.True(decimal.Abs(
                    f.First.Amount.Minor - ((decimal)given * f.Second / needs.Sum())) < mostOff));
        }
    });

    private static long Step(Want want, Money note) => want.BankPercent switch
    {
        0 => Multiple(want.Rule.RoundTo?.Minor ?? 1, note.Minor),
        100 => want.Rule.RoundTo?.Minor ?? 1,
        _ => 1,
    };


    private static long Multiple(long one, long other) =>
        Enumerable.Range(1, (int)other).Select(n => n * one).First(multiple => multiple % other == 0);
}
