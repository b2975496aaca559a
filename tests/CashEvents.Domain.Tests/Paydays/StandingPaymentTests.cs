using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Paydays;

public class StandingPaymentTests
{
    private const string Monthly = "FREQ=MONTHLY;BYMONTHDAY=3";

    private static SetStandingPayment Set(string id = "quay-rent", decimal amount = 640m,
        StandingPaymentKind kind = StandingPaymentKind.FixedBill) =>
        new(id, kind, "Quay rent", new Recurrence(Monthly, Sept(3)), NotBankDay.Next, amount);

    private static StandingPaymentSet Rent(decimal amount = 640m,
        StandingPaymentKind kind = StandingPaymentKind.FixedBill) =>
        new("quay-rent", kind, "Quay rent", Monthly, Sept(3), NotBankDay.Next, Eur(amount));

    [Theory]
    [InlineData(StandingPaymentKind.FixedBill)]
    [InlineData(StandingPaymentKind.AutomaticSaving)]
    public void A_bill_or_a_saving_is_set_with_its_recurrence_and_amount(StandingPaymentKind kind)
    {
        var book = Given().When(Set(kind: kind)).Then(Rent(kind: kind)).Book;

        Assert.Equal(new StandingPayment("quay-rent", kind, "Quay rent", new Recurrence(Monthly, Sept(3)),
            NotBankDay.Next, Eur(640m)), book.StandingPayments["quay-rent"]);
        Assert.True(book.HasAmounts);
    }

    [Fact]
    public void What_is_set_anew_stands_in_the_stead_of_what_was() =>
        Assert.Equal(Eur(655m), Assert.Single(
            Given(Rent()).When(Set(amount: 655m)).Then(Rent(655m)).Book.StandingPayments).Value.Amount);

    [Fact]
    public void What_is_set_already_is_not_written_again() => Given(Rent()).When(Set()).ThenNothing();

    [Fact]
    public void One_that_has_ended_is_gone()
    {
        Assert.Empty(Given(Rent()).When(new EndStandingPayment("quay-rent"))
            .Then(new StandingPaymentEnded("quay-rent")).Book.StandingPayments);
        Assert.Equal(["quay-rent"],
            Given(Rent()).When(new EndStandingPayment("quay-rents"))
                .ThenRefused("standing-payment-unknown").Suggestions);
    }

    [Fact]
    public void Its_id_and_amount_are_checked()
    {
        Given().When(Set("Quay Rent")).ThenRefused("id-unreadable", "id");
        Given().When(Set(amount: 0m)).ThenRefused("amount-not-positive", "amount");
    }

    [Fact]
    public void There_are_at_most_a_hundred()
    {
        IBookEvent[] hundred = [.. Enumerable.Range(1, SetStandingPayment.Most - 1)
            .Select(n => Rent() with { Payment = $"bill-{n}" }), Rent()];

        Given(hundred).When(Set("another")).ThenRefused("too-many");
        Given(hundred).When(Set(amount: 1m)).Then(Rent(1m));
    }
}
