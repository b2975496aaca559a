using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Movements;

public class SpendTests
{
    private static RecordSpend SpendFerry(decimal amount, DateOnly? on = null, Holding holding = Holding.Cash) =>
        new(Ferry, holding, amount, on, "day ticket");

    [Fact]
    public void A_spend_leaves_its_compartment()
    {
        var asked = Given(Fill(Ferry, 40m)).When(SpendFerry(12.50m));

        asked.Then(Spend(Ferry, 12.50m, description: "day ticket"));
        asked.ThenHolds((Cash(Ferry), 27.50m));
    }

    [Fact]
    public void The_last_cent_can_be_spent() =>
        Given(Fill(Ferry, 40m)).When(SpendFerry(40m)).ThenHolds((Cash(Ferry), 0m));

    [Fact]
    public void A_cent_more_than_is_there_is_refused_with_what_is_there_and_missing_and_who_could_cover_it()
    {
        var refusal = Given(Fill(Ferry, 40m), Fill(Market, 0.01m), Fill(Van, 5m), Fill(Boat, 5m))
            .When(SpendFerry(40.01m))
            .ThenRefused("not-enough", "amount");

        Assert.Equal(RefusalSort.Conflict, refusal.Sort);
        Assert.Equal((Cash(Ferry), Eur(40m), Eur(0.01m), Today),
            (refusal.Shortage!.Place, refusal.Shortage!.Available, refusal.Shortage!.Missing, refusal.Shortage!.On));
        Assert.Equal([new Giver(Van, Eur(5m)), new Giver(Boat, Eur(5m)), new Giver(Market, Eur(0.01m))],
            refusal.Shortage!.CouldGive);
        Assert.Contains("The cash of 'ferry-fares' holds 40.00 EUR", refusal.Detail);
        Assert.Contains("0.01 EUR is missing", refusal.Detail);
    }

    [Fact]
    public void Covers_are_named_fullest_first_then_by_name_and_without_those_that_have_too_little()
    {
        var refusal = Given(Fill(Ferry, 10m), Fill(Market, 29.99m), Fill(Van, 30m), Fill(Boat, 30m))
            .When(SpendFerry(40m)).ThenRefused("not-enough", "amount");

        Assert.Equal([new Giver(Van, Eur(30m)), new Giver(Boat, Eur(30m))], refusal.Shortage!.CouldGive);
        Assert.Contains("'bakery-van' could give it", refusal.Detail);
    }

    [Fact]
    public void Five_covers_are_named_at_most()
    {
        var more = Enumerable.Range(1, 6).Select(i => $"jar-{i}").ToList();
        var refusal = Given([.. more.Select(jar => new CompartmentOpened(jar, jar, "strongbox", Purpose.Saving)),
            .. more.Select(jar => Fill(jar, 20m))])
            .When(SpendFerry(20m))
            .ThenRefused("not-enough", "amount");

        Assert.Equal(["jar-1", "jar-2", "jar-3", "jar-4", "jar-5"],
            refusal.Shortage!.CouldGive.Select(c => c.Compartment));
    }

    [Fact]
    public void A_cover_holds_money_in_the_same_holding_and_is_open()
    {
        var refusal = Given(Fill(Van, 50m, holding: Holding.Bank), new CompartmentClosed(Market)).When(SpendFerry(20m))
            .ThenRefused("not-enough", "amount");

        Assert.Empty(refusal.Shortage!.CouldGive);
        Assert.Contains("No other compartment could give it", refusal.Detail);
    }

    [Fact]
    public void Money_in_the_bank_is_not_spent_as_cash() =>
        Given(Fill(Ferry, 40m, holding: Holding.Bank)).When(SpendFerry(1m)).ThenRefused("not-enough", "amount");

    [Fact]
    public void A_bank_part_does_not_go_below_zero_either() =>
        Given(Fill(Ferry, 40m, holding: Holding.Bank)).When(SpendFerry(40.01m, holding: Holding.Bank))
            .ThenRefused("not-enough", "amount");

    [Fact]
    public void A_spend_before_the_money_came_is_refused_though_it_is_there_today()
    {
        var refusal = Given(Fill(Ferry, 40m, Sept(10))).When(SpendFerry(10m, Sept(9)))
            .ThenRefused("not-enough", "amount");

        Assert.Equal((Eur(0m), Eur(10m), Sept(9)),
            (refusal.Shortage!.Available, refusal.Shortage!.Missing, refusal.Shortage!.On));
    }

    [Fact]
    public void A_spend_on_the_day_the_money_came_is_written() =>
        Given(Fill(Ferry, 40m, Sept(10))).When(SpendFerry(10m, Sept(10)))
            .Then(Spend(Ferry, 10m, Sept(10), description: "day ticket"));

    [Fact]
    public void A_back_dated_spend_that_would_bring_a_later_day_below_zero_is_refused_and_names_that_day()
    {
        var refusal = Given(Fill(Ferry, 40m, Sept(1)), Spend(Ferry, 35m, Sept(10)), Fill(Ferry, 40m, Sept(20)))
            .When(SpendFerry(10m, Sept(5)))
            .ThenRefused("not-enough", "amount");

        Assert.Equal((Eur(5m), Eur(5m), Sept(10)),
            (refusal.Shortage!.Available, refusal.Shortage!.Missing, refusal.Shortage!.On));
        Assert.Contains("closes 2026-09-10 at 5.00 EUR", refusal.Detail);
        Assert.Contains("2026-09-05", refusal.Detail);
    }

    [Fact]
    public void A_back_dated_spend_may_take_what_the_leanest_later_day_has() =>
        Given(Fill(Ferry, 40m, Sept(1)), Spend(Ferry, 35m, Sept(10)), Fill(Ferry, 40m, Sept(20)))
            .When(SpendFerry(5m, Sept(5)))
            .ThenHolds((Cash(Ferry), 40m));

    [Fact]
    public void A_cover_must_have_the_money_on_that_day_and_every_day_after()
    {
        var refusal = Given(Fill(Van, 50m, Sept(1)), Spend(Van, 45m, Sept(20)), Fill(Boat, 10m, Sept(1)))
            .When(SpendFerry(10m, Sept(5))).ThenRefused("not-enough", "amount");

        Assert.Equal([new Giver(Boat, Eur(10m))], refusal.Shortage!.CouldGive);
    }

    [Fact]
    public void An_amount_a_day_and_a_compartment_are_checked_as_for_every_movement()
    {
        var book = Given(Fill(Ferry, 40m));

        book.When(SpendFerry(0m)).ThenRefused("amount-not-positive", "amount");
        book.When(SpendFerry(0.005m)).ThenRefused("too-many-decimals", "amount");
        book.When(SpendFerry(1m, Sept(25))).ThenRefused("after-today", "occurredOn");
        book.When(new RecordSpend("market-day", Holding.Cash, 1m, null, null))
            .ThenRefused("compartment-unknown", "compartment");
    }
}
