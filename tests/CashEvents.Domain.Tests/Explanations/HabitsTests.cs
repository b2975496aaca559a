using static CashEvents.Domain.Tests.Books.HarbourRow;

namespace CashEvents.Domain.Tests.Explanations;

/// <summary>How often what moves, worked by hand from docs/explanations.md on a book of ten days.</summary>
public class HabitsTests
{
    private const string Return = "Return";

    // Four spends of the ferry fares, two of the market days: from Tuesday the 1st to Thursday the 10th.
    private static readonly IMovement[] _spends =
    [
        Spend(Ferry, 8.40m, Sept(1), description: Return), Spend(Market, 12.64m, Sept(2), description: "Cheese"),
        Spend(Ferry, 3.20m, Sept(3), description: "Bus"), Spend(Market, 63.17m, Sept(4), description: "Cheese"),
        Spend(Ferry, 8.40m, Sept(8), description: Return), Spend(Ferry, 7.31m, Sept(9), description: Return),
    ];

    // As if one movement more were seen, in the time in which such a way of the household has one: six and a half
    // spends of two places. So 5 in 10 days and 10 / 3.25 days.
    private const decimal PerDay = 5m / (10m + (10m / 3.25m));

    // Tuesdays have two of three returns, and all days one more each.
    private const decimal Tuesdays = 7m * 3m / 10m;

    // The line itself is not held against its words: two others of six in the household, two of five of the kind.
    private const decimal OfKind = (2m + (4m * 2.02m / 6m)) / (5m + 4m);

    private const decimal Words = (3m + (4m * OfKind)) / (4m + 4m);

    private static readonly Habits _habits = new(_spends, Sept(10));

    [Fact]
    public void A_line_comes_as_often_as_its_way_its_weekday_and_its_words()
    {
        var line = Spend(Ferry, 5.55m, Sept(15), description: Return);

        Near(PerDay * Tuesdays * Words, _habits.Rate(Cash(Ferry), line, -Eur(5.55m), AmountsOf.Kind)
            / _habits.ShareWithWords(Cash(Ferry), line, -Eur(5.55m), -Eur(5.55m)));
        // On a Saturday, which has none.
        Near(PerDay * 7m / 10m * Words, _habits.Rate(Cash(Ferry), line with { OccurredOn = Sept(12) }, -Eur(5.55m),
            AmountsOf.Kind) / _habits.ShareWithWords(Cash(Ferry), line, -Eur(5.55m), -Eur(5.55m)));
    }

    [Fact]
    public void A_line_is_not_held_against_itself()
    {
        // Without it the place has three spends and two returns, one of them on a Tuesday; the household five spends.
        var line = (Spent)_spends[0];
        const decimal perDay = 4m / (10m + (10m / (5.5m / 2m)));
        const decimal words = (2m + (4m * OfKind)) / (3m + 4m);
        var (left, without) = (new Habits([.. _spends[1..]], Sept(10)), -Eur(8.40m));

        Near(perDay * (7m * 2m / 9m) * words, _habits.Rate(Cash(Ferry), line, without, AmountsOf.Words)
            / _habits.ShareWithWords(Cash(Ferry), line, without, without));
        Near(7m * 2m / 9m, _habits.WeekdayShare(Cash(Ferry), line, without));
        Near(Tuesdays, _habits.WeekdayShare(Cash(Ferry), MovementKind.Spend, true, Return, DayOfWeek.Tuesday));
        Near(left.ShareWithWords(Cash(Ferry), line, without, -Eur(0.01m)),
            _habits.ShareWithWords(Cash(Ferry), line, without, without));
    }

    [Fact]
    public void A_place_that_never_had_such_a_movement_leans_on_the_others_by_one()
    {
        // None of its own and one more, of the 6.5 spends of two places.
        var line = Spend(Van, 5.55m, Sept(15), description: Return);

        Near(1m / (10m + (10m / 3.25m)) * OfKind, _habits.Rate(Cash(Van), line, -Eur(5.55m), AmountsOf.Kind)
            / _habits.ShareWithWords(Cash(Van), line, -Eur(5.55m), -Eur(5.55m)));
    }

    [Fact]
    public void What_comes_back_is_in_seven_tenths_what_was_paid()
    {
        // A refund of the ferry fares, on a day like others, with words of three spends and none of the two refunds.
        var habits = new Habits([.. _spends, Refund(Ferry, 2.22m, Sept(10)), Refund(Ferry, 3.33m, Sept(10))], Sept(10));
        var (place, change) = (Cash(Ferry), Eur(5.55m));
        var back = new Refunded(Ferry, Holding.Cash, change, Sept(15), Return);
        const decimal household = 2.02m / 8m;
        const decimal ofSpends = (3m + (4m * (2m + (4m * household)) / (5m + 4m))) / (4m + 4m);
        const decimal ofRefunds = 4m * (4m * household / (1m + 4m)) / (2m + 4m);
        // Two refunds and one more; two and a half of one place.
        const decimal perDay = 3m / (10m + (10m / 2.5m));
        var (paid, refunded) = (habits.ShareWithWords(place, Spend(Ferry, 5.55m, description: Return), -change,
            -change), habits.ShareWithWords(place, back, change, change));

        Near(perDay * ((0.7m * ofSpends * paid) + (0.3m * ofRefunds * refunded)),
            habits.Rate(place, back, change, AmountsOf.Kind));
    }

