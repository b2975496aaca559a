using static CashEvents.Domain.Tests.Books.HarbourRow;

namespace CashEvents.Domain.Tests.Explanations;

/// <summary>
/// Two causes of one count. By docs/explanations.md 0.08 of what has one or two causes has two, and a pair weighs as
/// the product of its two, twice since either may come first.
/// </summary>
public class TwoCausesTests
{
    private const decimal Two = 2m * 0.08m / 0.92m;

    [Fact]
    public void A_pair_weighs_as_the_product_of_its_two_and_the_same_twice_as_half_of_that()
    {
        var (at, counted) = At(Cash(Ferry), Fill(Ferry, 200m, Sept(1)), Spend(Ferry, 4.83m, Sept(2)),
            Spend(Ferry, 9.17m, Sept(6)), Count(Ferry, 0m, 150m));
        var causes = new Causes(at, counted);
        var missing = new MissingMovements(at, counted, new DaysLeft(at, counted));
        decimal Weight(decimal amount) => missing.Of(MovementKind.Spend, -Eur(amount)).Weight;
        decimal Pair(decimal difference, params string[] codes) => causes.Twos(Eur(difference), _ => true).Pairs
            .Single(p => p.Mistakes.Select(m => m.Code).Order(StringComparer.Ordinal)
                .SequenceEqual(codes.Select(c => $"notRecorded-spend-ferry-fares-cash-{c}"))).Weight;

        Near(Two * Weight(4.83m) * Weight(9.17m), Pair(-14m, "483", "917"));
        Near(Two * Weight(4.83m) * Weight(4.83m) / 2m, Pair(-9.66m, "483", "483"));
        // One line the wrong way round makes twice its amount: then nothing is missing twice.
        (at, counted) = At(Cash(Ferry), Fill(Ferry, 200m, Sept(1)), Spend(Ferry, 4.83m, Sept(2)),
            Refund(Ferry, 4.83m, Sept(3)), Count(Ferry, 0m, 150m));
        Assert.DoesNotContain(new Causes(at, counted).Twos(-Eur(9.66m), _ => true).Pairs,
            p => p.Mistakes.All(m => m is NotRecorded { Movement: Spent }));
    }

    [Fact]
    public void All_pairs_are_weighed_whether_they_are_listed_or_not()
    {
        // Nothing ever moved, and only what is in the bank was counted: there is nothing but money from three other
        // bank parts, in one to four notes.
        var (at, counted) = At(Bank(Ferry), Count(Ferry, 0m, 35m, null, Holding.Bank));
        var causes = new Causes(at, counted);
        var missing = new MissingMovements(at, counted, new DaysLeft(at, counted));
        var moved = missing.Known().ToLookup(m => m.EffectIn(Bank(Ferry)), m => m.Weight);
        decimal Unseen(decimal rest) => missing.Weights(Eur(rest)).Sum(m => m.Weight);

        var (pairs, others) = causes.Twos(Eur(35m), _ => true);

        Assert.Equal((14, true), (moved.Count, moved.All(from => from.Count() == 3)));
        // 5 and 30, 15 and 20; of each sum one of three is listed.
        Assert.Equal(2, pairs.Count(p => p.Mistakes.All(m => m is NotRecorded { Movement: Transferred })));
        var both = (moved[Eur(5m)].Sum() * moved[Eur(30m)].Sum()) + (moved[Eur(15m)].Sum() * moved[Eur(20m)].Sum());
        // Beside each other sum something that was never seen is missing; beside every one money is lost or found, and
        // so it is beside what is missing.
        var unseen = moved.Where(m => !moved.Contains(Eur(35m) - m.Key))
            .Sum(m => m.Max() * missing.Weights(Eur(35m) - m.Key).Sum(w => w.Weight));
        var lost = moved.Sum(m => m.Sum() * causes.Lost(Eur(35m) - m.Key));
        Near(Two * (both + unseen + lost + (0.195m * Unseen(35m))), pairs.Sum(p => p.Weight) + others);
        Near(Two * moved[Eur(5m)].Max() * moved[Eur(30m)].Max(), pairs.Where(p => p.Mistakes.All(m
            => m is NotRecorded { Movement: Transferred t } && (t.Amount == Eur(5m) || t.Amount == Eur(30m))))
            .Sum(p => p.Weight));
        // What would make another count disagree is no half of a pair.
        Assert.Empty(causes.Twos(Eur(35m), _ => false).Pairs);
    }

    [Fact]
    public void What_is_left_over_is_lost_or_missing()
    {
        var (at, counted) = At(Cash(Ferry), Fill(Ferry, 200m, Sept(1)), Count(Ferry, 0m, 150m));
        var missing = new MissingMovements(at, counted, new DaysLeft(at, counted));

        Near((0.195m * at.Losses.Share(-Eur(7m))) + missing.Weights(-Eur(7m)).Single().Weight,
            new Causes(at, counted).LeftOver(-Eur(7m)));
        Near((0.195m * at.Losses.Share(Eur(7m))) + missing.Weights(Eur(7m)).Sum(w => w.Weight),
            new Causes(at, counted).LeftOver(Eur(7m)));
    }

    private static (LookedAt At, CountedPlace Counted) At(Part place, params IBookEvent[] lines)
    {
        var told = Told.Of(lines);
        var at = new LookedAt(told.Book, told.Lines, told.Book.LastCount(place)!, Today);
        return (at, at.Counted.Single(c => c.Place == place));
    }

    private static void Near(decimal expected, decimal actual) => Assert.InRange(actual,
        expected - (Math.Abs(expected) * 1e-9m), expected + (Math.Abs(expected) * 1e-9m));
}
