using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Counts;

/// <summary>Worked examples of petty cash and cash sales out of accounting textbooks, as counts.</summary>
public class TextbookCountTests
{
    private const string Fund = "petty-cash";

    /// <summary>
    /// Source: Kimmel, Weygandt, Kieso, Financial Accounting: Tools for Business Decision Making, 8th ed., exercise
    /// 7-16E.
    /// </summary>
    [Fact]
    public void A_fund_of_200_with_four_vouchers_is_short_3_40() =>
        FundOf(200m, [74.40m, 36.00m, 33.70m, 27.50m], expected: 28.40m, counted: 25.00m, difference: -3.40m);

    /// <summary>
    /// Source: Warren, Reeve, Duchac, Financial and Managerial Accounting, 13th ed., problem 7-2A, petty cash.
    /// </summary>
    [Fact]
    public void A_fund_of_750_with_four_vouchers_is_short_15() =>
        FundOf(750m, [390m, 90m, 56m, 42m], expected: 172m, counted: 157m, difference: -15m);

    /// <summary>Source: Warren, Corporate Financial Accounting, 14th ed., problem 7-2A, petty cash.</summary>
    [Fact]
    public void A_fund_of_1100_with_four_vouchers_is_short_20() =>
        FundOf(1_100m, [580m, 225m, 140m, 88m], expected: 67m, counted: 47m, difference: -20m);

    /// <summary>
    /// Source: Warren, Reeve, Duchac, Financial and Managerial Accounting, 13th ed., problem 7-2A, cash sales.
    /// </summary>
    [Fact]
    public void A_register_at_12440_with_12465_in_it_is_over_25() =>
        FundOf(12_440m, [], expected: 12_440m, counted: 12_465m, difference: 25m);

    /// <summary>Source: Warren, Corporate Financial Accounting, 14th ed., problem 7-2A, cash sales.</summary>
    [Fact]
    public void A_register_at_8192_with_8220_in_it_is_over_28() =>
        FundOf(8_192m, [], expected: 8_192m, counted: 8_220m, difference: 28m);

    private static void FundOf(decimal filled, decimal[] vouchers, decimal expected, decimal counted,
        decimal difference)
    {
        var book = GivenBook(
            new HouseholdDescribed("Harbour Row", "USD", "America/Halifax", DayOfWeek.Monday),
            new WalletOpened("strongbox", "Strongbox"),
            new CompartmentOpened(Fund, "Petty cash", "strongbox", Purpose.Spending));

        book = book.When(new RecordFill(Fund, Holding.Cash, filled, null, null))
            .Then(new Filled(Fund, Holding.Cash, Usd(filled), Today, ""));
        book = vouchers.Aggregate(book, (b, voucher) =>
            b.When(new RecordSpend(Fund, Holding.Cash, voucher, null, "voucher"))
                .Then(new Spent(Fund, Holding.Cash, Usd(voucher), Today, "voucher")));
        book = book.When(new RecordCount(Fund, Holding.Cash, counted, null, null, null, null))
            .Then(new CountTaken(Fund, Holding.Cash, Usd(expected), Usd(counted), [], Today, "", ""));

        var count = book.Book.Line;
        Assert.Equal(Usd(difference), book.Book.CashCount(Fund)!.Difference);
        book = book.When(new SettleCount(count, "agreed", null))
            .Then(new CountSettled(count, Fund, Holding.Cash, Usd(difference), Today, "agreed"));
        Assert.Equal(Usd(counted), book.Book.Compartments[Fund].Cash);
    }

    private static Money Usd(decimal amount) => Currency.Of("USD").Exactly(amount, "amount");
}
