using CsCheck;
using static CashEvents.Domain.Tests.Books.HarbourRow;

namespace CashEvents.Domain.Tests.Counts;

public class ControlChartTests
{
    // Source: NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3.2.2, Individuals Control Charts: ten flow
    // rates, with the mean 50.81,
    // the mean moving range 1.8778, and the limits 55.8041 and 45.8159 (as several public repositories quote it; the
    // page itself was not at hand).
    private static readonly decimal[] _flowRates =
        [49.6m, 47.6m, 49.9m, 51.3m, 47.8m, 51.2m, 52.6m, 52.4m, 53.6m, 52.1m];

    [Fact]
    public void Ten_flow_rates_of_the_handbook_give_its_mean_and_limits()
    {
        var chart = ControlChart.Of([.. _flowRates.Select(rate => Eur(rate))])!;

        Assert.Equal((Eur(50.81m), Eur(1.88m), Eur(45.82m), Eur(55.80m)),
            (chart.Mean, chart.MeanMovingRange, chart.Lower, chart.Upper));
        Assert.Empty(chart.Outside);
    }

    [Fact]
    public void To_four_decimals_they_differ_by_what_2_66_is_rounded()
    {
        // The handbook's figures are those of 3/1.128 = 2.65957…; the usual 2.66 moves a limit by 1.8778 times the rest
        // of it, 0.0008.
        var chart = ControlChart.Of([.. _flowRates.Select(rate => new Money((long)(rate * 10_000)))])!;

        Assert.Equal((508_100, 18_778), (chart.Mean.Minor, chart.MeanMovingRange.Minor));
        Assert.Equal((558_041 + 8, 458_159 - 8), (chart.Upper.Minor, chart.Lower.Minor));
    }

    [Fact]
    public void A_value_outside_is_named_and_one_on_a_limit_is_not()
    {
        // Fifty values of nothing and one of 10.00: mean 10/51, mean moving range 10/50.
        var chart = ControlChart.Of([.. Enumerable.Repeat(Money.Zero, 50), Eur(10m)])!;

        Assert.Equal([50], chart.Outside);
        Assert.Equal((Eur(0.20m), Eur(0.20m), Eur(0.73m), Eur(-0.34m)),
            (chart.Mean, chart.MeanMovingRange, chart.Upper, chart.Lower));
        Assert.Empty(ControlChart.Of([Eur(1m), Eur(1m), Eur(1m)])!.Outside);
    }

    [Theory]
    [InlineData(-1, 0, -1)]
    [InlineData(1, 0, 1)]
    [InlineData(-3, 0, -2)]
    [InlineData(3, 0, 2)]
    public void Halves_are_rounded_away_from_zero_on_both_sides(long first, long second, long mean) =>
        Assert.Equal(mean, ControlChart.Of([new(first), new(second)])!.Mean.Minor);

    [Fact]
    public void One_value_has_no_moving_range()
    {
        Assert.Null(ControlChart.Of([]));
        Assert.Null(ControlChart.Of([Eur(1m)]));
    }

    [Fact]
    public void Over_and_short_are_treated_alike_and_the_limits_are_those_of_plain_arithmetic() =>
        Gen.Long[-5_000, 5_000].Array[2, 40].Sample(cents =>
        {
            var chart = ControlChart.Of([.. cents.Select(c => new Money(c))])!;
            var mirrored = ControlChart.Of([.. cents.Select(c => new Money(-c))])!;

            Assert.Equal((-chart.Mean, -chart.Upper), (mirrored.Mean, mirrored.Lower));
            Assert.Equal(chart.Outside, mirrored.Outside);
            var mean = (decimal)cents.Sum() / cents.Length;
            var range = (decimal)cents.Zip(cents.Skip(1), (a, b) => Math.Abs(b - a)).Sum() / (cents.Length - 1);
            Assert.InRange(chart.Upper.Minor - (mean + (2.66m * range)), -0.5000001m, 0.5000001m);
            Assert.InRange(chart.Lower.Minor - (mean - (2.66m * range)), -0.5000001m, 0.5000001m);
        });

    [Fact]
    public void The_largest_amounts_do_not_overflow()
    {
        var chart = ControlChart.Of(
            [.. Enumerable.Range(0, 100_000).Select(i => i % 2 == 0 ? Money.Largest : -Money.Largest)])!;

        Assert.Equal((Money.Zero, new Money(5_319_999_999_995)), (chart.Mean, chart.Upper));
    }
}
