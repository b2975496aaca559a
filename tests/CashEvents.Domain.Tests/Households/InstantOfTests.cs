using System.Globalization;
using CsCheck;

namespace CashEvents.Domain.Tests.Households;

public class InstantOfTests
{
    // Germany: forward from 02:00 to 03:00 on 28 March 2027, back from 03:00 to 02:00 on 31 October 2027, at 01:00 UTC
    // both (Directive 2000/84/EC).
    // New York: 14 March and 7 November 2027 at 02:00 local time (15 U.S.C. 260a). Samoa had no 30 December 2011 (IANA
    // time zone database, Pacific/Apia).
    [Theory]
    [InlineData("Europe/Berlin", "2027-03-27", "02:30", "2027-03-27T01:30:00Z")]
    [InlineData("Europe/Berlin", "2027-03-28", "01:59", "2027-03-28T00:59:00Z")]
    [InlineData("Europe/Berlin", "2027-03-28", "02:00", "2027-03-28T01:00:00Z")]
    [InlineData("Europe/Berlin", "2027-03-28", "02:30", "2027-03-28T01:00:00Z")]
    [InlineData("Europe/Berlin", "2027-03-28", "03:00", "2027-03-28T01:00:00Z")]
    [InlineData("Europe/Berlin", "2027-10-31", "02:30", "2027-10-31T00:30:00Z")]
    [InlineData("Europe/Berlin", "2027-10-31", "03:00", "2027-10-31T02:00:00Z")]
    [InlineData("America/New_York", "2027-03-14", "02:30", "2027-03-14T07:00:00Z")]
    [InlineData("America/New_York", "2027-11-07", "01:30", "2027-11-07T05:30:00Z")]
    [InlineData("America/New_York", "2027-11-07", "02:00", "2027-11-07T07:00:00Z")]
    [InlineData("Pacific/Apia", "2011-12-30", "06:30", "2011-12-30T10:00:00Z")]
    public void A_time_is_the_first_instant_at_which_the_clocks_show_it_or_have_jumped_over_it(string zone, string day,
        string time, string instant)
    {
        var household = new Household("Harbour Row", null, zone, DayOfWeek.Monday);

        var at = household.InstantOf(DateOnly.ParseExact(day, "yyyy-MM-dd", CultureInfo.InvariantCulture),
            TimeOnly.ParseExact(time, "HH:mm", CultureInfo.InvariantCulture));

        Assert.Equal(instant, at.ToString("yyyy-MM-dd'T'HH:mm:ss'Z'", CultureInfo.InvariantCulture));
        Assert.Equal(TimeSpan.Zero, at.Offset);
    }

    private static readonly string[] _zones =
        ["Europe/Berlin", "America/New_York", "America/St_Johns", "Pacific/Apia", "Africa/Cairo", "Australia/Lord_Howe",
            "Asia/Almaty"];

    [Fact]
    public void A_minute_before_it_the_clocks_do_not_show_it_yet_and_at_it_they_do_or_show_later() =>
        Gen.Select(Gen.Int[0, 6], Gen.Int[0, 365 * 25], Gen.Int[0, 1439]).Sample((place, days, minutes) =>
        {
            var zone = _zones[place];
            var (day, time) = (new DateOnly(2010, 1, 1).AddDays(days), new TimeOnly(0, 0).AddMinutes(minutes));

            var at = new Household("Harbour Row", null, zone, DayOfWeek.Monday).InstantOf(day, time);

            var clock = TimeZoneInfo.FindSystemTimeZoneById(zone);
            Assert.True(TimeZoneInfo.ConvertTime(at, clock).DateTime >= day.ToDateTime(time));
            Assert.True(TimeZoneInfo.ConvertTime(at.AddMinutes(-1), clock).DateTime < day.ToDateTime(time));
        });
}
