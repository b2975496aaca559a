using System.Collections.Immutable;
using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Plans;

/// <summary>What is refused of weekly amounts, saving plans, goals and funds, in which words.</summary>
public class RefusedPlansTests
{
    private static readonly DateOnly _december = new(2026, 12, 15);

    private static SetPlan Plans(string from, string compartment = Ferry, decimal amount = 25m) =>
        new(from, new Dictionary<string, decimal> { [compartment] = amount });

    private static SetSavingPlan Saves(decimal? first = 1m, decimal? growth = 1m, int? count = 5,
        IReadOnlyList<decimal>? amounts = null, DateOnly? from = null, string? every = null,
        string compartment = Van) => new(compartment, first, growth, count, amounts, null, from, every);

    private static AddGoal Goal(string label = "Mast", DateOnly? due = null, string? every = null,
        string compartment = Boat, params (DateOnly Due, decimal Amount)[] amounts) =>
        new(compartment, label, 240m, due ?? _december, every, amounts.ToDictionary(a => a.Due, a => a.Amount));

    [Fact]
    public void A_weekly_amount_that_cannot_be() => Given(
        new MonthClosed(new Month(new DateOnly(2026, 8, 1)), [], "")).Refuses(
        (Plans("2026-W36"), "month-closed", "from",
            "2026-W36 begins on 2026-08-31, in a month that is closed, and its plan stays: plan from 2026-W37 or "
                + "later, or reopen 2026-08 first."),
        (Plans("2026-W40", Van), "compartment-not-for-spending", "amounts.bakery-van",
            "'bakery-van' is put aside and not spent week by week: a weekly amount is planned for compartments with "
                + "the purpose spending."),
        (Plans("2026-W40", amount: -0.50m), "amount-negative", "amounts.ferry-fares",
            "`amounts.ferry-fares` is -0.50: a weekly amount is zero or more."),
        (Plans("next week"), "week-unreadable", "from",
            "`from` is a week written like 2026-W47, or by its first day like 2026-11-16."),
        (Plans("1899-W52"), "week-unknown", "from", "Weeks are told for the years 1900 to 9998."),
        (Plans("9999-W01"), "week-unknown", "from", "Weeks are told for the years 1900 to 9998."),
        (Plans("1899-12-31"), "week-unknown", "from", "Weeks are told for the years 1900 to 9998."),
        (Plans("2025-W53"), "week-unknown", "from",
            "By ISO 8601 the year 2025 has the weeks 2025-W01 to 2025-W52: 2025-W53 is none of them."),
        (Plans("2025-W00"), "week-unknown", "from",
            "By ISO 8601 the year 2025 has the weeks 2025-W01 to 2025-W52: 2025-W00 is none of them."),
        (Plans("2026-10-01"), "week-starts-elsewhere", "from",
            "2026-10-01 is a Thursday, and the household's weeks start on Monday: write 2026-W40 for the week it is "
                + "in, or 2026-W41 for the next."));

    [Fact]
    public void A_numbered_week_is_no_week_of_a_household_that_starts_it_elsewhere() =>
        Given(new HouseholdDescribed("Quay", "EUR", "Europe/Dublin", DayOfWeek.Sunday)).Refuses(
            (Plans("2026-W40"), "week-starts-elsewhere", "from",
                "2026-W40 is a week from Monday, and the household's weeks start on Sunday and are named by their "
                    + "first day: write 2026-09-27 or 2026-10-04."));

