using PublicHoliday;
using Xunit;

namespace CashEvents.Api.Tests.Paydays;

public sealed class BankHolidaysTests
{
    /// <summary>
    /// Federal holidays as observed, 5 U.S.C. 6103 and Executive Order 11582, in the order of the Office of Personnel
    /// Management's lists for 2024 to 2027:
    /// New Year's Day, Martin Luther King, Washington's Birthday, Memorial Day, Juneteenth, Independence Day, Labor
    /// Day, Columbus Day, Veterans Day, Thanksgiving, Christmas; on 31 December 2027 the New Year of 2028.
    /// From memory of the lists; each date follows from the statute.
    /// </summary>
    private static readonly Dictionary<int, string> _federal = new()
    {
        [2024] = "01-01 01-15 02-19 05-27 06-19 07-04 09-02 10-14 11-11 11-28 12-25",
        [2025] = "01-01 01-20 02-17 05-26 06-19 07-04 09-01 10-13 11-11 11-27 12-25",
        [2026] = "01-01 01-19 02-16 05-25 06-19 07-03 09-07 10-12 11-11 11-26 12-25",
        [2027] = "01-01 01-18 02-15 05-31 06-18 07-05 09-06 10-11 11-11 11-25 12-24 12-31",
    };

    /// <summary>
    /// Fridays on which federal offices are closed for a holiday of the Saturday after, and Reserve Banks are open:
    /// note * of the Federal Reserve's K.8.
    /// </summary>
    private static readonly DateOnly[] _fridaysBefore =
        [new(2026, 7, 3), new(2027, 6, 18), new(2027, 12, 24), new(2027, 12, 31)];

    /// <summary>
    /// K.8, Holidays Observed by the Federal Reserve System 2026-2030 (federalreserve.gov, updated 31 December 2025):
    /// without those marked * for Saturday, on whose Fridays
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

    /// <summary>
    /// gov.uk/bank-holidays, England and Wales, from its data (alphagov/frontend, lib/data/bank-holidays.json): 2020,
    /// when early May moved to VE day, to 2022, with the jubilee;
    /// the state funeral of 2022, 2023 with the coronation, 2026 and 2027 from memory of the page.
    /// </summary>
    private static readonly Dictionary<int, string> _englandAndWales = new()
    {
        [2020] = "01-01 04-10 04-13 05-08 05-25 08-31 12-25 12-28",
        [2021] = "01-01 04-02 04-05 05-03 05-31 08-30 12-27 12-28",
        [2022] = "01-03 04-15 04-18 05-02 06-02 06-03 08-29 09-19 12-26 12-27",
        [2023] = "01-02 04-07 04-10 05-01 05-08 05-29 08-28 12-25 12-26",
        [2026] = "01-01 04-03 04-06 05-04 05-25 08-31 12-25 12-28",
        [2027] = "01-01 03-26 03-29 05-03 05-31 08-30 12-27 12-28",
    };

    /// <summary>
    /// Irish banks, by the rule of the lists of Banking and Payments Federation Ireland for 2017 to 2020 (as
    /// date-holidays, IE.yaml, and Open Source Risk Engine, ireland.cpp, give it);
    /// 2022 and 2023 as calendars showed them, with the one-off of 18 March 2022. Each date is worked out by hand.
    /// </summary>
    private static readonly Dictionary<int, string> _irishBanks = new()
    {
        [2020] = "01-01 03-17 04-10 04-13 05-04 06-01 08-03 10-26 12-25 12-28 12-29",
        [2021] = "01-01 03-17 04-02 04-05 05-03 06-07 08-02 10-25 12-27 12-28 12-29",
        [2022] = "01-03 03-17 03-18 04-15 04-18 05-02 06-06 08-01 10-31 12-26 12-27 12-28",
        [2023] = "01-02 02-06 03-17 04-07 04-10 05-01 06-05 08-07 10-30 12-25 12-26 12-27",
        [2024] = "01-01 02-05 03-18 03-29 04-01 05-06 06-03 08-05 10-28 12-25 12-26 12-27",
        [2025] = "01-01 02-03 03-17 04-18 04-21 05-05 06-02 08-04 10-27 12-25 12-26 12-29",
        [2026] = "01-01 02-02 03-17 04-03 04-06 05-04 06-01 08-03 10-26 12-25 12-28 12-29",
        [2027] = "01-01 02-01 03-17 03-26 03-29 05-03 06-07 08-02 10-25 12-27 12-28 12-29",
    };

