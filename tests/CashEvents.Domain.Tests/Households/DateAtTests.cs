using System.Globalization;

namespace CashEvents.Domain.Tests.Households;

/// <summary>
/// The household's date at an instant. Offsets and the days on which clocks change: the IANA time zone database.
/// </summary>
public class DateAtTests
{
    [Theory]
    // Ireland: summer time, an hour ahead, from 2026-03-29 01:00 to 2026-10-25 01:00 UTC.
    [InlineData("Europe/Dublin", "2026-03-28T23:59:59.9999999Z", "2026-03-28")]
    [InlineData("Europe/Dublin", "2026-03-29T00:00:00Z", "2026-03-29")]
    [InlineData("Europe/Dublin", "2026-03-29T22:59:59Z", "2026-03-29")]
    [InlineData("Europe/Dublin", "2026-03-29T23:00:00Z", "2026-03-30")]
    [InlineData("Europe/Dublin", "2026-10-24T22:59:59Z", "2026-10-24")]
    [InlineData("Europe/Dublin", "2026-10-24T23:00:00Z", "2026-10-25")]
    [InlineData("Europe/Dublin", "2026-10-25T23:30:00Z", "2026-10-25")]
    [InlineData("Europe/Dublin", "2026-10-26T00:00:00Z", "2026-10-26")]
    // New Zealand: 13 hours ahead in summer, until 2026-04-04 14:00 UTC; then 12, until 2026-09-26 14:00 UTC.
    [InlineData("Pacific/Auckland", "2026-04-03T10:59:59Z", "2026-04-03")]
    [InlineData("Pacific/Auckland", "2026-04-03T11:00:00Z", "2026-04-04")]
    [InlineData("Pacific/Auckland", "2026-04-05T11:00:00Z", "2026-04-05")]
    [InlineData("Pacific/Auckland", "2026-04-05T12:00:00Z", "2026-04-06")]
    [InlineData("Pacific/Auckland", "2026-09-26T11:59:59Z", "2026-09-26")]
    [InlineData("Pacific/Auckland", "2026-09-26T12:00:00Z", "2026-09-27")]
    [InlineData("Pacific/Auckland", "2026-09-27T11:00:00Z", "2026-09-28")]
    // Newfoundland: three and a half hours behind; two and a half in summer, from 2026-03-08 05:30 to 2026-11-01 04:30
    // UTC.
    [InlineData("America/St_Johns", "2026-03-08T03:29:59Z", "2026-03-07")]
    [InlineData("America/St_Johns", "2026-03-08T03:30:00Z", "2026-03-08")]
    [InlineData("America/St_Johns", "2026-03-09T02:29:59Z", "2026-03-08")]
    [InlineData("America/St_Johns", "2026-03-09T02:30:00Z", "2026-03-09")]
    [InlineData("America/St_Johns", "2026-11-01T02:30:00Z", "2026-11-01")]
    [InlineData("America/St_Johns", "2026-11-02T03:29:59Z", "2026-11-01")]
    [InlineData("America/St_Johns", "2026-11-02T03:30:00Z", "2026-11-02")]
    // Rules of its own until 2011: Newfoundland changed its clocks a minute past midnight, so that a day began twice.
    [InlineData("America/St_Johns", "2010-11-07T02:30:00Z", "2010-11-07")]
    [InlineData("America/St_Johns", "2010-11-07T02:31:00Z", "2010-11-06")]
    [InlineData("America/St_Johns", "2010-11-07T03:30:00Z", "2010-11-07")]
    // Samoa had no 30 December 2011: it crossed the date line.
    [InlineData("Pacific/Apia", "2011-12-30T09:59:59Z", "2011-12-29")]
    [InlineData("Pacific/Apia", "2011-12-30T10:00:00Z", "2011-12-31")]
    public void An_instant_falls_on_the_date_of_the_households_calendar(string timeZone, string instant, string date) =>
        Assert.Equal(DateOnly.Parse(date, CultureInfo.InvariantCulture),
            In(timeZone).DateAt(DateTimeOffset.Parse(instant, CultureInfo.InvariantCulture)));

    [Fact]
    public void The_offset_in_which_an_instant_is_written_makes_no_difference() =>
        Assert.Equal(new DateOnly(2026, 9, 25),
            In("Pacific/Auckland").DateAt(new DateTimeOffset(2026, 9, 24, 9, 0, 0, TimeSpan.FromHours(-4))));

    private static Household In(string timeZone) => new("Harbour Row", null, timeZone, DayOfWeek.Monday);
}
