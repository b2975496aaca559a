namespace CashEvents.Domain.Amounts;

/// <summary>Shares an amount out so that the shares add up to it, to the minor unit.</summary>
public static class LargestRemainder
{
    /// <summary>
    /// Shares in proportion to parts: each rounded down, then one minor unit more where the remainder is largest, the
    /// earlier part first.
    /// </summary>
    /// <param name="amount">Zero or more.</param>
    /// <param name="parts">Zero or more each, and not all zero.</param>
    public static IReadOnlyList<Money> Share(Money amount, IReadOnlyList<long> parts)
    {
        ArgumentNullException.ThrowIfNull(parts);
        ArgumentOutOfRangeException.ThrowIfLessThan(amount, Money.Zero);
        var whole = parts.Aggregate(Int128.Zero, (sum, p) => sum + p);
        var shares = parts.Select(p => (long)(amount.Minor * (Int128)p / whole)).ToArray();
        var left = (int)(amount.Minor - shares.Sum());
        foreach (var i in Enumerable.Range(0, parts.Count)
            .OrderByDescending(i => amount.Minor * (Int128)parts[i] % whole).Take(left))
        {
            shares[i]++;
        }

        return [.. shares.Select(s => new Money(s))];
    }
}