    [Fact]
    public void A_saving_plan_that_cannot_be() => Given().Refuses(
        (Saves(compartment: Ferry), "compartment-not-for-saving", "compartment",
            "'ferry-fares' has another purpose: steps are put aside in compartments with the purpose saving."),
        (Saves(from: new DateOnly(2056, 9, 25)), "from-too-far", "from", "`from` is within 30 years of today."),
        (Saves(from: new DateOnly(1996, 9, 23)), "from-too-far", "from", "`from` is within 30 years of today."),
        (Saves(first: null), "steps-missing", "first",
            "Send `first` and `count`, with `growth` if the steps grow; or `amounts`."),
        (Saves(first: 0m), "amount-not-positive", "first",
            "`first` is 0: write an amount above zero, and choose the kind of movement for its direction."),
        (Saves(growth: -0.5m), "growth-negative", "growth",
            "`growth` is -0.5: zero or more; list falling amounts in `amounts`."),
        (Saves(count: 0), "steps-out-of-range", "count", "`count` is the number of steps, 1 to 400."),
        (Saves(count: 401), "steps-out-of-range", "count", "`count` is the number of steps, 1 to 400."),
        (Saves(count: null), "steps-out-of-range", "count", "`count` is the number of steps, 1 to 400."),
        (Saves(9_999_999_999.99m, 0.01m, 2), "amount-too-large", "growth",
            "The last step would be more than one line carries, 9999999999.99 EUR."),
        (Saves(amounts: [1m]), "steps-twice", "amounts",
            "Send either `amounts`, or `first`, `growth` and `count`."),
        (Saves(null, null, 1, [1m]), "steps-twice", "amounts",
            "Send either `amounts`, or `first`, `growth` and `count`."),
        (Saves(null, 1m, null, [1m]), "steps-twice", "amounts",
            "Send either `amounts`, or `first`, `growth` and `count`."),
        (Saves(null, null, null, []), "steps-out-of-range", "amounts", "`amounts` lists 1 to 400 steps."),
        (Saves(null, null, null, [.. Enumerable.Repeat(1m, 401)]), "steps-out-of-range", "amounts",
            "`amounts` lists 1 to 400 steps."),
        (Saves(null, null, null, [1m, 0m]), "amount-not-positive", "amounts[1]",
            "`amounts[1]` is 0: write an amount above zero, and choose the kind of movement for its direction."),
        (Saves(every: "weekly"), "period-unreadable", "every",
            "`every` is an ISO 8601 duration of one unit: P1M for every month, P2W for every second week, P1Y for "
                + "every year, P10D for every tenth day."),
        (Saves(every: "P11Y"), "period-too-long", "every", "`every` is at most 10 years."));

    [Fact]
    public void Compartments_to_save_in_that_are_near_in_name_and_in_use_are_named() =>
        Assert.Equal(["ferry-fare"], Given(
            new CompartmentOpened("ferry-fare", "Ferry fare", "strongbox", Purpose.Saving),
            new CompartmentOpened("ferry-fores", "Ferry fores", "strongbox", Purpose.Saving),
            new CompartmentClosed("ferry-fores")).When(Saves(compartment: Ferry))
            .ThenRefused("compartment-not-for-saving", "compartment").Suggestions);

    [Fact]
    public void The_first_and_last_that_a_saving_plan_may_have()
    {
        Given().When(Saves(from: new DateOnly(2056, 9, 24))).ThenWritten();
        Given().When(Saves(from: new DateOnly(1996, 9, 24), growth: null, count: 1)).Then(new SavingPlanSet(Van,
            new SavingSteps(Eur(1m), Money.Zero, 1, [], null), new DateOnly(1996, 9, 24), "P1W"));
        Given().When(Saves(count: 400)).ThenWritten();
        Given().When(Saves(9_999_999_999.98m, 0.01m, 2)).ThenWritten();
        Given().When(Saves(null, null, null, [2m, 1m])).Then(new SavingPlanSet(Van,
            new SavingSteps(Money.Zero, Money.Zero, 2, [Eur(2m), Eur(1m)], null), Today, "P1W"));
        Given().When(Saves(null, null, null, [.. Enumerable.Repeat(1m, 400)])).ThenWritten();
    }

    [Theory]
    [InlineData("P3660D", "P3661D")]
    [InlineData("P520W", "P521W")]
    [InlineData("P120M", "P121M")]
    [InlineData("P10Y", "P11Y")]
    public void A_period_is_ten_years_at_most_in_each_unit(string longest, string longer)
    {
        Assert.Equal(longest, Period.Read(longest, "every").ToString());
        Assert.Equal(("period-too-long", "`every` is at most 10 years."),
            Assert.Throws<RefusalException>(() => Period.Read(longer, "every")).Refusal is var refused
                ? (refused.Code, refused.Detail) : default);
    }

