using CsCheck;
using static CashEvents.Domain.Tests.Books.HarbourRow;

namespace CashEvents.Domain.Tests.Plans;

public class WeekSliceTests
{
    private static Gen<Month> AnyMonth =>
        Gen.Select(Gen.Int[1990, 2060], Gen.Int[1, 12], (year, month) => new Month(new DateOnly(year, month, 1)));

    [Fact]
    public void A_week_in_two_months_shares_its_plan_by_days()
    {
        // 2026-W40 runs from 28 September to 4 October: three days and four. Three sevenths of 25.00 are 10.714...,
        // four sevenths 14.285...
        var september = WeekSlice.Of(new Month(Sept(1)), DayOfWeek.Monday);
        var october = WeekSlice.Of(new Month(new DateOnly(2026, 10, 1)), DayOfWeek.Monday);

        Assert.Equal(("2026-W40", Sept(28), Sept(30), Eur(10.71m)),
            (september[^1].Week.ToString(), september[^1].First, september[^1].Last, september[^1].Share(Eur(25m))));
        Assert.Equal(("2026-W40", new DateOnly(2026, 10, 1), new DateOnly(2026, 10, 4), Eur(14.29m)),
            (october[0].Week.ToString(), october[0].First, october[0].Last, october[0].Share(Eur(25m))));
        Assert.Equal(["2026-W36", "2026-W37", "2026-W38", "2026-W39", "2026-W40"],
            september.Select(s => s.Week.ToString()));
        Assert.Equal([6, 7, 7, 7, 3], september.Select(s => s.Days));
    }

    [Fact]
    public void Slices_of_a_month_are_its_days_once_each() =>
    Gen.Select(AnyMonth, Gen.Enum<DayOfWeek>()).Sample((month, startsOn) =>
    {
        var slices = WeekSlice.Of(month, startsOn);

        Assert.Equal(
            Enumerable.Range(month.First.DayNumber, month.Last.DayNumber - month.First.DayNumber + 1),
            slices.SelectMany(s => Enumerable.Range(s.First.DayNumber, s.Days)));
        Assert.All(slices, s => Assert.Equal((s.Week, s.Week),
            (Week.Of(s.First, startsOn), Week.Of(s.Last, startsOn))));
    });

    [Fact]
    public void Slices_of_a_week_add_up_to_its_plan_whichever_months_are_asked_for() =>
        Gen.Select(AnyMonth, Gen.Enum<DayOfWeek>(), Gen.Long[0, Money.Largest.Minor].Select(minor => new Money(minor)))
            .Sample((month, startsOn, weekly) =>
        {
            var slices = new[] { month.Previous, month, month.Next }.SelectMany(m => WeekSlice.Of(m, startsOn))
                .ToList();
            var whole = slices.GroupBy(s => s.Week).Where(w => w.Sum(s => s.Days) == 7).ToList();

            Assert.True(whole.Count >= 11);
            Assert.All(whole, week =>
                Assert.Equal(weekly, week.Aggregate(Money.Zero, (sum, s) => sum + s.Share(weekly))));
            Assert.All(slices, s => Assert.True(
                decimal.Abs(s.Share(weekly).Minor - (weekly.Minor * s.Days / 7m)) < 1m));
        });

    [Fact]
    public void However_a_stretch_of_days_is_cut_its_parts_add_up_to_it() =>
        Gen.Select(Gen.Int[0, 20000], Gen.Int[1, 40].Array[1, 6], Gen.Enum<DayOfWeek>(),
            Gen.Long[0, Money.Largest.Minor].Select(minor => new Money(minor)))
            .Sample((start, lengths, startsOn, weekly) =>
        {
            Money Total(DateOnly first, DateOnly last) =>
                WeekSlice.Of(first, last, startsOn).Aggregate(Money.Zero, (sum, s) => sum + s.Share(weekly));
            var first = new DateOnly(2010, 1, 1).AddDays(start);
            var ends = lengths.Aggregate(new List<DateOnly> { first },
                (days, length) => [.. days, days[^1].AddDays(length)]);

            Assert.Equal(Total(first, ends[^1].AddDays(-1)),
                ends.Zip(ends.Skip(1)).Aggregate(Money.Zero,
                    (sum, part) => sum + Total(part.First, part.Second.AddDays(-1))));
        });

    [Fact]
    public void A_week_cut_in_two_is_shared_by_the_largest_remainder() =>
        Gen.Select(Gen.Int[1, 6], Gen.Long[0, Money.Largest.Minor].Select(minor => new Money(minor)))
            .Sample((days, weekly) =>
        {
            var week = new Week(Sept(28));
            var cut = new[] { new WeekSlice(week, week.First, week.First.AddDays(days - 1)),
                new WeekSlice(week, week.First.AddDays(days), week.Last) };

            Assert.Equal(LargestRemainder.Share(weekly, [days, 7 - days]), cut.Select(slice => slice.Share(weekly)));
        });

    [Fact]
    public void The_year_to_date_begins_with_the_years_first_week_and_leaves_no_day_out() =>
    Gen.Select(AnyMonth, Gen.Enum<DayOfWeek>()).Sample((month, startsOn) =>
    {
        var asked = WeekSlice.Of(month, startsOn);
        IReadOnlyList<WeekSlice> slices = [.. WeekSlice.EarlierInItsYear(asked), .. asked];

        Assert.Equal((asked[0].Week.Year, 1), (slices[0].Week.Year, slices[0].Week.Number));
        Assert.All(slices.Zip(slices.Skip(1)), pair => Assert.Equal(pair.First.Last.AddDays(1), pair.Second.First));
    });

    [Theory]
    [InlineData("2026-W01", 0)]
    [InlineData("2026-W47", 46)]
    [InlineData("2026-W53", 52)]
    public void Before_a_whole_week_lie_the_weeks_of_its_year(string week, int slices) =>
        Assert.Equal(slices, WeekSlice.EarlierInItsYear(
            [WeekSlice.Whole(Week.Read(week, DayOfWeek.Monday, "week"))]).Count);
}