    [Fact]
    public void A_spend_that_may_have_come_back_is_held_against_others_only()
    {
        var back = new Refunded(Ferry, Holding.Cash, Eur(8.40m), Sept(1), Return);
        var paid = (Spent)_spends[0];
        // Two other returns of three other spends; of refunds nothing is known but the household.
        const decimal spends = (2m + (4m * OfKind)) / (3m + 4m);
        const decimal refunds = 2.02m / 6m;
        const decimal perDay = 1m / (10m + (10m / 0.5m));
        var others = _habits.ShareWithWords(Cash(Ferry), paid, -Eur(8.40m), -Eur(8.40m));
        var rate = _habits.Rate(Cash(Ferry), back, Eur(8.40m), AmountsOf.Household);
        var its = new Habits(_spends[1..], Sept(10)).Share(Cash(Ferry), MovementKind.Refund, Eur(8.40m));

        Near(perDay * ((0.7m * spends * others) + (0.3m * refunds * its)), rate);
    }

    [Fact]
    public void A_week_at_least_is_looked_at()
    {
        Near(2m / 7m, new Habits([Fill(Ferry, 5m, Sept(4)), Fill(Ferry, 6m, Sept(5))], Sept(5)).PerDay(Cash(Ferry)));
        Near(0.4m, _habits.PerDay(Cash(Ferry)));
        Assert.Equal(0m, _habits.PerDay(Cash(Van)));
        Assert.Equal((true, false), (_habits.Knows(Cash(Ferry)), _habits.Knows(Bank(Ferry))));
    }

    /// <summary>
    /// Words of ten weeks. By chance w lines of a weekday have w² / 2 pairs among its ten days; one more of both.
    /// </summary>
    [Fact]
    public void The_more_regularly_a_line_comes_the_less_likely_its_day_has_another()
    {
        decimal Again(params int[] days) => new Habits([Fill(Market, 1m, Sept(1)), .. days.Select(d => Spend(Ferry, 1m,
                Sept(1).AddDays(d), description: Return))], Sept(1).AddDays(69))
            .Again(Cash(Ferry), MovementKind.Spend, true, Return);

        Near(1m / (1m + (100m / 20m)), Again([.. Enumerable.Range(0, 10).Select(w => 7 * w)]));
        // Five on Tuesdays and two on Wednesdays, of which two are on one day.
        Near(2m / (1m + ((25m + 4m) / 20m)), Again(0, 0, 7, 8, 14, 15, 21));
        // Twice on each of three days: that is oftener than by chance.
        Assert.Equal(1m, Again(0, 0, 7, 7, 14, 14));
        Assert.Equal(1m, Again());
    }

    [Fact]
    public void Money_moved_between_two_places_is_told_either_way()
    {
        var habits = new Habits([Transfer(Cash(Ferry), Cash(Market), 5m), Transfer(Cash(Market), Cash(Ferry), 5m),
            Transfer(Cash(Market), Cash(Ferry), 6m), Transfer(Cash(Ferry), Cash(Van), 7m)], Today);

        Assert.Equal(3, habits.Transfers(Cash(Ferry), Cash(Market)));
        Assert.Equal(3, habits.Transfers(Cash(Market), Cash(Ferry)));
        Assert.Equal(0, habits.Transfers(Cash(Market), Cash(Van)));
        Assert.Equal((2, 2), (habits.Times(Cash(Ferry), MovementKind.Transfer, true),
            habits.Times(Cash(Ferry), MovementKind.Transfer, false)));
        Assert.Equal([-Eur(5m), -Eur(7m)], habits.Amounts(Cash(Ferry), MovementKind.Transfer, true));
        Assert.Equal([Eur(5m), Eur(6m)], habits.Amounts(Cash(Ferry), MovementKind.Transfer, false));
    }

    [Fact]
    public void An_amount_has_the_words_that_go_oftenest_with_it_and_of_as_frequent_ones_the_first()
    {
        (string, int)? Words(params string[] words) => new Habits([Spend(Ferry, 1m, description: "Aardvark"),
            .. words.Select(w => Spend(Ferry, 5m, description: w))], Today)
            .WordsFor(Cash(Ferry), MovementKind.Spend, -Eur(5m));

        Assert.Equal(("Bus", 2), Words("Return", "Bus", "Bus"));
        Assert.Equal(("Bus", 1), Words("Return", "Bus"));
        Assert.Equal(("Bus", 1), Words("Bus", "Return"));
        Assert.Null(Words());
    }

    private static void Near(decimal expected, decimal actual) => Assert.InRange(actual,
        expected - (Math.Abs(expected) * 1e-9m), expected + (Math.Abs(expected) * 1e-9m));
}
