namespace CashEvents.Domain.Tests.Calendars;

public class PeriodTests
{
    [Theory]
    [InlineData("P1M", "2026-01-31", 1, "2026-02-28")]
    [InlineData("P1M", "2026-01-31", 2, "2026-03-31")]
    [InlineData("P1Y", "2024-02-29", 1, "2025-02-28")]
    [InlineData("P1Y", "2024-02-29", 4, "2028-02-29")]
    [InlineData("P2W", "2026-12-25", 1, "2027-01-08")]
    [InlineData("P10D", "2026-12-25", 3, "2027-01-24")]
    public void Days_come_again_after_so_many_periods(string period, string first, int times, string day) =>
        Assert.Equal(DateOnly.Parse(day), Period.Read(period, "every").After(DateOnly.Parse(first), times));

    [Theory]
    [InlineData("P1M")]
    [InlineData("P120M")]
    [InlineData("P3660D")]
    public void A_period_is_written_as_it_was_read(string written) =>
    Assert.Equal(written, Period.Of(Period.Read(written, "every").ToString()).ToString());

    [Theory]
    [InlineData("", "period-unreadable")]
    [InlineData("monthly", "period-unreadable")]
    [InlineData("P0M", "period-unreadable")]
    [InlineData("P1M\n", "period-unreadable")]
    [InlineData("P1Y6M", "period-unreadable")]
    [InlineData("PT1H", "period-unreadable")]
    [InlineData("P-1M", "period-unreadable")]
    [InlineData("P121M", "period-too-long")]
    [InlineData("P11Y", "period-too-long")]
    public void Another_form_is_refused_with_the_mend(string written, string code)
    {
        var refusal = Assert.Throws<RefusalException>(() => Period.Read(written, "every")).Refusal;

        Assert.Equal((code, "every"), (refusal.Code, refusal.Field));
    }
}
