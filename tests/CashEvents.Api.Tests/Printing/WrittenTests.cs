using Xunit;

namespace CashEvents.Api.Tests.Printing;

public sealed class WrittenTests
{
    [Theory]
    [InlineData("0.00", "–")]
    [InlineData("0", "–")]
    [InlineData("1234567.80", "1,234,567.80")]
    [InlineData("-8.40", "−8.40")]
    [InlineData("1200", "1,200")]
    [InlineData("1.250", "1.250")]
    public void Figures_have_their_currencys_decimals_and_nothing_is_a_dash(string amount, string printed) =>
    Assert.Equal(printed, Written.Figure(decimal.Parse(amount)));

    [Theory]
    [InlineData("2026-11-16", "2026-11-22", "16–22 Nov 2026")]
    [InlineData("2026-10-26", "2026-11-01", "26 Oct – 1 Nov 2026")]
    [InlineData("2025-12-29", "2026-01-04", "29 Dec 2025 – 4 Jan 2026")]
    [InlineData("2026-11-30", "2026-11-30", "30 Nov 2026")]
    public void Days_from_one_to_another_say_the_month_and_the_year_as_often_as_needed(string first, string last,
        string printed) =>
        Assert.Equal(printed, Written.Days(DateOnly.Parse(first), DateOnly.Parse(last)));

    [Theory]
    [InlineData("0.7143", "71 %")]
    [InlineData("1.005", "101 %")]
    [InlineData("-0.1", "−10 %")]
    public void A_share_is_a_whole_percent(string share, string printed) =>
    Assert.Equal(printed, Written.Percent(decimal.Parse(share)));
}
