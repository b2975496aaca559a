using System.Globalization;

namespace CashEvents.Domain.Tests.Amounts;

public class CurrencyTests
{
    [Theory]
    [InlineData("EUR", "40", 4_000)]
    [InlineData("EUR", "40.5", 4_050)]
    [InlineData("EUR", "40.05", 4_005)]
    [InlineData("JPY", "40", 40)]
    [InlineData("KWD", "40.005", 40_005)]
    [InlineData("EUR", "-0.01", -1)]
    [InlineData("EUR", "0.00", 0)]
    [InlineData("EUR", "1.000", 100)]
    [InlineData("EUR", "-1.2500000000000000000000", -125)]
    [InlineData("JPY", "40.0", 40)]
    public void An_amount_is_kept_in_whole_minor_units(string code, string written, long minor) =>
        Assert.Equal(new Money(minor),
            Currency.Of(code).Exactly(decimal.Parse(written, CultureInfo.InvariantCulture), "amount"));

    [Theory]
    [InlineData("EUR", "40.005")]
    [InlineData("JPY", "40.5")]
    [InlineData("KWD", "0.0005")]
    public void More_decimals_than_the_currency_has_are_refused(string code, string written)
    {
        var refused = Assert.Throws<RefusalException>(
            () => Currency.Of(code).Exactly(decimal.Parse(written, CultureInfo.InvariantCulture), "total"));

        Assert.Equal(("too-many-decimals", "total"), (refused.Refusal.Code, refused.Refusal.Field));
    }

    [Theory]
    [InlineData("EUR", 4_000, "40.00")]
    [InlineData("EUR", -5, "-0.05")]
    [InlineData("EUR", 0, "0.00")]
    [InlineData("JPY", 4_000, "4000")]
    [InlineData("KWD", 4_000, "4.000")]
    [InlineData("EUR", 999_999_999_999, "9999999999.99")]
    [InlineData("KWD", long.MinValue, "-9223372036854775.808")]
    public void An_amount_is_shown_with_exactly_the_decimals_of_its_currency(string code, long minor, string shown) =>
        Assert.Equal($"{shown} {code}", Currency.Of(code).Say(new Money(minor)));

    [Fact]
    public void A_code_is_written_in_capitals()
    {
        Assert.True(Currency.TryFind("EUR", out var euro));
        Assert.Equal(2, euro.Exponent);
        Assert.False(Currency.TryFind("eur", out _));
        Assert.False(Currency.TryFind("", out _));
    }

    [Fact]
    public void Sums_that_do_not_fit_are_never_wrapped()
    {
        Assert.Throws<OverflowException>(() => new Money(long.MaxValue) + new Money(1));
        Assert.Throws<OverflowException>(() => new Money(long.MinValue) - new Money(1));
        Assert.Throws<OverflowException>(() => -new Money(long.MinValue));
    }
}
