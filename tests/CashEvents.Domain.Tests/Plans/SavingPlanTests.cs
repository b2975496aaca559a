using CsCheck;
using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Plans;

public class SavingPlanTests
{
    private static readonly long _planLine = FirstLine;

    private static SavingPlanSet Plan(decimal first = 1m, decimal growth = 1m, int count = 4, long? seed = null) =>
        new(Van, new SavingSteps(Eur(first), Eur(growth), count, [], seed), Sept(20), "P1W");

    private static SetSavingPlan Set(decimal? first = 1m, decimal? growth = 1m, int? count = 4,
        IReadOnlyList<decimal>? amounts = null, long? seed = null, string compartment = Van, string? every = null) =>
        new(compartment, first, growth, count, amounts, seed, Sept(20), every);

    private static DoSavingStep Step(string compartment = Van) => new(compartment, Holding.Cash, null, null);

    private static Filled Done(int number, decimal amount, long? plan = null) =>
        Fill(Van, amount) with { Step = new DoneStep(plan ?? _planLine, number) };

    [Fact]
    public void Steps_are_done_one_after_another_each_a_fill_of_its_amount()
    {
        var given = Given().When(Set()).Then(Plan());

        Assert.Equal([new SavingStep(1, Sept(20), Eur(1m)), new(2, Sept(27), Eur(2m)),
            new(3, new(2026, 10, 4), Eur(3m)), new(4, new(2026, 10, 11), Eur(4m))], given.Book.SavingPlans[Van].All());
        var done = given.When(Step()).Then(Done(1, 1m)).When(Step()).Then(Done(2, 2m)).When(Step()).Then(Done(3, 3m))
            .When(Step()).Then(Done(4, 4m));
        done.When(Step()).ThenRefused("saving-plan-done");
        Assert.Equal(Eur(10m), done.Book.Compartments[Van].Cash);
    }

    [Fact]
    public void A_step_that_is_undone_comes_next()
    {
        var given = Given(Plan(), Done(1, 1m), Done(2, 2m));

        given.When(new ReverseLine(_planLine + 1, Done(1, 1m), "wrong"))
            .Then(Reversed(_planLine + 1, Done(1, 1m)) with { Step = new DoneStep(_planLine, 1) })
            .When(Step()).Then(Done(1, 1m))
            .When(Step()).Then(Done(3, 3m));
    }

    [Fact]
    public void Any_open_step_can_be_done_and_the_next_is_the_first_that_is_open()
    {
        var given = Given(Plan()).When(Step() with { Number = 3 }).Then(Done(3, 3m));

        Assert.Equal("step 1", given.When(Step() with { Number = 3 })
            .ThenRefused("saving-step-done", "number").Detail[^7..^1]);
        given.When(Step() with { Number = 0 }).ThenRefused("step-unknown", "number");
        given.When(Step() with { Number = 5 }).ThenRefused("step-unknown", "number");
        given.When(Step()).Then(Done(1, 1m)).When(Step()).Then(Done(2, 2m)).When(Step()).Then(Done(4, 4m))
            .When(Step() with { Number = 4 }).ThenRefused("saving-plan-done");
    }

    [Fact]
    public void A_step_can_be_taken_from_a_compartment_by_a_transfer_and_undone()
    {
        var step = Step() with { From = Cash(Market), Number = 2 };
        var moved = Transfer(Cash(Market), Cash(Van), 2m) with { Step = new DoneStep(_planLine, 2) };
        var given = Given(Plan(), Fill(Market, 5m));

        var done = given.When(step).Then(moved);
        Assert.Equal((Eur(3m), Eur(2m)), (done.Book.Compartments[Market].Cash, done.Book.Compartments[Van].Cash));
        Assert.Equal([2], done.Book.SavingPlans[Van].Done);
        var undone = done.When(new ReverseLine(_planLine + 2, moved, "wrong"))
            .Then(Reversed(_planLine + 2, moved) with { Step = new DoneStep(_planLine, 2) });
        Assert.Empty(undone.Book.SavingPlans[Van].Done);
        // From the bank, and into it.
        Given(Plan(), Fill(Market, 5m, holding: Holding.Bank))
            .When(step with { From = Bank(Market), Holding = Holding.Bank })
            .Then(Transfer(Bank(Market), Bank(Van), 2m) with { Step = new DoneStep(_planLine, 2) });
        // Undone when another plan stands in its stead.
        Given(Plan(), Fill(Market, 5m), moved, Plan(growth: 0m)).When(new ReverseLine(_planLine + 2, moved, "wrong"))
            .Then(Reversed(_planLine + 2, moved) with { Step = new DoneStep(_planLine, 2) });
    }

