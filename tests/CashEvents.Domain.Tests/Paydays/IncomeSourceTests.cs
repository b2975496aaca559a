using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Paydays;

public class IncomeSourceTests
{
    private const string MonthEnd = "FREQ=MONTHLY;BYMONTHDAY=-1";

    private static SetIncomeSource Set(string id = "harbour-office", decimal? amount = 2400m,
        NotBankDay notBankDay = NotBankDay.Previous, string label = "Harbour office") =>
        new(id, label, new Recurrence(MonthEnd, Sept(30)), notBankDay, amount);

    private static IncomeSourceSet Office(decimal? amount = 2400m, NotBankDay notBankDay = NotBankDay.Previous) =>
        new("harbour-office", "Harbour office", MonthEnd, Sept(30), notBankDay, amount is { } a ? Eur(a) : null);

    [Fact]
    public void A_source_is_set_with_its_recurrence_and_amount() =>
        Assert.Equal(
            new IncomeSource("harbour-office", "Harbour office", new Recurrence(MonthEnd, Sept(30)),
                NotBankDay.Previous, Eur(2400m)),
            Given().When(Set()).Then(Office()).Book.IncomeSources["harbour-office"]);

    [Fact]
    public void A_source_may_pay_as_it_comes() => Given().When(Set(amount: null)).Then(Office(null));

    [Fact]
    public void What_is_set_anew_stands_in_the_stead_of_what_was()
    {
        var book = Given(Office()).When(Set(amount: 2450m, notBankDay: NotBankDay.Next))
            .Then(Office(2450m, NotBankDay.Next)).Book;

        Assert.Equal((1, Eur(2450m)), (book.IncomeSources.Count, book.IncomeSources["harbour-office"].Amount));
    }

    [Fact]
    public void What_is_set_already_is_not_written_again() => Given(Office()).When(Set()).ThenNothing();

    [Fact]
    public void A_source_that_has_ended_is_gone_and_may_be_set_again()
    {
        var ended = Given(Office()).When(new EndIncomeSource("harbour-office"))
            .Then(new IncomeSourceEnded("harbour-office"));

        Assert.Empty(ended.Book.IncomeSources);
        ended.When(new EndIncomeSource("harbour-office")).ThenRefused("income-source-unknown");
        ended.When(Set()).Then(Office());
    }

    [Fact]
    public void One_that_is_not_there_cant_end() =>
        Assert.Equal(["harbour-office"],
            Given(Office()).When(new EndIncomeSource("harbour-ofice"))
                .ThenRefused("income-source-unknown").Suggestions);

    [Theory]
    [InlineData("Harbour office", "harbour-office")]
    [InlineData("harbour--office", "harbour-office")]
    [InlineData("-", null)]
    public void An_id_is_what_would_be_made_of_it(string id, string? suggested) =>
        Assert.Equal(suggested is null ? [] : [suggested],
            Given().When(Set(id)).ThenRefused("id-unreadable", "id").Suggestions);

    [Theory]
    [InlineData(0, "amount-not-positive")]
    [InlineData(-1, "amount-not-positive")]
    [InlineData(0.001, "too-many-decimals")]
    public void An_amount_is_above_zero_and_of_the_currency(decimal amount, string code) =>
    Given().When(Set(amount: amount)).ThenRefused(code, "amount");

    [Fact]
    public void A_label_is_needed() => Given().When(Set(label: " ")).ThenRefused("words-missing", "label");

    [Fact]
    public void The_currency_is_fixed_by_an_amount_alone()
    {
        Assert.True(Given(Office()).Book.HasAmounts);
        Assert.False(Given(Office(null)).Book.HasAmounts);
    }

    [Fact]
    public void There_are_at_most_fifty_and_one_of_them_may_still_be_set_anew()
    {
        IBookEvent[] fifty = [.. Enumerable.Range(1, SetIncomeSource.Most - 1)
            .Select(n => Office() with { Source = $"stall-{n}" }), Office()];

        Given(fifty).When(Set("another")).ThenRefused("too-many");
        Given(fifty).When(Set(amount: 1m)).Then(Office(1m));
    }
}
