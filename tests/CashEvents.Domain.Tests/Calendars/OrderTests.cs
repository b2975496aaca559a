using static CashEvents.Domain.Tests.Books.HarbourRow;

namespace CashEvents.Domain.Tests.Calendars;

/// <summary>Weeks and months come before one another as their first days do.</summary>
public class OrderTests
{
    [Fact]
    public void Weeks_are_in_the_order_of_their_days()
    {
        var (one, next) = (Week.Of(Sept(7), DayOfWeek.Monday), Week.Of(Sept(14), DayOfWeek.Monday));

        Assert.Equal([one, next], new[] { next, one }.Order());
        Assert.Equal([true, false, false], [one < next, next < one, one < Week.Of(Sept(8), DayOfWeek.Monday)]);
        Assert.Equal([false, true, false], [one > next, next > one, one > Week.Of(Sept(8), DayOfWeek.Monday)]);
        Assert.Equal([true, false, true], [one <= next, next <= one, one <= Week.Of(Sept(8), DayOfWeek.Monday)]);
        Assert.Equal([false, true, true], [one >= next, next >= one, one >= Week.Of(Sept(8), DayOfWeek.Monday)]);
    }

    [Fact]
    public void Months_are_in_the_order_of_their_days()
    {
        var (one, next) = (new Month(Sept(1)), new Month(Sept(1)).Next);

        Assert.Equal([one, next], new[] { next, one }.Order());
        Assert.Equal([true, false, false], [one < next, next < one, one < Month.Of(Sept(8))]);
        Assert.Equal([false, true, false], [one > next, next > one, one > Month.Of(Sept(8))]);
        Assert.Equal([true, false, true], [one <= next, next <= one, one <= Month.Of(Sept(8))]);
        Assert.Equal([false, true, true], [one >= next, next >= one, one >= Month.Of(Sept(8))]);
        Assert.Empty(Month.Through(next, one));
        Assert.Equal([one], Month.Through(one, one));
        Assert.Equal((14, -14), (one.MonthsTo(one.Plus(14)), one.Plus(14).MonthsTo(one)));
    }
}