    [Fact]
    public void A_step_is_not_taken_from_where_it_is_not()
    {
        var step = Step() with { From = Cash(Market) };

        var wanting = Given(Plan(first: 6m), Fill(Market, 5m), Fill(Ferry, 7m)).When(step)
            .ThenRefused("not-enough", "from");
        Assert.Equal([Ferry], wanting.Shortage!.CouldGive.Select(c => c.Compartment));
        Given(Plan(), Fill(Van, 5m)).When(step with { From = Cash(Van) }).ThenRefused("step-from-itself", "from");
        Given(Plan(), Fill(Van, 5m, holding: Holding.Bank)).When(step with { From = Bank(Van) })
            .ThenRefused("step-from-itself", "from");
        Given(Plan()).When(step with { From = Cash("market") }).ThenRefused("compartment-unknown", "from.compartment");
        Given(Plan(), Fill(Market, 5m), new HandedOver(Market, "partner", Eur(5m), Today, "")).When(step)
            .ThenRefused("carried-by-another", "carried");
    }

    [Fact]
    public void Another_plan_counts_its_steps_anew_and_knows_nothing_of_the_earlier_ones()
    {
        var given = Given(Plan(), Done(1, 1m), Plan(growth: 0m));

        given.When(new ReverseLine(_planLine + 1, Done(1, 1m), "wrong"))
            .Then(Reversed(_planLine + 1, Done(1, 1m)) with { Step = new DoneStep(_planLine, 1) })
            .When(Step()).Then(Done(1, 1m, _planLine + 2));
    }

    /// <summary>1 + 2 + … + n = n(n+1)/2, the triangular numbers.</summary>
    [Fact]
    public void Any_steps_that_grow_by_their_first_come_to_the_triangular_number() =>
    Gen.Int[1, SavingSteps.Most].Sample(n =>
        Assert.Equal(n * (n + 1) / 2,
            new SavingSteps(new Money(1), new Money(1), n, [], null).Amounts().Sum(a => a.Minor)));

    [Fact]
    public void Any_seed_gives_the_same_amounts_in_the_same_order_each_time() =>
    Gen.Select(Gen.Long, Gen.Int[1, SavingSteps.Most]).Sample((seed, n) =>
    {
        var steps = new SavingSteps(new Money(5), new Money(3), n, [], seed);

        Assert.Equal(steps.Amounts(), steps.Amounts());
        Assert.Equal((steps with { Seed = null }).Amounts(), steps.Amounts().Order());
    });

    /// <summary>
    /// Numbers that the published C code of SplitMix64 gives for the seed 1234567, as listed on Rosetta Code; from
    /// memory.
    /// </summary>
    [Fact]
    public void The_generator_is_SplitMix64()
    {
        ulong[] published = [6457827717110365317, 3203168211198807973, 9817491932198370423, 4593380528125082431,
            16408922859458223821];
        var numbers = new SplitMix64(1234567);

        Assert.Equal(published, Enumerable.Range(0, 5).Select(_ => numbers.Next()));
    }

