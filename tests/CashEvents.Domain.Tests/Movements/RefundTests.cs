using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Movements;

public class RefundTests
{
    private static RecordRefund RefundFerry(decimal amount, DateOnly? on = null) =>
        new(Ferry, Holding.Cash, amount, on, " crossing cancelled ");

    [Fact]
    public void A_refund_comes_back_into_its_compartment()
    {
        var asked = Given(Fill(Ferry, 40m), Spend(Ferry, 12m)).When(RefundFerry(12m));

        asked.Then(Refund(Ferry, 12m) with { Description = "crossing cancelled" });
        asked.ThenHolds((Cash(Ferry), 40m));
    }

    [Fact]
    public void A_refund_needs_no_spend_before_it() =>
        Given().When(RefundFerry(12m, Sept(2)))
            .Then(Refund(Ferry, 12m, Sept(2)) with { Description = "crossing cancelled" });

    [Fact]
    public void An_amount_a_day_and_a_compartment_are_checked_as_for_every_movement()
    {
        Given().When(RefundFerry(-12m)).ThenRefused("amount-not-positive", "amount");
        Given().When(RefundFerry(1.999m)).ThenRefused("too-many-decimals", "amount");
        Given().When(RefundFerry(12m, Sept(25))).ThenRefused("after-today", "occurredOn");
        Given(new CompartmentClosed(Ferry)).When(RefundFerry(12m)).ThenRefused("compartment-closed", "compartment");
    }
}
