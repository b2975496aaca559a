using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Custody;

public class HandoverTests
{
    // The fill is the first line, the handover the second.
    private static readonly long _handover = FirstLine + 1;

    private static HandedOver Handed(decimal amount, string carrier = "partner", DateOnly? on = null,
        string compartment = Ferry) => new(compartment, carrier, Eur(amount), on ?? Today, "");

    private static Given Carrying(decimal amount, decimal of = 40m, params IBookEvent[] lines) =>
        Given([Fill(Ferry, of, Sept(20)), Handed(amount, on: Sept(22)), .. lines]);

    private static ICommand Spends(decimal amount, string by, bool? carried = null, string? cover = null) =>
        new RecordSpend(Ferry, Holding.Cash, amount, null, null, cover) { Hands = new Hands(Carried: carried) }
            .SignedBy(by);

    private static CarriedChange Out(decimal amount) => new(_handover, -Eur(amount));

    private static (decimal Carried, decimal Lies) In(Given given, string compartment = Ferry) =>
        (given.Book.Currency.ToDecimal(given.Book.Carried(compartment)),
            given.Book.Currency.ToDecimal(given.Book.LiesInPlace(compartment)));

    [Fact]
    public void All_that_is_there_or_a_part_is_taken_out_and_no_balance_changes()
    {
        var all = Given(Fill(Ferry, 40m)).When(new OpenHandover(Ferry, null, "partner", null, " to the mainland "));
        var part = Given(Fill(Ferry, 40m)).When(new OpenHandover(Ferry, 15m, "partner", Sept(24), null));

        all.ThenHolds((Cash(Ferry), 40m));
        Assert.Equal((40m, 0m), In(all.Then(Handed(40m) with { Description = "to the mainland" })));
        Assert.Equal((15m, 25m), In(part.Then(Handed(15m))));
    }

    [Fact]
    public void Whoever_writes_it_carries_it_unless_another_is_named()
    {
        Given(Fill(Ferry, 40m)).When(new OpenHandover(Ferry, 15m, null, null, null).SignedBy("keeper"))
            .Then(Handed(15m, "keeper"));
        Given(Fill(Ferry, 40m)).When(new OpenHandover(Ferry, 15m, "partner", null, null).SignedBy("keeper"))
            .Then(Handed(15m, "partner"));
    }

    [Fact]
    public void What_can_not_be_taken_out_is_refused()
    {
        Given().When(new OpenHandover(Ferry, null, "partner", null, null))
            .ThenRefused("nothing-to-hand-over", "compartment");
        Given(Fill(Ferry, 40m)).When(new OpenHandover(Ferry, 40.01m, "partner", null, null))
            .ThenRefused("not-enough", "amount");
        Given(Fill(Ferry, 40m)).When(new OpenHandover(Ferry, 0m, "partner", null, null))
            .ThenRefused("amount-not-positive", "amount");
        Given(Fill(Ferry, 40m)).When(new OpenHandover(Ferry, 10m, "partner", Sept(23), null))
            .ThenRefused("not-enough", "amount");
        Given(Fill(Ferry, 40m)).When(new OpenHandover(Ferry, 10m, "partner", Sept(25), null))
            .ThenRefused("after-today", "occurredOn");
        Given(Fill(Ferry, 40m, holding: Holding.Bank)).When(new OpenHandover(Ferry, null, "partner", null, null))
            .ThenRefused("nothing-to-hand-over", "compartment");
        Given(Fill(Ferry, 40m)).When(new OpenHandover(Ferry, 10m, " ", null, null))
            .ThenRefused("words-missing", "carrier");
        Given(new CompartmentClosed(Ferry)).When(new OpenHandover(Ferry, null, "partner", null, null))
            .ThenRefused("compartment-closed", "compartment");
    }

