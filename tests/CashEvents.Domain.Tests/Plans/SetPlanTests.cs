using System.Collections.Immutable;
using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Plans;

public class SetPlanTests
{
    private static readonly DateOnly _w36 = new(2026, 8, 31);
    private static readonly DateOnly _w40 = new(2026, 9, 28);
    private static readonly DateOnly _w44 = new(2026, 10, 26);

    private static SetPlan Set(string from, params (string Compartment, decimal Amount)[] amounts) =>
        new(from, amounts.ToDictionary(a => a.Compartment, a => a.Amount));

    private static PlanSet Planned(DateOnly from, params (string Compartment, decimal Amount)[] amounts) =>
        new(from, amounts.ToImmutableSortedDictionary(a => a.Compartment, a => Eur(a.Amount), StringComparer.Ordinal));

    [Theory]
    [InlineData("2026-W44")]
    [InlineData("2026-10-26")]
    public void Weekly_amounts_hold_from_the_week_named(string from) =>
        Given().When(Set(from, (Market, 45m), (Ferry, 25m))).Then(Planned(_w44, (Ferry, 25m), (Market, 45m)));

    [Fact]
    public void The_latest_amount_that_began_is_in_force()
    {
        var plan = Given(Planned(_w40, (Ferry, 25m)), Planned(_w36, (Ferry, 20m), (Market, 40m)),
            Planned(_w44, (Ferry, 0m))).Book.Plan;

        Assert.Null(plan.For(Ferry, _w36.AddDays(-7)));
        Assert.Equal((Eur(20m), Eur(40m)), (plan.For(Ferry, _w36)!.Value.Amount, plan.For(Market, _w36)!.Value.Amount));
        Assert.Equal(Eur(20m), plan.For(Ferry, _w40.AddDays(-7))!.Value.Amount);
        Assert.Equal((Eur(25m), Eur(40m)), (plan.For(Ferry, _w40)!.Value.Amount, plan.For(Market, _w40)!.Value.Amount));
        Assert.Equal(Eur(0m), plan.For(Ferry, _w44)!.Value.Amount);
        Assert.Null(plan.For(Van, _w44));
    }

    [Fact]
    public void Setting_a_week_again_stands_in_the_stead_of_what_was_set_for_it_and_leaves_later_weeks()
    {
        var plan = Given(Planned(_w36, (Ferry, 20m)), Planned(_w44, (Ferry, 30m))).When(Set("2026-W36", (Ferry, 22m)))
            .Then(Planned(_w36, (Ferry, 22m))).Book.Plan;

        Assert.Equal([(_w36, Eur(22m)), (_w44, Eur(30m))], plan.Of(Ferry).Select(a => (a.From, a.Amount)));
    }

    [Fact]
    public void What_is_set_for_that_week_already_is_not_written_again()
    {
        var book = Given(Planned(_w36, (Ferry, 20m), (Market, 40m)));

        book.When(Set("2026-W36", (Ferry, 20m), (Market, 40m))).ThenNothing();
        book.When(Set("2026-W36", (Ferry, 20m), (Market, 41m))).Then(Planned(_w36, (Market, 41m)));
        book.When(Set("2026-W37", (Ferry, 20m))).Then(Planned(_w36.AddDays(7), (Ferry, 20m)));
    }

    [Fact]
    public void Past_and_future_weeks_can_be_planned()
    {
        Given().When(Set("2020-W53", (Ferry, 20m))).Then(Planned(new DateOnly(2020, 12, 28), (Ferry, 20m)));
        Given().When(Set("2031-W01", (Ferry, 20m))).Then(Planned(new DateOnly(2030, 12, 30), (Ferry, 20m)));
    }

    [Fact]
    public void Nothing_a_week_is_a_plan_too() =>
    Given().When(Set("2026-W44", (Ferry, 0m))).Then(Planned(_w44, (Ferry, 0m)));