    [Fact]
    public void Each_order_of_three_comes_about_as_often_as_another()
    {
        var orders = Enumerable.Range(0, 6_000).Select(seed =>
        {
            var values = Enumerable.Range(1, 3).ToArray();
            new SplitMix64(seed).Shuffle(values);
            return string.Concat(values);
        }).CountBy(o => o).ToList();

        Assert.Equal(6, orders.Count);
        // A thousand each are expected, with a standard deviation of 29.
        Assert.All(orders, o => Assert.InRange(o.Value, 850, 1_150));
    }

    [Fact]
    public void Plans_that_do_not_fit_are_refused()
    {
        Given().When(Set(compartment: Ferry)).ThenRefused("compartment-not-for-saving", "compartment");
        Given().When(Set(compartment: "van")).ThenRefused("compartment-unknown", "compartment");
        Given().When(Set(first: null)).ThenRefused("steps-missing", "first");
        Given().When(Set(first: 0m)).ThenRefused("amount-not-positive", "first");
        Given().When(Set(growth: -1m)).ThenRefused("growth-negative", "growth");
        Given().When(Set(growth: 9_999_999_999m)).ThenRefused("amount-too-large", "growth");
        Given().When(Set(count: 401)).ThenRefused("steps-out-of-range", "count");
        Given().When(Set(count: null)).ThenRefused("steps-out-of-range", "count");
        Given().When(Set(amounts: [1m])).ThenRefused("steps-twice", "amounts");
        Given().When(Set(null, null, null, [])).ThenRefused("steps-out-of-range", "amounts");
        Given().When(Set(null, null, null, [1m, 0m])).ThenRefused("amount-not-positive", "amounts[1]");
        Given().When(Set(every: "weekly")).ThenRefused("period-unreadable", "every");
        Given().When(new SetSavingPlan(Van, 1m, null, 1, null, null, new(2057, 1, 1), null))
            .ThenRefused("from-too-far", "from");
        Given().When(Step()).ThenRefused("saving-plan-unknown");
    }

    [Fact]
    public void Every_note_of_one_value_in_a_count_is_set_aside_once()
    {
        var count = Count(Ferry, 48m,
            48m) with
        { Pieces = [new Pieces(Eur(10m), 3), new Pieces(Eur(5m), 3), new Pieces(Eur(1m), 3)] };
        var line = FirstLine + 1;
        SetAside Fives(decimal value = 5m, string to = Van, long? of = null, CountTaken? written = null,
            DateOnly? on = null) => new(of ?? line, written ?? count, value, to, on, null);
        var fives = Transfer(Cash(Ferry), Cash(Van), 15m) with { SetsAside = new CountedPieces(line, Eur(5m)) };
        var given = Given(Fill(Ferry, 48m), count);

        var aside = given.When(Fives()).Then(fives);
        aside.When(Fives()).ThenNothing();
        aside.When(Fives(1m)).Then(
            Transfer(Cash(Ferry), Cash(Van), 3m) with { SetsAside = new CountedPieces(line, Eur(1m)) });
        aside.When(new ReverseLine(line + 1, fives, "wrong"))
            .Then(Reversed(line + 1, fives) with { SetsAside = new CountedPieces(line, Eur(5m)) }).When(Fives())
            .Then(fives);

        given.When(Fives(2m)).ThenRefused("denomination-not-counted", "denomination");
        given.When(Fives(to: Market)).ThenRefused("compartment-not-for-saving", "to");
        given.When(Fives(on: Sept(23))).ThenRefused("before-count", "occurredOn");
        Given(Fill(Ferry, 48m), count, count).When(Fives()).ThenRefused("count-replaced");
        var wanting = Given(Fill(Ferry, 48m), Fill(Van, 20m), count, Spend(Ferry, 40m)).When(Fives(of: line + 1))
            .ThenRefused("not-enough", "denomination");
        Assert.Empty(wanting.Shortage!.CouldGive);
        var total = Count(Ferry, 48m, 48m);
        Given(Fill(Ferry, 48m), total).When(Fives(written: total))
            .ThenRefused("denomination-not-counted", "denomination");
    }
}