    [Fact]
    public void One_person_at_a_time_carries_from_a_compartment()
    {
        var refused = Carrying(15m).When(new OpenHandover(Ferry, 5m, "keeper", null, null))
            .ThenRefused("handover-open", "compartment");

        Assert.Equal($"'partner' carries 15.00 EUR of 'ferry-fares' since 2026-09-22, and one person at a time does: "
            + $"bring it back first with {Act.ReturnHandover.Way(_handover)}.", refused.Detail);
        Carrying(15m, 40m, Fill(Market, 9m)).When(new OpenHandover(Market, 9m, "partner", null, null))
            .Then(Handed(9m, compartment: Market));
    }

    [Fact]
    public void What_lies_in_its_place_is_spent_as_ever() =>
        Assert.Equal((15m, 0m), In(Carrying(15m).When(Spends(25m, "keeper")).Then(Spend(Ferry, 25m))));

    [Fact]
    public void Spending_what_somebody_else_carries_asks_for_confirmation_and_says_who_since_when_and_what_to_send()
    {
        var refused = Carrying(15m).When(Spends(25.01m, "keeper")).ThenRefused("carried-by-another", "carried");

        Assert.Equal(
            "'partner' carries 15.00 EUR of 'ferry-fares' since 2026-09-22: 25.00 EUR lies in its place, and two "
                + "people can't spend the same notes. "
            + $"Send `\"carried\": true` if it came from what 'partner' carries, or bring it back first with "
            + $"{Act.ReturnHandover.Way(_handover)}.", refused.Detail);
        Assert.Equal((4m, 25m), In(
            Carrying(15m).When(Spends(11m, "keeper", carried: true))
                .Then(Spend(Ferry, 11m) with { Carried = Out(11m) })));
    }

    [Fact]
    public void What_the_carrier_spends_comes_from_what_they_carry_unless_they_say_otherwise()
    {
        Assert.Equal((4m, 25m), In(
            Carrying(15m).When(Spends(11m, "Partner")).Then(Spend(Ferry, 11m) with { Carried = Out(11m) })));
        Assert.Equal((15m, 14m), In(
            Carrying(15m).When(Spends(11m, "partner", carried: false)).Then(Spend(Ferry, 11m))));
    }

    [Fact]
    public void A_spend_of_more_than_is_carried_takes_the_rest_from_its_place_and_of_more_than_there_is_is_refused()
    {
        Assert.Equal((0m, 20m), In(
            Carrying(15m).When(Spends(20m, "partner")).Then(Spend(Ferry, 20m) with { Carried = Out(15m) })));
        Carrying(15m).When(Spends(40.01m, "partner")).ThenRefused("not-enough", "amount");
        Carrying(15m).When(Spends(40.01m, "keeper")).ThenRefused("not-enough", "amount");
    }

    [Fact]
    public void Once_all_that_was_carried_is_spent_nobody_is_asked() =>
        Carrying(15m, 40m, Spend(Ferry, 15m) with { Carried = Out(15m) }).When(Spends(25m, "keeper"))
            .Then(Spend(Ferry, 25m));

    [Fact]
    public void What_nobody_carries_and_the_bank_part_are_not_asked_about()
    {
        Given(Fill(Ferry, 40m)).When(Spends(40m, "keeper", carried: true)).Then(Spend(Ferry, 40m));
        Carrying(40m, 40m, Fill(Ferry, 9m, holding: Holding.Bank))
            .When(new RecordSpend(Ferry, Holding.Bank, 9m, null, null).SignedBy("keeper"))
            .Then(Spend(Ferry, 9m, holding: Holding.Bank));
    }