    [Fact]
    public void Only_compartments_in_use_for_spending_are_planned()
    {
        Assert.Equal([Ferry], Given().When(Set("2026-W44", ("ferry-fare", 25m)))
            .ThenRefused("compartment-unknown", "amounts.ferry-fare").Suggestions);
        Given(new CompartmentClosed(Ferry)).When(Set("2026-W44", (Market, 1m), (Ferry, 25m)))
            .ThenRefused("compartment-closed", "amounts.ferry-fares");
        Given().When(Set("2026-W44", (Boat, 25m)))
            .ThenRefused("compartment-not-for-spending", "amounts.boat-insurance");
        Given().When(Set("2026-W44", (Van, 25m))).ThenRefused("compartment-not-for-spending", "amounts.bakery-van");
        Assert.Equal(
            ["bakery-vans"],
            Given(new CompartmentOpened("bakery-vans", "Bakery vans", "market-bag", Purpose.Spending))
                .When(Set("2026-W44", (Van, 25m)))
                .ThenRefused("compartment-not-for-spending", "amounts.bakery-van").Suggestions);
    }

    [Fact]
    public void An_amount_is_zero_or_more_and_exact()
    {
        Given().When(Set("2026-W44", (Ferry, -0.01m))).ThenRefused("amount-negative", "amounts.ferry-fares");
        Given().When(Set("2026-W44", (Ferry, 25.001m))).ThenRefused("too-many-decimals", "amounts.ferry-fares");
        Given().When(Set("2026-W44", (Ferry, 10_000_000_000m))).ThenRefused("amount-too-large", "amounts.ferry-fares");
        Given().When(Set("2026-W44", (Ferry, 9_999_999_999.99m)))
            .Then(new PlanSet(_w44, ImmutableSortedDictionary<string, Money>.Empty.Add(Ferry, Money.Largest)));
    }

    [Fact]
    public void A_household_without_a_currency_names_it_first() =>
        Given(new HouseholdDescribed("Harbour Row", null, "Europe/Dublin", DayOfWeek.Monday))
            .When(Set("2026-W44", (Ferry, 25m))).ThenRefused("currency-missing");

    [Fact]
    public void The_first_day_decides_whether_a_week_is_in_a_closed_month()
    {
        var closed = Given(new MonthClosed(new Month(Sept(1)), [], ""));

        Assert.Contains("2026-W41",
            closed.When(Set("2026-W40", (Ferry, 25m)), new DateOnly(2026, 10, 8))
                .ThenRefused("month-closed", "from").Detail);
        closed.When(Set("2026-W36", (Ferry, 25m)), new DateOnly(2026, 10, 8)).ThenRefused("month-closed", "from");
        closed.When(Set("2026-W41", (Ferry, 25m)), new DateOnly(2026, 10, 8))
            .Then(Planned(_w40.AddDays(7), (Ferry, 25m)));
    }

    [Fact]
    public void A_week_is_named_as_the_households_calendar_names_it()
    {
        var sundays = Given(new HouseholdDescribed("Harbour Row", "EUR", "Europe/Dublin", DayOfWeek.Sunday));

        sundays.When(Set("2026-10-25", (Ferry, 25m))).Then(Planned(new DateOnly(2026, 10, 25), (Ferry, 25m)));
        Assert.Equal(["2026-10-25", "2026-11-01"],
            sundays.When(Set("2026-W44", (Ferry, 25m))).ThenRefused("week-starts-elsewhere", "from").Suggestions);
        Assert.Equal(["2026-W43", "2026-W44"],
            Given().When(Set("2026-10-25", (Ferry, 25m))).ThenRefused("week-starts-elsewhere", "from").Suggestions);
        Given().When(Set("2025-W53", (Ferry, 25m))).ThenRefused("week-unknown", "from");
    }

    [Fact]
    public void Lines_name_compartments_in_one_order_whatever_the_order_sent() =>
        Assert.Equal(
            Written.Lines(Set("2026-W44", (Market, 45m), (Ferry, 25m)).Decide(Given().Book, Today)),
            Written.Lines(Set("2026-W44", (Ferry, 25m), (Market, 45m)).Decide(Given().Book, Today)));
}
