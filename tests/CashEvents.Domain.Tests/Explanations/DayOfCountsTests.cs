using static CashEvents.Domain.Tests.Books.HarbourRow;

namespace CashEvents.Domain.Tests.Explanations;

/// <summary>
/// The counts of a day weighed as one: the chance of a cause is its weight, divided by the weights of all causes
/// (docs/explanations.md).
/// </summary>
public class DayOfCountsTests
{
    private static readonly IBookEvent[] _usual =
    [
        Fill(Ferry, 200m, Sept(1)), Fill(Market, 200m, Sept(1)),
        Spend(Ferry, 4.82m, Sept(2), description: "Return"), Spend(Ferry, 17.36m, Sept(6), description: "Bicycle"),
        Spend(Market, 63.17m, Sept(7), description: "Fish"), Spend(Market, 12.64m, Sept(9), description: "Cheese"),
        Spend(Ferry, 12.64m, Sept(10), description: "Cheese"),
    ];

    // 165.18 and 124.19 should be there.
    private static Told Counted(decimal? ferry, decimal? market) => Told.Of([.. _usual,
        .. market is { } m ? new[] { Count(Market, 0m, 124.19m + m) } : [],
        .. ferry is { } f ? new[] { Count(Ferry, 0m, 165.18m + f) } : []]);

    [Fact]
    public void Of_one_count_all_causes_have_their_share_of_what_somebody_thought_of()
    {
        var at = At(Counted(17.36m, null));
        var causes = new Causes(at, at.Counted.Single());
        var (pairs, others) = causes.Twos(Eur(17.36m), _ => true);
        List<Cause> all = [.. causes.Singles(Eur(17.36m)).Select(m => new Cause([m], m.Weight)), .. pairs];
        var weight = all.Sum(c => c.Weight) + others + causes.Lost(Eur(17.36m));

        var chances = new DayOfCounts(at, Cash(Ferry), (_, _) => true).Chances();

        // 0.02 are for what nobody has thought of.
        Assert.All(chances, c => Near(0.98m * all.Single(a => a.Code == c.Cause.Code).Weight / weight, c.Chance));
        Assert.Equal(Math.Min(500, all.Count), chances.Count);
        Near(causes.Lost(Eur(17.36m)), at.Priors.SomethingElse * at.Losses.Share(Eur(17.36m)));
    }

    [Fact]
    public void What_cannot_be_written_has_no_chance_and_leaves_it_to_others_if_it_is_likely()
    {
        var at = At(Counted(17.36m, null));
        var all = new DayOfCounts(at, Cash(Ferry), (_, _) => true).Chances();
        var first = all[0].Cause.Code;

        var without = new DayOfCounts(at, Cash(Ferry), (mistakes, _) => mistakes.Count > 1 || mistakes[0].Code != first)
            .Chances();

        Assert.DoesNotContain(without, c => c.Cause.Code == first);
        // Of 0.98 what it had is left out.
        Near(all[1].Chance / (0.98m - all[0].Chance), without[0].Chance / 0.98m);
    }

    [Fact]
    public void A_mistake_behind_two_counts_is_weighed_once_against_all_that_made_each_disagree()
    {
        var at = At(Counted(12.64m, -12.64m));
        var code = $"wrongCompartment-{FirstLine + 6}-market-days-cash-ferry-fares-cash";
        var chances = new DayOfCounts(at, Cash(Ferry), (_, _) => true).Chances();

        // Alone: all that changes one of both counts and not the other.
        (decimal Of, decimal Alone) Weights(string here, string there, Money difference)
        {
            var causes = new Causes(at, at.Counted.Single(c => c.Place == Cash(here)));
            var (pairs, others) = causes.Twos(difference, _ => true);
            var singles = causes.Singles(difference);
            List<Cause> all = [.. singles.Select(m => new Cause([m], m.Weight)), .. pairs];
            return (singles.Single(m => m.Code == code).Weight, (causes.Lost(difference) + others
                + all.Where(c => !Changes(c, there)).Sum(c => c.Weight)) / 0.98m);
        }

        var (ferry, market) = (Weights(Ferry, Market, Eur(12.64m)), Weights(Market, Ferry, -Eur(12.64m)));
        var none = 1m - chances.Where(c => Changes(c.Cause, Market)).Sum(c => c.Chance);
        Near((ferry.Of + market.Of) / 2m / ferry.Alone / market.Alone,
            chances.Single(c => c.Cause.Code == code).Chance / none, 1e-3m);
        // Seen from the other count it is the same.
        Near(chances.Single(c => c.Cause.Code == code).Chance,
            new DayOfCounts(at, Cash(Market), (_, _) => true).Chances().Single(c => c.Cause.Code == code).Chance);
    }