    [Fact]
    public void Another_compartment_covers_what_does_not_lie_in_its_place()
    {
        Carrying(40m, 40m, Fill(Market, 9m)).When(Spends(8m, "keeper", cover: Market))
            .Then(Transfer(Cash(Market), Cash(Ferry), 8m), Spend(Ferry, 8m));
        Carrying(15m, 40m, Fill(Market, 9m)).When(Spends(30m, "keeper", cover: Market))
            .Then(Transfer(Cash(Market), Cash(Ferry), 5m), Spend(Ferry, 30m));
        Carrying(40m, 40m, Fill(Market, 9m)).When(Spends(45m, "partner", cover: Market))
            .Then(Transfer(Cash(Market), Cash(Ferry), 5m), Spend(Ferry, 45m) with { Carried = Out(40m) });

        // The cover is carried itself.
        Given(Fill(Ferry, 40m), Handed(40m), Fill(Market, 5m))
            .When(new RecordSpend(Market, Holding.Cash, 8m, null, null, Ferry).SignedBy("keeper"))
            .ThenRefused("carried-by-another", "restFrom");
    }

    [Fact]
    public void A_refund_goes_back_to_the_carrier_who_got_it_and_a_fill_into_its_place()
    {
        Assert.Equal((16m, 25m), In(
            Carrying(15m).When(new RecordRefund(Ferry, Holding.Cash, 1m, null, null).SignedBy("partner"))
                .Then(Refund(Ferry, 1m) with { Carried = new CarriedChange(_handover, Eur(1m)) })));
        Assert.Equal((15m, 26m), In(
            Carrying(15m).When(new RecordRefund(Ferry, Holding.Cash, 1m, null, null).SignedBy("keeper"))
                .Then(Refund(Ferry, 1m))));
        Assert.Equal((15m, 35m), In(Carrying(15m, 40m, Fill(Ferry, 10m))));
    }

    [Fact]
    public void A_transfer_asks_as_a_spend_does_and_what_it_brings_lies_in_its_place()
    {
        var toBank = new RecordTransfer(Cash(Ferry), Bank(Ferry), 30m, null, null);

        Carrying(15m).When(toBank.SignedBy("keeper")).ThenRefused("carried-by-another", "carried");
        Assert.Equal((0m, 10m), In(
            Carrying(15m).When(toBank.SignedBy("partner"))
                .Then(Transfer(Cash(Ferry), Bank(Ferry), 30m) with { Carried = Out(15m) })));
        Assert.Equal((15m, 31m), In(
            Carrying(15m, 40m, Fill(Market, 9m))
                .When(new RecordTransfer(Cash(Market), Cash(Ferry), 6m, null, null).SignedBy("partner"))
                .Then(Transfer(Cash(Market), Cash(Ferry), 6m))));
    }

    [Fact]
    public void A_sweep_takes_what_lies_in_its_place()
    {
        var sweep = new RecordSweep(new SweepFrom(Wallet: "market-bag"), Holding.Cash, Cash(Van), 5m, null, null);

        Carrying(15m).When(sweep).Then(Sweep(Cash(Ferry), Cash(Van), 25m));
        Carrying(2m).When(sweep).Then(Sweep(Cash(Ferry), Cash(Van), 35m));
        Carrying(40m).When(sweep).ThenNothing();
    }

    [Fact]
    public void A_count_of_what_is_not_all_there_asks_whether_what_is_carried_was_counted_too()
    {
        var count = new RecordCount(Ferry, Holding.Cash, 40m, null, null, null, null);

        var refused = Carrying(15m).When(count.SignedBy("keeper")).ThenRefused("carried-by-another", "carried");
        Assert.StartsWith("'partner' carries 15.00 EUR of 'ferry-fares' since 2026-09-22: so it is not all there to "
            + "count. Send `\"carried\": true` if what 'partner' carries is counted too", refused.Detail);
        Carrying(15m).When(count with { Hands = new Hands("keeper", Carried: true) }).Then(Count(Ferry, 40m, 40m));
        Carrying(15m).When(count.SignedBy("partner")).Then(Count(Ferry, 40m, 40m));
        Carrying(15m, 40m, new CountRoundOpened([Ferry], null, null, false))
            .When(new CountInRound(_handover + 1, count, null, "keeper")).ThenRefused("carried-by-another", "carried");
    }

