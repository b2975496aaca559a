using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Counts;

public class SettlementTests
{
    // The count is the second line after the opening in every book here.
    private static readonly long TheCount = FirstLine + 1;

    private static SettleCount Agree(DateOnly? on = null, long? count = null) => new(count ?? TheCount, " agreed ", on);

    [Fact]
    public void A_short_leaves_the_compartment()
    {
        var asked = Given(Fill(Ferry, 40m), Count(Ferry, 40m, 38.50m)).When(Agree());

        asked.Then(Settle(TheCount, Ferry, -1.50m));
        asked.ThenHolds((Cash(Ferry), 38.50m));
    }

    [Fact]
    public void An_over_comes_into_the_compartment() =>
        Given(Fill(Ferry, 40m), Count(Ferry, 40m, 41m)).When(Agree()).ThenHolds((Cash(Ferry), 41m));

    [Fact]
    public void A_bank_part_is_settled_in_the_bank() =>
        Given(Fill(Ferry, 40m, holding: Holding.Bank), Count(Ferry, 40m, 39m, holding: Holding.Bank)).When(Agree())
            .Then(Settle(TheCount, Ferry, -1m, holding: Holding.Bank));

    [Fact]
    public void A_count_is_settled_once() =>
        Given(Fill(Ferry, 40m), Count(Ferry, 40m, 38m)).When(Agree()).Then(Settle(TheCount, Ferry, -2m)).When(Agree())
            .ThenRefused("count-settled");

    [Fact]
    public void A_count_that_agrees_leaves_nothing_to_settle() =>
        Given(Fill(Ferry, 40m), Count(Ferry, 40m, 40m)).When(Agree()).ThenRefused("nothing-to-settle");

    [Fact]
    public void A_count_that_was_never_taken_is_not_found()
    {
        var refusal = Given(Fill(Ferry, 40m), Count(Ferry, 40m, 38m)).When(Agree(count: TheCount - 1))
            .ThenRefused("count-not-open");

        Assert.Equal(RefusalSort.NotFound, refusal.Sort);
    }

    [Fact]
    public void A_later_count_of_the_same_place_stands_in_the_stead_of_the_first()
    {
        var book = Given(Fill(Ferry, 40m), Count(Ferry, 40m, 38m), Count(Ferry, 40m, 39m));

        book.When(Agree()).ThenRefused("count-not-open");
        book.When(Agree(count: TheCount + 1)).Then(Settle(TheCount + 1, Ferry, -1m));
    }

    [Fact]
    public void Counts_of_other_places_do_not_stand_in_its_stead() =>
        Given(Fill(Ferry, 40m), Count(Ferry, 40m, 38m), Count(Ferry, 0m, 3m, holding: Holding.Bank),
            Count(Market, 0m, 1m)).When(Agree()).Then(Settle(TheCount, Ferry, -2m));

    [Fact]
    public void A_reason_is_needed()
    {
        var book = Given(Fill(Ferry, 40m), Count(Ferry, 40m, 38m));

        book.When(new SettleCount(TheCount, "  ", null)).ThenRefused("words-missing", "reason");
        book.When(new SettleCount(TheCount, new string('a', 201), null)).ThenRefused("words-too-long", "reason");
    }

    [Fact]
    public void A_count_is_settled_on_its_day_or_later_up_to_today()
    {
        var book = Given(Fill(Ferry, 40m, Sept(1)), Count(Ferry, 40m, 38m, Sept(10)));

        book.When(Agree(Sept(9))).ThenRefused("before-count", "occurredOn");
        book.When(Agree(Sept(10))).Then(Settle(TheCount, Ferry, -2m, Sept(10)));
        book.When(Agree()).Then(Settle(TheCount, Ferry, -2m, Today));
        book.When(Agree(Sept(25))).ThenRefused("after-today", "occurredOn");
    }

    [Fact]
    public void A_short_larger_than_what_is_there_by_now_is_refused()
    {
        var refusal = Given(Fill(Ferry, 40m, Sept(1)), Count(Ferry, 40m, 30m, Sept(10)), Spend(Ferry, 35m, Sept(12)))
            .When(Agree()).ThenRefused("not-enough", "occurredOn");

        Assert.Equal((Eur(5m), Eur(5m)), (refusal.Shortage!.Available, refusal.Shortage!.Missing));
    }

    [Fact]
    public void A_short_that_would_bring_a_later_day_below_zero_is_refused_and_names_that_day()
    {
        var refusal = Given(Fill(Ferry, 40m, Sept(1)), Count(Ferry, 40m, 30m, Sept(10)), Spend(Ferry, 35m, Sept(12)),
            Fill(Ferry, 40m, Sept(13)))
            .When(Agree(Sept(10)))
            .ThenRefused("not-enough", "occurredOn");

        Assert.Equal(Sept(12), refusal.Shortage!.On);
    }

    [Fact]
    public void A_closed_compartment_is_not_settled() =>
        Given(Fill(Ferry, 40m), Count(Ferry, 40m, 38m), Spend(Ferry, 40m), new CompartmentClosed(Ferry)).When(Agree())
            .ThenRefused("compartment-closed", "compartment");

    [Fact]
    public void A_line_found_later_but_dated_before_the_count_explains_its_part_of_the_difference() =>
        Given(Fill(Ferry, 40m, Sept(1)), Count(Ferry, 40m, 37m, Sept(10)), Spend(Ferry, 2m, Sept(9))).When(Agree())
            .Then(Settle(TheCount, Ferry, -1m));

    [Fact]
    public void A_forgotten_ticket_may_explain_all_of_it() =>
        Given(Fill(Ferry, 40m, Sept(1)), Count(Ferry, 40m, 37m, Sept(10)), Spend(Ferry, 3m, Sept(9))).When(Agree())
            .ThenRefused("nothing-to-settle");

    [Fact]
    public void Or_turn_a_short_into_an_over() =>
        Given(Fill(Ferry, 40m, Sept(1)), Count(Ferry, 40m, 37m, Sept(10)),
            Transfer(Cash(Ferry), Cash(Van), 4m, Sept(2))).When(Agree()).Then(Settle(TheCount, Ferry, 1m));

    [Fact]
    public void Lines_on_the_day_of_the_count_or_later_or_of_another_place_do_not() =>
        Given(
                Fill(Ferry, 40m, Sept(1)), Count(Ferry, 40m, 37m, Sept(10)),
                Spend(Ferry, 1m, Sept(10)), Spend(Ferry, 1m, Sept(11)), Fill(Ferry, 9m, Sept(2), Holding.Bank),
                Fill(Market, 9m, Sept(2)))
            .When(Agree())
            .Then(Settle(TheCount, Ferry, -3m));

    [Fact]
    public void A_settled_count_stays_as_it_was_agreed_and_remembers_what_was_learnt_since()
    {
        var book = Given(Fill(Ferry, 40m, Sept(1)), Count(Ferry, 40m, 37m, Sept(10)), Settle(TheCount, Ferry, -3m),
            Spend(Ferry, 2m, Sept(9))).Book;

        Assert.Equal(new LastCount(TheCount, Sept(10), Eur(40m), Eur(37m)) { Settled = true, LearntSince = Eur(-2m) },
            book.CashCount(Ferry));
    }

    [Fact]
    public void After_a_settlement_the_next_count_agrees() =>
        Given(Fill(Ferry, 40m), Count(Ferry, 40m, 38.50m), Settle(TheCount, Ferry, -1.50m))
            .When(new RecordCount(Ferry, Holding.Cash, 38.50m, null, null, null, null))
            .Then(Count(Ferry, 38.50m, 38.50m));
}
