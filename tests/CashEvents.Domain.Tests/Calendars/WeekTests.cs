using CsCheck;

namespace CashEvents.Domain.Tests.Calendars;

public class WeekTests
{
    // Years of 53 weeks from 2000: OEIS A249404, the number of ISO 8601 weeks of each year. Before 2000: leap years
    // that begin on a Wednesday
    // and years that begin on a Thursday, the rule in the encyclopedic article on the ISO week date.
    private static readonly int[] _longYears =
        [1992, 1998, 2004, 2009, 2015, 2020, 2026, 2032, 2037, 2043, 2048, 2054, 2060];

    private static readonly DateOnly _from = new(1990, 1, 1);
    private static readonly DateOnly _to = new(2060, 12, 31);

    private static IEnumerable<DateOnly> Days =>
        Enumerable.Range(_from.DayNumber, _to.DayNumber - _from.DayNumber + 1).Select(DateOnly.FromDayNumber);

    [Fact]
    public void Years_have_53_weeks_exactly_where_the_published_list_says_so()
    {
        var lastWeeks = Days.Select(day => Week.Of(day, DayOfWeek.Monday)).Where(w => w.Year is >= 1990 and <= 2060)
            .GroupBy(w => w.Year).Select(y => (Year: y.Key, Weeks: y.Max(w => w.Number))).ToList();

        Assert.Equal(71, lastWeeks.Count);
        Assert.All(lastWeeks, year => Assert.Equal(_longYears.Contains(year.Year) ? 53 : 52, year.Weeks));
    }

    // ISO 8601: week 1 is the week with the year's first Thursday in it; the weeks after it are counted on.
    [Fact]
    public void Weeks_are_counted_from_the_one_with_the_years_first_Thursday()
    {
        for (var year = 1990; year <= 2060; year++)
        {
            var thursday = Enumerable.Range(1, 7).Select(d => new DateOnly(year, 1, d))
                .Single(d => d.DayOfWeek == DayOfWeek.Thursday);
            var number = 1;
            for (var monday = thursday.AddDays(-3); monday.AddDays(3).Year == year; monday = monday.AddDays(7),
                number++)
            {
                for (var d = 0; d < 7; d++)
                {
                    var week = Week.Of(monday.AddDays(d), DayOfWeek.Monday);
                    Assert.Equal((monday, monday.AddDays(6), year, number),
                        (week.First, week.Last, week.Year, week.Number));
                    Assert.Equal($"{year}-W{number:00}", week.ToString());
                }
            }
        }
    }

    // The first four are printed in the encyclopedic article on the ISO week date (2006-W52-7, 2004-W53-7, 2020-W01-1,
    // 2024-W51-5); the others follow from the year of 53 weeks.
    [Theory]
    [InlineData("2006-12-31", "2006-W52")]
    [InlineData("2005-01-02", "2004-W53")]
    [InlineData("2019-12-30", "2020-W01")]
    [InlineData("2024-12-20", "2024-W51")]
    [InlineData("2026-12-31", "2026-W53")]
    [InlineData("2027-01-03", "2026-W53")]
    [InlineData("2027-01-04", "2027-W01")]
    public void A_day_is_in_the_week_that_ISO_8601_gives_it(string day, string week) =>
        Assert.Equal(week, Week.Of(DateOnly.Parse(day), DayOfWeek.Monday).ToString());

