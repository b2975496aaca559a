namespace CashEvents.Domain.Tests.Calendars;

public class MonthTests
{
    [Theory]
    [InlineData("2026-11", "2026-11-01", "2026-11-30", "2026-12", "2026-10")]
    [InlineData("2026-12", "2026-12-01", "2026-12-31", "2027-01", "2026-11")]
    // ISO 8601 follows the Gregorian rule: 2000 was a leap year, 2100 will not be.
    [InlineData("2000-02", "2000-02-01", "2000-02-29", "2000-03", "2000-01")]
    [InlineData("2100-02", "2100-02-01", "2100-02-28", "2100-03", "2100-01")]
    public void A_month_knows_its_days_and_its_neighbours(string written, string first, string last, string next,
        string previous)
    {
        var month = Month.Read(written)!.Value;

        Assert.Equal((first, last, next, previous, written),
            (month.First.ToString("O"), month.Last.ToString("O"), month.Next.ToString(), month.Previous.ToString(),
                month.ToString()));
    }

    [Theory]
    [InlineData("2026-13")]
    [InlineData("2026-1")]
    [InlineData("26-01")]
    [InlineData("November")]
    public void What_is_not_written_as_a_month_is_none(string written) => Assert.Null(Month.Read(written));
}
