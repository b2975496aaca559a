using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Movements;

public class TransferTests
{
    private static RecordTransfer Move(Part from, Part to, decimal amount, DateOnly? on = null) =>
        new(from, to, amount, on, null);

    [Fact]
    public void Money_moves_from_one_compartment_to_another()
    {
        var asked = Given(Fill(Market, 60m), Fill(Van, 1m)).When(Move(Cash(Market), Cash(Van), 25.40m, Sept(24)));

        asked.Then(Transfer(Cash(Market), Cash(Van), 25.40m));
        asked.ThenHolds((Cash(Market), 34.60m), (Cash(Van), 26.40m));
    }

    [Fact]
    public void Cash_of_a_compartment_is_taken_to_the_bank_and_back()
    {
        var deposited = Given(Fill(Boat, 120m)).When(Move(Cash(Boat), Bank(Boat), 100m))
            .Then(Transfer(Cash(Boat), Bank(Boat), 100m));

        deposited.When(Move(Bank(Boat), Cash(Boat), 30m)).ThenHolds((Cash(Boat), 50m), (Bank(Boat), 70m));
    }

    [Theory]
    [InlineData(Holding.Cash)]
    [InlineData(Holding.Bank)]
    public void The_same_place_twice_is_refused(Holding holding) =>
        Given(Fill(Boat, 120m, holding: holding)).When(Move(new(Boat, holding), new(Boat, holding), 10m))
            .ThenRefused("transfer-to-itself", "to");

    [Fact]
    public void No_more_moves_than_is_there() =>
        Assert.Equal(Cash(Boat), Given(Fill(Boat, 9.99m), Fill(Boat, 50m, holding: Holding.Bank))
            .When(Move(Cash(Boat), Bank(Boat), 10m)).ThenRefused("not-enough", "amount").Shortage!.Place);

    [Fact]
    public void The_compartment_that_it_goes_to_is_not_named_among_those_that_could_cover_it()
    {
        var book = Given(Fill(Boat, 5m), Fill(Van, 50m), Fill(Market, 20m));

        var refusal = book.When(Move(Cash(Boat), Cash(Van), 10m)).ThenRefused("not-enough", "amount");
        var alone = book.When(Move(Cash(Boat), Cash(Van), 40m)).ThenRefused("not-enough", "amount");

        Assert.Equal([new Giver(Market, Eur(20m))], refusal.Shortage!.CouldGive);
        Assert.Contains($"'{Market}' could give it", refusal.Detail);
        Assert.Empty(alone.Shortage!.CouldGive);
        Assert.Contains("No other compartment could give it", alone.Detail);
    }

    [Fact]
    public void A_back_dated_transfer_leaves_every_later_day_covered()
    {
        var refusal = Given(Fill(Boat, 50m, Sept(1)), Spend(Boat, 45m, Sept(12)), Fill(Boat, 45m, Sept(13)))
            .When(Move(Cash(Boat), Cash(Van), 6m, Sept(3))).ThenRefused("not-enough", "amount");

        Assert.Equal((Eur(5m), Sept(12)), (refusal.Shortage!.Available, refusal.Shortage!.On));
    }

    [Fact]
    public void Both_compartments_are_open_and_known()
    {
        var book = Given(Fill(Boat, 50m), new CompartmentClosed(Van));

        book.When(Move(Cash("boat"), Cash(Market), 1m)).ThenRefused("compartment-unknown", "from.compartment");
        book.When(Move(Cash(Boat), Cash("market"), 1m)).ThenRefused("compartment-unknown", "to.compartment");
        book.When(Move(Cash(Van), Cash(Boat), 1m)).ThenRefused("compartment-closed", "from.compartment");
        book.When(Move(Cash(Boat), Cash(Van), 1m)).ThenRefused("compartment-closed", "to.compartment");
    }

    [Fact]
    public void An_amount_and_a_day_are_checked_as_for_every_movement()
    {
        var book = Given(Fill(Boat, 50m));

        book.When(Move(Cash(Boat), Bank(Boat), 0m)).ThenRefused("amount-not-positive", "amount");
        book.When(Move(Cash(Boat), Bank(Boat), 0.999m)).ThenRefused("too-many-decimals", "amount");
        book.When(Move(Cash(Boat), Bank(Boat), 1m, Sept(25))).ThenRefused("after-today", "occurredOn");
    }
}
