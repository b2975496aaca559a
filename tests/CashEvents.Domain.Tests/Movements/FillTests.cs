using System.Globalization;
using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Movements;

public class FillTests
{
    private static RecordFill FillFerry(decimal amount, DateOnly? on = null, string? description = null,
        Holding holding = Holding.Cash) =>
        new(Ferry, holding, amount, on, description);

    [Fact]
    public void A_fill_is_written_on_today_when_no_day_is_given() =>
        Given().When(FillFerry(40.00m)).Then(Fill(Ferry, 40m, Today));

    [Fact]
    public void A_fill_keeps_its_day_and_its_description_trimmed() =>
        Given().When(FillFerry(40.00m, Sept(1), "  pay for August "))
            .Then(new Filled(Ferry, Holding.Cash, Eur(40m), Sept(1), "pay for August"));

    [Fact]
    public void Cash_and_bank_of_a_compartment_are_filled_apart() =>
        Given(Fill(Ferry, 5m)).When(FillFerry(40m, holding: Holding.Bank))
            .ThenHolds((Cash(Ferry), 5m), (Bank(Ferry), 40m));

    [Theory]
    [InlineData("0")]
    [InlineData("0.00")]
    [InlineData("-0.01")]
    [InlineData("-40")]
    public void An_amount_is_above_zero(string amount) =>
        Given().When(FillFerry(decimal.Parse(amount, CultureInfo.InvariantCulture)))
            .ThenRefused("amount-not-positive", "amount");

    [Fact]
    public void A_cent_is_the_smallest_fill_in_euro() =>
        Given().When(FillFerry(0.01m)).Then(Fill(Ferry, 0.01m));

    [Theory]
    [InlineData("0.001")]
    [InlineData("-1.234")]
    public void More_decimals_than_the_currency_has_are_refused_and_never_rounded(string amount) =>
        Given().When(FillFerry(decimal.Parse(amount, CultureInfo.InvariantCulture)))
            .ThenRefused("too-many-decimals", "amount");

    [Fact]
    public void The_largest_amount_of_a_line_is_a_cent_below_ten_thousand_million() =>
        Given().When(FillFerry(9_999_999_999.99m)).Then(Fill(Ferry, 9_999_999_999.99m));

    [Theory]
    [InlineData("10000000000")]
    [InlineData("-10000000000")]
    [InlineData("79228162514264337593543950335")]
    public void A_larger_amount_is_refused(string amount) =>
        Given().When(FillFerry(decimal.Parse(amount, CultureInfo.InvariantCulture)))
            .ThenRefused("amount-too-large", "amount");

    [Theory]
    [InlineData("2026-09-25")]
    [InlineData("9999-12-31")]
    public void A_day_after_today_is_refused(string day)
    {
        var refusal = Given().When(FillFerry(40m, DateOnly.Parse(day, CultureInfo.InvariantCulture)))
            .ThenRefused("after-today", "occurredOn");

        Assert.Contains(day, refusal.Detail);
        Assert.Contains("2026-09-24", refusal.Detail);
    }

    [Fact]
    public void A_book_without_a_currency_takes_no_amounts() =>
        GivenBook(
                new HouseholdDescribed("Harbour Row", null, "Europe/Dublin", DayOfWeek.Monday),
                new WalletOpened("market-bag", "Market bag"),
                new CompartmentOpened(Ferry, "Ferry fares", "market-bag", Purpose.Spending))
            .When(FillFerry(40m))
            .ThenRefused("currency-missing");

    [Fact]
    public void A_description_is_bounded_and_on_one_line()
    {
        Given().When(FillFerry(40m, description: new string('a', 201))).ThenRefused("words-too-long", "description");
        Given().When(FillFerry(40m, description: "two\nlines")).ThenRefused("words-unprintable", "description");
    }

    [Fact]
    public void A_compartment_that_does_not_exist_is_refused_with_the_nearest_name()
    {
        var refusal = Given().When(new RecordFill("fery-fares", Holding.Cash, 40m, null, null))
            .ThenRefused("compartment-unknown", "compartment");

        Assert.Equal(RefusalSort.Unfit, refusal.Sort);
        Assert.Equal([Ferry], refusal.Suggestions);
        Assert.Contains("Did you mean 'ferry-fares'?", refusal.Detail);
    }

    [Theory]
    [InlineData("lighthouse")]
    [InlineData("")]
    [InlineData("\uFFFE")]
    public void A_name_near_no_other_is_refused_with_the_way_to_the_list(string written)
    {
        var refusal = Given().When(new RecordFill(written, Holding.Cash, 40m, null, null))
            .ThenRefused("compartment-unknown", "compartment");

        Assert.Empty(refusal.Suggestions);
        Assert.Contains(Act.ListCompartments.Way(), refusal.Detail);
    }

    [Fact]
    public void A_closed_compartment_is_refused_and_never_suggested()
    {
        var book = Given(new CompartmentOpened("ferry-fare", "Ferry fare", "market-bag", Purpose.Spending),
            new CompartmentClosed(Ferry));

        var closed = book.When(FillFerry(40m)).ThenRefused("compartment-closed", "compartment");
        var near = book.When(new RecordFill("ferry-faress", Holding.Cash, 40m, null, null))
            .ThenRefused("compartment-unknown", "compartment");

        Assert.Equal(RefusalSort.Conflict, closed.Sort);
        Assert.Contains("reopen", closed.Detail);
        Assert.Equal(["ferry-fare"], closed.Suggestions);
        Assert.Equal(["ferry-fare"], near.Suggestions);
    }
}