    [Fact]
    public void Whatever_day_weeks_start_on_each_day_is_in_exactly_one_and_its_name_is_read_back() =>
        Gen.Select(Gen.Int[new DateOnly(1900, 1, 1).DayNumber, new DateOnly(9998, 12, 31).DayNumber]
            .Select(DateOnly.FromDayNumber), Gen.Enum<DayOfWeek>()).Sample((day, startsOn) =>
        {
            var week = Week.Of(day, startsOn);

            Assert.Equal(startsOn, week.First.DayOfWeek);
            Assert.True(week.First <= day && day <= week.Last);
            Assert.Equal(week.First.AddDays(6), week.Last);
            Assert.Equal((week.Next, week.Previous),
                (Week.Of(day.AddDays(7), startsOn), new Week(week.First.AddDays(-7))));
            Assert.InRange(week.Number, 1, 53);
            Assert.Equal(1, week.FirstOfItsYear.Number);
            Assert.Equal(week.Year, week.FirstOfItsYear.Year);
            Assert.Equal(week.First, week.FirstOfItsYear.First.AddDays(7 * (week.Number - 1)));
            Assert.Equal(week, Week.Holding(day.ToString("yyyy-MM-dd"), startsOn, "week"));
            if (Week.IsTold(week.First))
            {
                Assert.Equal(week, Week.Read(week.ToString(), startsOn, "week"));
                Assert.Equal(week, Week.Read(week.First.ToString("yyyy-MM-dd"), startsOn, "week"));
            }

            var beginning = Week.BeginningFrom(day, startsOn);
            Assert.True(day <= beginning.First && beginning.Previous.First < day);
        });

    [Theory]
    [InlineData("2026-W47", DayOfWeek.Monday, "2026-11-16")]
    [InlineData("2026-W01", DayOfWeek.Monday, "2025-12-29")]
    [InlineData("2020-W53", DayOfWeek.Monday, "2020-12-28")]
    [InlineData("2026-11-16", DayOfWeek.Monday, "2026-11-16")]
    [InlineData("2026-11-15", DayOfWeek.Sunday, "2026-11-15")]
    [InlineData("2026-11-14", DayOfWeek.Saturday, "2026-11-14")]
    public void A_week_is_read_by_its_number_or_its_first_day(string written, DayOfWeek startsOn, string first) =>
        Assert.Equal(DateOnly.Parse(first), Week.Read(written, startsOn, "week").First);

    [Theory]
    [InlineData("2026-11-18", DayOfWeek.Monday, "2026-W47", "2026-W48")]
    [InlineData("2026-11-16", DayOfWeek.Sunday, "2026-11-15", "2026-11-22")]
    [InlineData("2026-W47", DayOfWeek.Sunday, "2026-11-15", "2026-11-22")]
    [InlineData("2026-W47", DayOfWeek.Saturday, "2026-11-14", "2026-11-21")]
    public void A_week_that_starts_elsewhere_is_refused_with_the_two_nearest(string written, DayOfWeek startsOn,
        string before, string after)
    {
        var refusal = Refused(() => Week.Read(written, startsOn, "week"));

        Assert.Equal(("week-starts-elsewhere", "week"), (refusal.Code, refusal.Field));
        Assert.Equal([before, after], refusal.Suggestions);
        Assert.Contains(startsOn.ToString(), refusal.Detail);
        Assert.Contains(before, refusal.Detail);
        Assert.Contains(after, refusal.Detail);
    }

    [Theory]
    [InlineData("2025-W53", "week-unknown")]
    [InlineData("2026-W54", "week-unknown")]
    [InlineData("2026-W00", "week-unknown")]
    [InlineData("0001-W01", "week-unknown")]
    [InlineData("9999-W52", "week-unknown")]
    [InlineData("0001-01-01", "week-unknown")]
    [InlineData("1899-12-31", "week-unknown")]
    [InlineData("1899-W52", "week-unknown")]
    [InlineData("9999-12-31", "week-unknown")]
    [InlineData("2026-W7", "week-unreadable")]
    [InlineData("2026W47", "week-unreadable")]
    [InlineData("2026-w47", "week-unreadable")]
    [InlineData("2026-W47-1", "week-unreadable")]
    [InlineData("2026-W47\n", "week-unreadable")]
    [InlineData("２０２６-W47", "week-unreadable")]
    [InlineData("2026-11-31", "week-unreadable")]
    [InlineData("", "week-unreadable")]
    public void What_is_no_week_is_refused(string written, string code)
    {
        Assert.Equal((code, "from"),
            (Refused(() => Week.Read(written, DayOfWeek.Monday, "from")).Code,
                Refused(() => Week.Read(written, DayOfWeek.Monday, "from")).Field));
        Assert.Equal(code == "week-unknown", Week.HasForm(written));
    }

    private static Refusal Refused(Func<Week> read) => Assert.Throws<RefusalException>(() => read()).Refusal;
}
