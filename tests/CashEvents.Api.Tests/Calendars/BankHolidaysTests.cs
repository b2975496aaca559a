using CashEvents.Api.Calendars;
using CashEvents.Domain.Books;
using CashEvents.Domain.Calendars;
using PublicHoliday;
using Xunit;

namespace CashEvents.Api.Tests.Calendars;

public sealed class BankHolidaysTests
{
    /// <summary>
    /// Federal holidays as observed, 5 U.S.C. 6103 and Executive Order 11582, in the order of the Office of Personnel Management's lists for 2024 to 2027:
    /// New Year's Day, Martin Luther King, Washington's Birthday, Memorial Day, Juneteenth, Independence Day, Labor Day, Columbus Day, Veterans Day, Thanksgiving, Christmas.
    /// From memory of the lists; each date follows from the statute.
    /// </summary>
    private static readonly Dictionary<int, string> _federal = new()
    {
        [2024] = "01-01 01-15 02-19 05-27 06-19 07-04 09-02 10-14 11-11 11-28 12-25",
        [2025] = "01-01 01-20 02-17 05-26 06-19 07-04 09-01 10-13 11-11 11-27 12-25",
        [2026] = "01-01 01-19 02-16 05-25 06-19 07-03 09-07 10-12 11-11 11-26 12-25",
        [2027] = "01-01 01-18 02-15 05-31 06-18 07-05 09-06 10-11 11-11 11-25 12-24",
    };

    /// <summary>Fridays on which federal offices are closed for a holiday of the Saturday after, and Reserve Banks are open: note * of the Federal Reserve's K.8.</summary>
    private static readonly DateOnly[] _fridaysBefore = [new(2026, 7, 3), new(2027, 6, 18), new(2027, 12, 24)];

    /// <summary>
    /// K.8, Holidays Observed by the Federal Reserve System 2026-2030 (federalreserve.gov, updated 31 December 2025): without those marked * for Saturday, on whose Fridays
    /// Reserve Banks are open, and with the Monday after those marked ** for Sunday.
    /// </summary>
    private static readonly Dictionary<int, string> _reserveBanks = new()
    {
        [2026] = "01-01 01-19 02-16 05-25 06-19 09-07 10-12 11-11 11-26 12-25",
        [2027] = "01-01 01-18 02-15 05-31 07-05 09-06 10-11 11-11 11-25",
        [2028] = "01-17 02-21 05-29 06-19 07-04 09-04 10-09 11-23 12-25",
        [2029] = "01-01 01-15 02-19 05-28 06-19 07-04 09-03 10-08 11-12 11-22 12-25",
        [2030] = "01-01 01-21 02-18 05-27 06-19 07-04 09-02 10-14 11-11 11-28 12-25",
    };

    public static TheoryData<string> Countries => [.. BankHolidays.Countries];

    [Theory]
    [InlineData(2024)]
    [InlineData(2025)]
    [InlineData(2026)]
    [InlineData(2027)]
    public void The_packages_federal_holidays_are_those_that_are_published(int year) =>
        Assert.Equal(Federal(year), new USAPublicHoliday().PublicHolidays(year).Select(DateOnly.FromDateTime).Order());

    [Theory]
    [InlineData(2024)]
    [InlineData(2025)]
    [InlineData(2026)]
    [InlineData(2027)]
    public void Banks_of_the_United_States_are_closed_on_the_federal_holidays_but_for_Fridays_before_a_Saturday(int year) => Assert.Equal(
        Federal(year).Except(_fridaysBefore), WeekdaysClosed("US", year));

    [Theory]
    [InlineData(2026)]
    [InlineData(2027)]
    [InlineData(2028)]
    [InlineData(2029)]
    [InlineData(2030)]
    public void Banks_of_the_United_States_are_closed_on_the_days_that_the_Federal_Reserve_publishes(int year) =>
        Assert.Equal(Days(year, _reserveBanks[year]), WeekdaysClosed("US", year));

    [Fact]
    public void A_holiday_has_its_name_and_two_on_one_day_have_both()
    {
        Assert.Equal("Christmas Day", BankHolidays.Of("AU", 2026)[new DateOnly(2026, 12, 25)]);
        // Ascension Day, the fortieth of Easter, fell on the ninth of May in 2024, which is Europe Day.
        var both = BankHolidays.Of("LU", 2024)[new DateOnly(2024, 5, 9)];
        Assert.Contains("Christi Himmelfaar", both, StringComparison.Ordinal);
        Assert.Contains("Europadag", both, StringComparison.Ordinal);
    }

    [Theory]
    [MemberData(nameof(Countries))]
    public void Every_country_has_holidays_in_every_year_that_is_told_and_never_a_month_without_a_bank_day(string country)
    {
        var calendar = new HouseholdCalendar(country);

        for (var year = BankDate.FirstTold.Year - 1; year <= BankDate.LastTold.Year + 1; year++)
        {
            Assert.InRange(BankHolidays.Of(country, year).Count, 4, 25);
            Assert.All(Enumerable.Range(1, 12), month => Assert.InRange(BankDate.Of(new DateOnly(year, month, 1), NotBankDay.Next, calendar).Closed.Count, 0, 12));
        }
    }

    [Theory]
    [InlineData("XX")]
    [InlineData("us")]
    [InlineData("UK")]
    [InlineData("KZ")]
    public void A_country_that_is_not_known_is_refused_with_those_that_are(string country)
    {
        var refusal = Assert.Throws<RefusalException>(() => BankHolidays.MustKnow(country)).Refusal;

        Assert.Equal(("country-unknown", "country"), (refusal.Code, refusal.Field));
        Assert.Contains("GB, GR", refusal.Detail, StringComparison.Ordinal);
    }

    private static IEnumerable<DateOnly> WeekdaysClosed(string country, int year) =>
        BankHolidays.Of(country, year).Keys.Where(day => day.DayOfWeek is not (DayOfWeek.Saturday or DayOfWeek.Sunday)).Order();

    private static IEnumerable<DateOnly> Federal(int year) => Days(year, _federal[year]);

    private static IEnumerable<DateOnly> Days(int year, string days) => days.Split(' ').Select(day => DateOnly.ParseExact($"{year}-{day}", "yyyy-MM-dd"));
}
