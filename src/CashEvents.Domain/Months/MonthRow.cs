using System.Collections.Immutable;

namespace CashEvents.Domain.Months;

/// <summary>A month of the whole household in one row.</summary>
/// <param name="Month">The month.</param>
/// <param name="Opening">What all places held before its first day.</param>
/// <param name="Changes">What changed it, by column; in is positive, out negative. Columns that nothing stands in are
/// absent.</param>
/// <param name="ClosingCash">The cash at the end of its last day.</param>
/// <param name="ClosingBank">The bank parts at the end of its last day.</param>
public sealed record MonthRow(Month Month, Money Opening, ImmutableSortedDictionary<Column, Money> Changes,
    Money ClosingCash, Money ClosingBank)
{
    /// <summary>At the end of its last day.</summary>
    public Money Closing => ClosingCash + ClosingBank;

    /// <summary>What changed it in one column.</summary>
    public Money In(Column column) => Changes.GetValueOrDefault(column);

    /// <summary>Months that follow one another, each opening with what the one before it closed with.</summary>
    /// <param name="months">The months, in order.</param>
    /// <param name="totals">The columns added up over them.</param>
    public static IReadOnlyList<MonthRow> Of(IReadOnlyList<Month> months, ColumnTotals totals)
    {
        ArgumentNullException.ThrowIfNull(months);
        ArgumentNullException.ThrowIfNull(totals);
        var changes = totals.Changes.ToLookup(c => c.Slice);
        var cash = Sum(totals.Openings.Where(o => o.Key.Holding == Holding.Cash).Select(o => o.Value));
        var bank = Sum(totals.Openings.Where(o => o.Key.Holding == Holding.Bank).Select(o => o.Value));
        var rows = new List<MonthRow>(months.Count);
        foreach (var month in months)
        {
            var opening = cash + bank;
            cash += Sum(changes[month.First].Where(c => c.Place.Holding == Holding.Cash).Select(c => c.Change));
            bank += Sum(changes[month.First].Where(c => c.Place.Holding == Holding.Bank).Select(c => c.Change));
            rows.Add(new MonthRow(month, opening,
                changes[month.First].GroupBy(c => c.Column)
                    .ToImmutableSortedDictionary(c => c.Key, c => Sum(c.Select(x => x.Change))), cash, bank));
        }

        return rows;
    }

    private static Money Sum(IEnumerable<Money> amounts) =>
        amounts.Aggregate(Money.Zero, (sum, amount) => sum + amount);
}