    [Fact]
    public void A_goal_that_cannot_be() => Given(new GoalSet("hull", Boat, "Hull", Eur(240m), _december, null,
        ImmutableSortedDictionary<DateOnly, Money>.Empty, Today)).Refuses(
        (Goal(compartment: Van), "compartment-not-a-sinking-fund", "compartment",
            "'bakery-van' has another purpose: bills are saved for in compartments with the purpose sinkingFund."),
        (Goal("Hull"), "goal-taken", "label",
            "There is a goal 'hull' already: choose a label that differs in its letters or digits."),
        (Goal(due: Sept(23)), "due-before-today", "due",
            "2026-09-23 is before the household's today, 2026-09-24: write the next due date."),
        (Goal(due: new DateOnly(2056, 9, 25)), "due-too-late", "due",
            "2056-09-25 is more than 30 years ahead: write an earlier due date."),
        (Goal(amounts: (Sept(30), 1m)), "not-due", "amounts.2026-09-30",
            "No bill of 'mast' is due on 2026-09-30: it is due on 2026-12-15 only."),
        (Goal(every: "P1Y", amounts: (new DateOnly(2027, 12, 16), 1m)), "not-due", "amounts.2027-12-16",
            "No bill of 'mast' is due on 2027-12-16: it is due on 2026-12-15 and then every P1Y."),
        (Goal(every: "P1Y", amounts: (new DateOnly(2057, 12, 15), 1m)), "not-due", "amounts.2057-12-15",
            "No bill of 'mast' is due on 2057-12-15: it is due on 2026-12-15 and then every P1Y."),
        (Goal(amounts: (_december, 0m)), "amount-not-positive", "amounts.2026-12-15",
            "`amounts.2026-12-15` is 0: write an amount above zero, and choose the kind of movement for its "
                + "direction."),
        (Goal(every: "P1D", amounts: [.. Enumerable.Range(0, 501).Select(n => (_december.AddDays(n), 1m))]),
            "too-many-amounts", "amounts", "`amounts` names at most 500 due dates."),
        (new RemoveGoal("hul"), "goal-unknown", null, "There is no goal 'hul'."),
        (new ChangeGoal("mast", null, null, null, null, null), "goal-unknown", null, "There is no goal 'mast'."),
        (new ChangeGoal("hull", " ", null, null, null, null), "words-missing", "label",
            "`label` is needed: write a few words."),
        (new SetFundTerms(Van, 0, 0m), "compartment-not-a-sinking-fund", "compartment",
            "'bakery-van' has another purpose: bills are saved for in compartments with the purpose sinkingFund."),
        (new SetFundTerms(Boat, -1, 0m), "percent-out-of-range", "bankPercent",
            "`bankPercent` is how much of each contribution goes to the bank: a whole number from 0 to 100."),
        (new SetFundTerms(Boat, 0, 100.01m), "percent-out-of-range", "interestPercent",
            "`interestPercent` is 100.01: write what the bank pays in a year, in percent from 0 to 100 with at most "
                + "two decimals."),
        (new SetFundTerms(Boat, 0, -0.01m), "percent-out-of-range", "interestPercent",
            "`interestPercent` is -0.01: write what the bank pays in a year, in percent from 0 to 100 with at most "
                + "two decimals."),
        (new SetFundTerms(Boat, 0, 1.125m), "percent-out-of-range", "interestPercent",
            "`interestPercent` is 1.125: write what the bank pays in a year, in percent from 0 to 100 with at most "
                + "two decimals."));

    [Fact]
    public void The_first_and_last_that_a_goal_and_a_fund_may_have()
    {
        Given().When(Goal(due: Today)).ThenWritten();
        Given().When(Goal(due: new DateOnly(2056, 9, 24))).ThenWritten();
        Given().When(Goal(every: "P1D", amounts: [.. Enumerable.Range(0, 500).Select(n => (_december.AddDays(n), 1m))]))
            .ThenWritten();
        Given().When(Goal(every: "P1Y", amounts: (new DateOnly(2056, 12, 15), 1m))).ThenWritten();
        Given().When(new SetFundTerms(Boat, 100, 100m)).Then(new FundTermsSet(Boat, 100, 10_000));
        Given().When(new SetFundTerms(Boat, 0, 1.25m)).Then(new FundTermsSet(Boat, 0, 125));
        Given().When(new SetFundTerms(Boat, 0, 0m)).ThenNothing();
    }