    [Fact]
    public void Two_counts_that_nothing_joins_are_explained_by_the_likeliest_of_each()
    {
        var at = At(Counted(-4.82m, -63.17m));
        var (day, other) = (new DayOfCounts(at, Cash(Ferry), (_, _) => true),
            new DayOfCounts(at, Cash(Market), (_, _) => true));
        var (ferry, market) = (day.Chances(), other.Chances());
        var none = 1m - ferry.Where(c => Changes(c.Cause, Market)).Sum(c => c.Chance);

        var (causes, chance) = day.Total()!.Value;

        Assert.Equal([Cash(Ferry), Cash(Market)], day.Off.Select(c => c.Place));
        Assert.Equal([Cash(Market), Cash(Ferry)], other.Off.Select(c => c.Place));
        Assert.Equal([ferry[0].Cause.Code, market[0].Cause.Code], causes.Select(c => c.Code));
        Near(ferry[0].Chance * market[0].Chance / none, chance, 1e-3m);
        Assert.Equal(2, day.AgreeingCounts([.. causes.SelectMany(c => c.Mistakes)]).Length);
        Assert.Equal([at.Counted.Single(c => c.Place == Cash(Ferry)).Count.Line],
            day.AgreeingCounts(causes[0].Mistakes));
    }

    [Fact]
    public void Of_four_counts_a_mistake_behind_two_has_one_chance_wherever_it_is_told()
    {
        // Cheese was paid from the market days, and oars from the boat insurance.
        var told = Told.Of([.. _usual, Fill(Van, 100m, Sept(2)), Fill(Boat, 100m, Sept(2)), Spend(Van, 7.31m, Sept(11)),
            Count(Ferry, 0m, 165.18m + 12.64m), Count(Market, 0m, 124.19m - 12.64m), Count(Van, 0m, 92.69m + 7.31m),
            Count(Boat, 0m, 100m - 7.31m)]);
        var at = At(told);
        decimal Chance(string asked, string code) => new DayOfCounts(at, Cash(asked), (_, _) => true).Chances()
            .Single(c => c.Cause.Code == code).Chance;
        var cheese = $"wrongCompartment-{FirstLine + 6}-market-days-cash-ferry-fares-cash";
        var oars = $"wrongCompartment-{FirstLine + 9}-boat-insurance-cash-bakery-van-cash";

        Near(Chance(Ferry, cheese), Chance(Market, cheese), 1e-6m);
        Near(Chance(Van, oars), Chance(Boat, oars), 1e-6m);
        var (causes, all) = new DayOfCounts(at, Cash(Ferry), (_, _) => true).Total()!.Value;
        Assert.Equal([cheese, oars], causes.Select(c => c.Code).Order(StringComparer.Ordinal));
        Assert.InRange(all, 0m, Math.Min(Chance(Ferry, cheese), Chance(Van, oars)));
    }

    [Fact]
    public void A_count_that_agrees_speaks_against_what_would_change_it()
    {
        var chances = new DayOfCounts(At(Counted(12.64m, 0m)), Cash(Ferry), (_, _) => true).Chances();

        Assert.NotEmpty(chances);
        Assert.DoesNotContain(chances, c => Changes(c.Cause, Market));
        Assert.Contains(chances, c => Changes(c.Cause, Van));
    }

    /// <summary>
    /// What a count of the market days on the 12th said: nothing is known against the line of the 10th if it disagreed,
    /// little if that was settled, all if it agreed. It says nothing of what happened on its day or later.
    /// </summary>
    [Theory]
    [InlineData(12, -1.0, false, 1.0)]
    [InlineData(12, -1.0, true, 0.05)]
    [InlineData(12, 0.0, false, 0.0)]
    [InlineData(10, 0.0, false, 1.0)]
    public void A_count_of_another_day_speaks_against_what_came_before_it(int day, double off, bool settled,
        double times)
    {
        var code = $"wrongCompartment-{FirstLine + 6}-market-days-cash-ferry-fares-cash";
        var found = Count(Market, 0m, 124.19m + (decimal)off, Sept(day));
        decimal Odds(params IBookEvent[] before)
        {
            var chances = new DayOfCounts(At(Told.Of([.. _usual, .. before, Count(Ferry, 0m, 165.18m + 12.64m)])),
                Cash(Ferry), (_, _) => true).Chances();
            return chances.Where(c => c.Cause.Code == code).Sum(c => c.Chance)
                / chances.Single(c => c.Cause.Code == "notRecorded-fill-ferry-fares-cash-1264").Chance;
        }

        var odds = Odds(settled ? [found, Settle(FirstLine + 7, Market, (decimal)off, Sept(day))] : [found]);

        Near((decimal)times, odds / Odds());
    }

    private static bool Changes(Cause cause, string compartment) =>
        cause.Mistakes.Aggregate(Money.Zero, (sum, m) => sum + m.EffectIn(Cash(compartment))) != Money.Zero;

    private static LookedAt At(Told told) => new(told.Book, told.Lines, told.Book.CashCount(Ferry)!, Today);

    private static void Near(decimal expected, decimal actual, decimal within = 1e-9m) => Assert.InRange(actual,
        expected - (Math.Abs(expected) * within), expected + (Math.Abs(expected) * within));
}