    public static TheoryData<int> BritishYears => [.. _englandAndWales.Keys];

    public static TheoryData<int> IrishYears => [.. _irishBanks.Keys];

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
    public void Banks_of_the_United_States_are_closed_on_the_federal_holidays_but_for_Fridays_before_a_Saturday(
        int year) => Assert.Equal(
        Federal(year).Except(_fridaysBefore), WeekdaysClosed("US", year));

    [Theory]
    [InlineData(2026)]
    [InlineData(2027)]
    [InlineData(2028)]
    [InlineData(2029)]
    [InlineData(2030)]
    public void Banks_of_the_United_States_are_closed_on_the_days_that_the_Federal_Reserve_publishes(int year) =>
        Assert.Equal(Days(year, _reserveBanks[year]), WeekdaysClosed("US", year));

    [Theory]
    [MemberData(nameof(BritishYears))]
    public void Banks_of_Great_Britain_are_closed_on_the_days_that_are_published_for_England_and_Wales(int year) =>
        Assert.Equal(Days(year, _englandAndWales[year]), WeekdaysClosed("GB", year));

    [Theory]
    [MemberData(nameof(IrishYears))]
    public void Banks_of_Ireland_are_closed_on_their_own_days_and_those_in_lieu_too(int year) =>
        Assert.Equal(Days(year, _irishBanks[year]), WeekdaysClosed("IE", year));

    [Fact]
    public void Days_that_nobody_checked_say_so_and_the_others_do_not()
    {
        Assert.Equal(BankHolidays.Checked,
            BankHolidays.Countries.Where(country => BankHolidays.NoteOn(country) is null));
        Assert.Null(BankHolidays.NoteOn(null));
        Assert.Contains("The bank holidays of PT were not checked", BankHolidays.NoteOn("PT"),
            StringComparison.Ordinal);
    }

    [Fact]
    public void A_holiday_has_its_name_and_two_on_one_day_have_both()
    {
        Assert.Equal("Christmas Day", BankHolidays.Of("AU", 2026)[new DateOnly(2026, 12, 25)]);
        // Ascension Day, the fortieth of Easter, fell on the ninth of May in 2024, which is Europe Day.
        var both = BankHolidays.Of("LU", 2024)[new DateOnly(2024, 5, 9)];
        Assert.Contains("Ascension", both, StringComparison.Ordinal);
        Assert.Contains("Europe Day", both, StringComparison.Ordinal);
    }

    [Theory]
    [MemberData(nameof(Countries))]
    public void Every_country_has_holidays_in_every_year_that_is_told_and_never_a_month_without_a_bank_day(
        string country)
    {
        var calendar = new HouseholdCalendar(country);

        for (var year = BankDate.FirstTold.Year - 1; year <= BankDate.LastTold.Year + 1; year++)
        {
            Assert.InRange(BankHolidays.Of(country, year).Count, 4, 25);
            Assert.All(Enumerable.Range(1, 12),
                month => Assert.InRange(BankDate.Of(new DateOnly(year, month, 1), NotBankDay.Next,
                    calendar).Closed.Count, 0, 12));
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
        BankHolidays.Of(country, year).Keys.Where(day => day.DayOfWeek is not (DayOfWeek.Saturday or DayOfWeek.Sunday))
            .Order();

    private static IEnumerable<DateOnly> Federal(int year) => Days(year, _federal[year]);

    private static IEnumerable<DateOnly> Days(int year, string days) =>
        days.Split(' ').Select(day => DateOnly.ParseExact($"{year}-{day}", "yyyy-MM-dd"));
}
