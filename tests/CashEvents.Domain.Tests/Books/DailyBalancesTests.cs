using CsCheck;
using static CashEvents.Domain.Tests.Books.HarbourRow;

namespace CashEvents.Domain.Tests.Books;

public class DailyBalancesTests
{
    private static IEnumerable<DateOnly> DaysOf(params int[] days) => days.Select(Sept);

    private static DailyBalances Posted(params (int Day, decimal Change)[] posts) =>
        posts.Aggregate(DailyBalances.Empty, (b, p) => b.Post(Sept(p.Day), Eur(p.Change)));

    [Fact]
    public void A_place_in_which_no_money_moved_holds_nothing_on_any_day()
    {
        Assert.Equal(Money.Zero, DailyBalances.Empty.On(Sept(1)));
        Assert.Equal(new DayClosing(Sept(1), Money.Zero), DailyBalances.Empty.LowestFrom(Sept(1)));
        Assert.Empty(DailyBalances.Empty.Days);
    }

    [Fact]
    public void A_day_without_a_change_closes_as_the_day_before() =>
        Assert.Equal([Eur(0m), Eur(40m), Eur(40m), Eur(25m), Eur(25m)],
            DaysOf(1, 2, 4, 5, 30).Select(day => Posted((2, 40m), (5, -15m)).On(day)));

    [Fact]
    public void A_back_dated_change_is_carried_by_every_later_day() =>
        Assert.Equal(
            [new DayClosing(Sept(2), Eur(40m)), new DayClosing(Sept(3), Eur(30m)), new DayClosing(Sept(5), Eur(15m))],
            Posted((2, 40m), (5, -15m), (3, -10m)).Days);

    [Fact]
    public void The_lowest_day_is_the_first_of_those_that_are_equally_low() =>
        Assert.Equal(new DayClosing(Sept(5), Eur(15m)),
            Posted((2, 40m), (5, -25m), (7, 5m), (9, -5m)).LowestFrom(Sept(3)));

    [Fact]
    public void The_day_asked_for_is_the_lowest_when_no_later_one_is_lower() =>
        Assert.Equal(new DayClosing(Sept(6), Eur(15m)), Posted((2, 40m), (5, -25m), (7, 5m)).LowestFrom(Sept(6)));

    [Fact]
    public void Any_posts_in_any_order_agree_with_a_plain_sum()
    {
        var posts = Gen.Select(Gen.Int[1, 25], Gen.Int[-5_000, 5_000]).Array[0, 80];

        Gen.Select(posts, Gen.Int[0, 26]).Sample((changes, from) =>
        {
            var plain = new Dictionary<DateOnly, long>();
            var daily = DailyBalances.Empty;
            foreach (var (day, cents) in changes)
            {
                plain[Sept(day)] = plain.GetValueOrDefault(Sept(day)) + cents;
                daily = daily.Post(Sept(day), new Money(cents));
            }

            long On(DateOnly day) => plain.Where(p => p.Key <= day).Sum(p => p.Value);

            var first = Sept(1).AddDays(from - 1);
            var days = Enumerable.Range(0, 28).Select(first.AddDays).ToList();
            var lowest = days.MinBy(On);
            Assert.Equal(plain.Keys.Order().Select(day => new DayClosing(day, new Money(On(day)))), daily.Days);
            Assert.Equal(days.Select(On), days.Select(day => daily.On(day).Minor));
            Assert.Equal(new DayClosing(lowest, new Money(On(lowest))), daily.LowestFrom(first));
            Assert.Equal(daily.LowestFrom(first), DailyBalances.Of(daily.Days).LowestFrom(first));
        });
    }

    [Fact]
    public void A_post_leaves_the_balances_it_was_made_from_as_they_were()
    {
        var before = Posted((2, 40m), (5, -15m));
        var days = before.Days.ToList();

        before.Post(Sept(3), Eur(7m));

        Assert.Equal(days, before.Days);
    }
}