    [Fact]
    public void So_many_goals_and_bills_and_no_more()
    {
        GoalSet Known(int n, string? every = null) => new($"goal-{n}", Boat, "Goal", Eur(1m), _december, every,
            ImmutableSortedDictionary<DateOnly, Money>.Empty, Today);

        Given([.. Enumerable.Range(1, 500).Select(n => Known(n))]).Refuses((Goal(), "too-many", null,
            "A household has at most 500 goals: remove one that is no longer saved for."));
        Given([.. Enumerable.Range(1, 499).Select(n => Known(n))]).When(Goal()).ThenWritten();
        // Each day for five years: some 1,750 bills of each, so that the twelfth is too many.
        Given([.. Enumerable.Range(1, 11).Select(n => Known(n, "P1D"))]).Refuses((Goal(every: "P1D"), "too-many",
            "every",
            "The goals of a household come to at most 20000 bills in 5 years: let this one come less often, or plan "
                + "what is paid so often as weekly spending."));
        Given([.. Enumerable.Range(1, 10).Select(n => Known(n, "P1D"))]).When(Goal(every: "P1D")).ThenWritten();
    }

    // What was said of single bills stays where such a bill is still due.
    [Fact]
    public void When_a_goal_comes_on_other_days_the_amounts_of_bills_that_are_due_stay()
    {
        var (next, after) = (new DateOnly(2027, 12, 15), new DateOnly(2028, 12, 15));
        var given = Given(new GoalSet("hull", Boat, "Hull", Eur(240m), _december, "P1Y",
            ImmutableSortedDictionary<DateOnly, Money>.Empty.Add(next, Eur(250m)).Add(after, Eur(260m)), Today));

        given.When(new ChangeGoal("hull", null, null, null, "P2Y", null)).Then(new GoalSet("hull", Boat, "Hull",
            Eur(240m), _december, "P2Y", ImmutableSortedDictionary<DateOnly, Money>.Empty.Add(after, Eur(260m)),
            Today));
        given.When(new ChangeGoal("hull", " Keel ", 9m, null, null, null)).Then(new GoalSet("hull", Boat, "Keel",
            Eur(9m), _december, "P1Y",
            ImmutableSortedDictionary<DateOnly, Money>.Empty.Add(next, Eur(250m)).Add(after, Eur(260m)), Today));
    }

    [Fact]
    public void A_fund_is_found_by_its_name_among_compartments()
    {
        Assert.Equal(Boat, Given().Book.SinkingFundNamed(Boat).Id);
        Assert.Equal("'bakery-van' has another purpose: <ListSinkingFunds> lists the compartments with the purpose "
            + "sinkingFund.", Assert.Throws<RefusalException>(() => Given().Book.SinkingFundNamed(Van)).Refusal.Detail
                .Spoken());
    }

    [Fact]
    public void A_plan_is_made_of_its_amounts_by_compartment()
    {
        var plan = Plan.Of([(Ferry, new PlannedAmount(Sept(7), Eur(1m), 8)), (Market, new(Sept(7), Eur(2m), 8)),
            (Ferry, new(Sept(14), Eur(3m), 9))]);

        Assert.Equal([Eur(1m), Eur(3m)], plan.Of(Ferry).Select(p => p.Amount));
        Assert.Equal((Eur(2m), Eur(3m)), (plan.For(Market, Sept(28))!.Value.Amount,
            plan.For(Ferry, Sept(14))!.Value.Amount));
    }

    // A plan set up from a file again is the same where all of it is: the steps, their order, the first day, how often.
    [Fact]
    public void A_saving_plan_is_set_anew_where_anything_differs()
    {
        SetUp File(SetSavingPlan plan) => new() { SavingPlans = [plan] };
        var plan = new SetSavingPlan(Van, 1m, 2m, 5, null, 7, Today, "P1W");
        var listed = new SetSavingPlan(Van, null, null, null, [2m, 1m], null, Today, "P1W");
        var given = Given().When(File(plan)).ThenWritten();

        given.When(File(plan)).ThenNothing();
        Assert.All(
            [
                plan with { First = 2m }, plan with { Growth = 1m }, plan with { Count = 6 }, plan with { Seed = 8 },
                plan with { From = Today.AddDays(1) }, plan with { Every = "P1M" }, listed,
            ],
            (SetSavingPlan other) => given.When(File(other)).ThenWritten());
        var inOrder = Given().When(File(listed)).ThenWritten();
        inOrder.When(File(listed)).ThenNothing();
        inOrder.When(File(listed with { Amounts = [1m, 2m] })).ThenWritten();
        inOrder.When(File(plan)).ThenWritten();
    }
}