    [Fact]
    public void It_comes_back_with_a_count_of_the_whole_compartment()
    {
        var back = Carrying(15m, 40m, Spend(Ferry, 11m) with { Carried = Out(11m) })
            .When(new ReturnHandover(_handover, 28m, null, null, "keeper", "wet"))
            .Then(new HandoverReturned(_handover, Ferry, Today, "wet"),
                Count(Ferry, 29m, 28m) with { Witness = "keeper", Description = "wet" });

        Assert.Empty(back.Book.Handovers);
        Assert.Equal((0m, 29m), In(back));
        back.When(new SettleCount(_handover + 3, "agreed", null)).ThenHolds((Cash(Ferry), 28m));
        back.When(new ReturnHandover(_handover, 28m, null, null, null, null)).ThenRefused("handover-not-open");
    }

    [Fact]
    public void It_does_not_come_back_before_it_was_taken_or_without_a_figure()
    {
        Carrying(15m).When(new ReturnHandover(_handover, 40m, null, Sept(21), null, null))
            .ThenRefused("before-handover", "occurredOn");
        Carrying(15m).When(new ReturnHandover(_handover, null, null, null, null, null))
            .ThenRefused("total-missing", "total");
        Carrying(15m).When(new ReturnHandover(_handover, null, new Dictionary<string, long> { ["3"] = 1 }, null, null,
            null)).ThenRefused("denomination-unknown", "denominations.3");
    }

    [Fact]
    public void A_reversed_spend_is_back_in_the_hands_of_who_still_carries()
    {
        var spent = Spend(Ferry, 11m) with { Carried = Out(11m) };
        var undone = Reversed(_handover + 1, spent) with { Carried = new CarriedChange(_handover, Eur(11m)) };

        Assert.Equal((15m, 25m), In(
            Carrying(15m, 40m, spent).When(new ReverseLine(_handover + 1, spent, "wrong")).Then(undone)));

        var back = Carrying(15m, 40m, spent, new HandoverReturned(_handover, Ferry, Today, ""));
        Assert.Equal((0m, 40m), In(back.When(new ReverseLine(_handover + 1, spent, "wrong")).Then(undone)));
    }

    [Fact]
    public void A_fill_that_is_amended_leaves_what_is_carried_as_it_was()
    {
        var fill = Fill(Ferry, 40m, Sept(20));
        var amended = Carrying(40m)
            .When(new AmendLine(FirstLine, fill, new RecordFill(Ferry, Holding.Cash, 45m, null, null), "read again"))
            .Then(Reversed(FirstLine, fill, reason: "read again"),
                Fill(Ferry, 45m, Sept(20)) with { Corrects = new Correction(FirstLine) });

        Assert.Equal((40m, 5m), In(amended));
    }

    [Fact]
    public void What_comes_after_a_fill_was_reversed_lies_in_its_place() =>
        Assert.Equal((0m, 20m), In(
            Carrying(40m, 40m, Reversed(FirstLine, Fill(Ferry, 40m, Sept(20))), Fill(Ferry, 20m))));

    [Fact]
    public void A_short_that_is_settled_is_not_carried_any_more() =>
        Assert.Equal((30m, 20m), In(
            Carrying(40m, 40m, Count(Ferry, 40m, 30m), Settle(_handover + 1, Ferry, -10m), Fill(Ferry, 20m))));

    [Fact]
    public void A_compartment_is_closed_once_what_was_taken_is_back()
    {
        var spent = Spend(Ferry, 40m) with { Carried = Out(40m) };

        Carrying(40m, 40m, spent).When(new ChangeCompartment(Ferry, null, null, true))
            .ThenRefused("handover-open", "closed");
        Carrying(40m, 40m, spent, new HandoverReturned(_handover, Ferry, Today, ""))
            .When(new ChangeCompartment(Ferry, null, null, true)).Then(new CompartmentClosed(Ferry));
    }

    [Fact]
    public void A_handover_is_not_reversed_but_brought_back() =>
        Carrying(15m).When(new ReverseLine(_handover, Handed(15m), "wrong")).ThenRefused("line-moves-nothing");
}
