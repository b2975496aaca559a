namespace CashEvents.Domain.Counts;

/// <summary>The lines of an individuals control chart: the mean, and the mean ± 2.66 × the mean moving range.</summary>
/// <param name="Mean">Of the values, to the nearest minor unit.</param>
/// <param name="MeanMovingRange">Of the differences from each value to the next, without their sign, to the nearest
/// minor unit.</param>
/// <param name="Lower">The lower limit, to the nearest minor unit.</param>
/// <param name="Upper">The upper limit, to the nearest minor unit.</param>
/// <param name="Outside">Which values lie outside the limits, from 0 on. They are compared with the limits before these
/// are rounded.</param>
/// <remarks>
/// Everything is exact until the end: for n values with the sum S and the moving ranges' sum M the limits are S/n ±
/// (133/50) × M/(n−1),
/// two whole numbers over 50 n (n−1), and are rounded once, halves away from zero so that over and short are treated
/// alike.
/// </remarks>
public sealed record ControlChart(Money Mean, Money MeanMovingRange, Money Lower, Money Upper,
    IReadOnlyList<int> Outside)
{
    /// <summary>
    /// Below this many values limits move a good deal with each further one (common practice asks for about twenty).
    /// </summary>
    public const int FewValues = 20;

    // 2.66 = 133/50: three standard deviations, each the mean moving range divided by 1.128.
    private const int FactorNumerator = 133;
    private const int FactorDenominator = 50;

    /// <summary>
    /// The chart of values in the order in which they came; null with fewer than two, which have no moving range.
    /// </summary>
    public static ControlChart? Of(IReadOnlyList<Money> values)
    {
        ArgumentNullException.ThrowIfNull(values);
        if (values.Count < 2)
        {
            return null;
        }

        Int128 n = values.Count;
        var sum = values.Aggregate(Int128.Zero, (total, v) => total + v.Minor);
        var ranges = values.Zip(values.Skip(1))
            .Aggregate(Int128.Zero, (total, pair) => total + Int128.Abs((Int128)pair.Second.Minor - pair.First.Minor));
        var denominator = FactorDenominator * n * (n - 1);
        var centre = checked(FactorDenominator * (n - 1) * sum);
        var width = checked(FactorNumerator * n * ranges);
        return new ControlChart(
            Rounded(sum, n), Rounded(ranges, n - 1), Rounded(centre - width, denominator),
            Rounded(centre + width, denominator),
            [.. Enumerable.Range(0, values.Count)
                .Where(i => Int128.Abs(checked(values[i].Minor * denominator) - centre) > width)]);
    }

    private static Money Rounded(Int128 numerator, Int128 denominator)
    {
        var (whole, rest) = Int128.DivRem(Int128.Abs(numerator), denominator);
        var nearest = 2 * rest >= denominator ? whole + 1 : whole;
        return new Money((long)(numerator < 0 ? -nearest : nearest));
    }
}
