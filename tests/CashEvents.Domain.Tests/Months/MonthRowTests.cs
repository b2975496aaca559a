using System.Globalization;

namespace CashEvents.Domain.Tests.Months;

public class MonthRowTests
{
    private static readonly Part _ferry = new("ferry-fares", Holding.Cash);
    private static readonly Part _boat = new("boat-insurance", Holding.Cash);
    private static readonly Part _boatInBank = new("boat-insurance", Holding.Bank);

    [Fact]
    public void Each_month_opens_with_what_the_one_before_it_closed_with()
    {
        // Given forty in September, some of it spent in October, and bank money brought home in December.
        IReadOnlyList<IMovement> movements =
        [
            new Filled(_ferry.Compartment, Holding.Cash, new Money(4000), Day("2026-09-30"), ""),
            new Filled(_boatInBank.Compartment, Holding.Bank, new Money(5000), Day("2026-10-01"), ""),
            new Spent(_ferry.Compartment, Holding.Cash, new Money(840), Day("2026-10-31"), ""),
            new Transferred(_boatInBank, _boat, new Money(2000), Day("2026-12-01"), ""),
            new Transferred(_ferry, _boat, new Money(100), Day("2026-12-02"), ""),
        ];
        var months = Month.Through(Month.Of(Day("2026-10-15")), Month.Of(Day("2026-12-15")));

        // When October to December are put side by side.
        var rows = MonthRow.Of(months, ColumnTotals.Of(movements, [.. months.Select(m => m.First)], months[^1].Last));

        // Then November, in which nothing moved, stands there too, and what moved between the holdings of one
        // compartment changes where the money lies only.
        Assert.Equal(
            ["2026-10: 4000 to 3160 + 5000", "2026-11: 8160 to 3160 + 5000", "2026-12: 8160 to 5160 + 3000"],
            rows.Select(r => $"{r.Month}: {r.Opening.Minor} to {r.ClosingCash.Minor} + {r.ClosingBank.Minor}"));
        Assert.Equal((5000, -840), (rows[0].In(Column.Filled).Minor, rows[0].In(Column.Spent).Minor));
        Assert.Empty(rows[1].Changes);
        Assert.Equal((100, -100, 2000),
            (rows[2].In(Column.MovedIn).Minor, rows[2].In(Column.MovedOut).Minor, rows[2].In(Column.HoldingIn).Minor));
    }

    [Theory]
    [InlineData("2026-11", "2026-11", 1)]
    [InlineData("2025-12", "2027-01", 14)]
    [InlineData("2026-11", "2026-10", 0)]
    public void Months_are_counted_with_the_first_and_the_last(string first, string last, int count)
    {
        var months = Month.Through(Month.Read(first)!.Value, Month.Read(last)!.Value);

        Assert.Equal(count, months.Count);
        Assert.All(months.Zip(months.Skip(1)), pair => Assert.Equal(pair.First.Next, pair.Second));
        Assert.Equal(count == 0 ? [] : [first, last],
            count == 0 ? [] : (string[])[months[0].ToString(), months[^1].ToString()]);
    }

    private static DateOnly Day(string written) =>
        DateOnly.ParseExact(written, "yyyy-MM-dd", CultureInfo.InvariantCulture);
}
