using CsCheck;

namespace CashEvents.Domain.Tests.Explanations;

/// <summary>
/// How likely an amount is to be the next. What is expected is worked by hand from the rules of docs/explanations.md;
/// the discount from Ney, Essen and Kneser (1994): of what was seen once n1 and twice n2, n1 / (n1 + 2 n2). It leans on
/// 0.8 by as much as four amounts.
/// </summary>
public class AmountsSeenTests
{
    private const int Bound = 1 << 14;

    // Beginnings of quarters of a doubling about 281, by a table of powers of two: 2^7, 2^7.25 = 152.2 and so on.
    private static readonly long[] _from = [128, 153, 182, 216, 256, 305, 363, 431, 512];

    private static readonly Gen<long[]> _amounts = Gen.OneOf(Gen.Long[16, 8_000], Gen.Const(281L), Gen.Const(999L),
        Gen.Long[4, 400].Select(tens => tens * 10)).Array[1, 25];

    [Fact]
    public void An_amount_keeps_how_often_it_was_seen_less_the_discount()
    {
        // Seven amounts, two of them seen once and one twice: (2 + 4 · 0.8) / (2 + 2 · 1 + 4) = 0.65.
        var seen = Seen(281, 281, 281, 282, 282, 283, 284);
        decimal Kept(long amount) => seen.Share(amount, null) - seen.Share(286, null);

        // One place is kept for what is new, so of eight.
        Near((3m - 0.65m) / 8m, Kept(281));
        Near((2m - 0.65m) / 8m, Kept(282));
        Near((1m - 0.65m) / 8m, Kept(283));
        Near(Kept(283), Kept(284));
        Assert.Equal(0m, Kept(287));
        Assert.Equal((7, 3, 0), (seen.Count, seen.Times(281), seen.Times(286)));
        Assert.Equal([281, 282], seen.Repeated);
        Assert.Equal([281, 282, 283, 284], seen.Seen);
    }

    [Fact]
    public void What_is_discounted_is_left_for_others_by_their_size_and_how_round_they_are()
    {
        // Four discounts of 0.65 and one more, of eight. All seven sizes are 256 to 304, each with 0.3 of itself there;
        // four lean on 160 sizes alike. Of the 49 numbers from 256 to 304 one is a hundred, four are tens, four fives,
        // five end in nine, 35 are none of these. Seven amounts that were none lean on 25 with 0.1 for a thousand, 0.1
        // for five hundred, 0.2 for a hundred, 0.1 for fifty, 0.15 for ten, 0.15 for five, 0.1 for nine, 0.1 for none.
        const decimal left = ((4 * 0.65m) + 1m) / 8m;
        const decimal size = ((7 * 0.3m) + (4m / 160)) / (7 + 4);
        const decimal possible = (25 * (0.2m + 0.15m + 0.15m + 0.1m)) + 7 + 2.5m;

        var seen = Seen(281, 281, 281, 282, 282, 283, 284);

        Near(left * size * (7 + 2.5m) / possible / 35, seen.Share(286, null));
        Near(left * size * (25 * 0.2m) / possible, seen.Share(300, null));
        Near(left * size * (25 * 0.15m) / possible / 4, seen.Share(270, null));
        Near(left * size * (25 * 0.15m) / possible / 4, seen.Share(265, null));
        Near(left * size * (25 * 0.1m) / possible / 5, seen.Share(279, null));
    }

    /// <summary>
    /// An amount; of ten the share that its roundness has, how many numbers of its size have it, and the shares of all
    /// that its size has numbers of.
    /// </summary>
    [Theory]
    // From 862 to 1,023: a thousand, a hundred, a fifty, 13 tens, 16 fives, 16 nines and 114 others.
    [InlineData(1_000, 1.0, 1, 9.0)]
    [InlineData(900, 2.0, 1, 9.0)]
    [InlineData(950, 1.0, 1, 9.0)]
    [InlineData(870, 1.5, 13, 9.0)]
    [InlineData(1_015, 1.5, 16, 9.0)]
    [InlineData(869, 1.0, 16, 9.0)]
    [InlineData(862, 1.0, 114, 9.0)]
    [InlineData(1_023, 1.0, 114, 9.0)]
    // From 431 to 511: five hundred, a fifty, 6 tens, 8 fives, 8 nines and 57 others.
    [InlineData(500, 1.0, 1, 7.0)]
    [InlineData(450, 1.0, 1, 7.0)]
    [InlineData(440, 1.5, 6, 7.0)]
    [InlineData(435, 1.5, 8, 7.0)]
    [InlineData(509, 1.0, 8, 7.0)]
    [InlineData(511, 1.0, 57, 7.0)]
    // One minor unit is a size of its own; so are two, three, and each up to seven.
    [InlineData(1, 1.0, 1, 1.0)]
    [InlineData(2, 1.0, 1, 1.0)]
    [InlineData(3, 1.0, 1, 1.0)]
    [InlineData(5, 1.5, 1, 1.5)]
    [InlineData(7, 1.0, 1, 1.0)]
    public void Where_nothing_was_seen_a_size_is_as_likely_as_another_and_round_amounts_have_their_share(long amount,
        double share, int alike, double possible) =>
        Near(1m / 160 * (decimal)(share / possible) / alike, Seen().Share(amount, null));

    [Fact]
    public void Sizes_beside_what_was_seen_gain_the_less_the_further_they_are()
    {
        // One amount, seen once: a discount of (1 + 3.2) / (1 + 4) = 0.84. So 1.84 of two are left for all sizes.
        var seen = Seen(281);
        decimal[] near = [0m, 0.05m, 0.1m, 0.2m, 0.3m, 0.2m, 0.1m, 0.05m];
        for (var i = 0; i + 1 < _from.Length; i++)
        {
            var here = Enumerable.Range((int)_from[i], (int)(_from[i + 1] - _from[i])).Sum(a => seen.Share(a, null));
            Near(1.84m / 2 * (near[i] + (4m / 160)) / (1 + 4) + (i == 4 ? 0.16m / 2 : 0m), here);
        }
    }

    [Fact]
    public void What_is_new_is_by_four_fifths_of_the_own_sizes_and_else_as_in_the_wider_group()
    {
        var wide = Seen(640, 640);
        var narrow = new AmountsSeen(wide, AmountsOf.Words);

        // Nothing seen in the narrow group: sizes and roundness are those of the wider one.
        // Wide: nothing once, one amount twice: 3.2 / (2 + 4) = 8/15 of a discount; (8/15 + 1) of three are left.
        var bySize = wide.Share(643, null) / (((8m / 15) + 1m) / 3m);
        Near((0.8m * bySize) + (0.2m * wide.Share(643, null)), narrow.Share(643, null));
        // 640 lies with 609 to 724; as round as it is 660. What was seen makes it likelier by a fifth of that.
        Near(0.2m * (wide.Share(640, null) - wide.Share(660, null)),
            narrow.Share(640, null) - narrow.Share(660, null));
    }

    [Fact]
    public void Few_amounts_have_the_discount_of_the_wider_group()
    {
        // Wide: 281 twice, 282, 283, 284 once: (3 + 3.2) / (3 + 2 + 4) = 6.2 / 9. Narrow: 281 once.
        var wide = Seen(281, 282, 283, 284);
        var narrow = new AmountsSeen(wide, AmountsOf.Words);
        wide.Add(281);
        narrow.Add(281);
        const decimal discount = (1m + (4m * 6.2m / 9m)) / (1m + 4m);
        const decimal ofWide = 6.2m / 9m;

        // What the wider group keeps of 281 counts for a fifth of what is new.
        Near(((1m - discount) + ((discount + 1m) * 0.2m * ((2m - ofWide) / 6m))) / 2m,
            narrow.Share(281, null) - narrow.Share(286, null));
    }

    [Fact]
    public void All_amounts_together_are_one() => _amounts.Sample(amounts =>
    {
        var seen = Seen(amounts);
        var all = Enumerable.Range(1, Bound - 1).Sum(a => seen.Share(a, null));

        // Nothing is known of sizes above twice the largest: 104 sizes from 2^14 on lean on the usual alone. Below 8
        // five sizes have no number: 1.19, 1.41, 1.68, 2.38 and 3.36 are rounded up to others. None was seen there.
        var left = LeftFor(amounts) * 4m / (amounts.Length + 4m) / 160m;
        Assert.InRange(all, 0m, 1m);
        Assert.InRange(all + (left * (104 + 5)), 1m - 1e-9m, 1m + 1e-9m);
    }, iter: GeneratedCases.Of(12));

    [Fact]
    public void Amounts_of_a_narrow_group_are_one_together_too()
    {
        var (household, kind) = Wider([100, 281, 281, 450, 999]);
        var narrow = new AmountsSeen(kind, AmountsOf.Place);
        foreach (var amount in new long[] { 281, 100 })
        {
            household.Add(amount);
            kind.Add(amount);
            narrow.Add(amount);
        }

        Assert.InRange(Enumerable.Range(1, 1 << 15).Sum(a => narrow.Share(a, null)), 0.9m, 1m);
    }

    [Fact]
    public void An_amount_that_was_seen_oftener_is_likelier_than_one_that_is_alike() =>
        Gen.Select(_amounts, Gen.Int[0, 6], Gen.Int[0, 6]).Sample((others, one, other) =>
    {
        // Both from 256 to 304, both neither round nor ending in nine.
        var seen = Seen([.. others.Where(a => a is not (281 or 283)), .. Enumerable.Repeat(281L, one),
            .. Enumerable.Repeat(283L, other)]);

        Assert.Equal(one.CompareTo(other), seen.Share(281, null).CompareTo(seen.Share(283, null)));
    }, iter: GeneratedCases.Of(200));

    [Fact]
    public void An_amount_that_is_seen_once_more_is_likelier_than_before() =>
        Gen.Select(_amounts, Gen.Int[0, 24]).Sample((amounts, which) =>
    {
        var again = amounts[which % amounts.Length];
        var before = Seen(amounts);

        Assert.True(Seen([.. amounts, again]).Share(again, null) > before.Share(again, null));
    }, iter: GeneratedCases.Of(200));

    [Fact]
    public void An_amount_that_is_left_out_might_as_well_never_have_been_seen() =>
        Gen.Select(_amounts, Gen.Int[0, 24], Gen.Enum<AmountsOf>(), Gen.Long[1, 9_000])
            .Sample((amounts, which, from, asked) =>
    {
        var one = which % amounts.Length;
        var left = amounts[one];
        // The narrowest group that has it, or a wider one where it stands for another.
        from = (AmountsOf)Math.Max((int)from, Narrowest(one));
        var all = Groups(amounts, (_, _) => true);
        var without = Groups(amounts, (group, at) => group < from || at != one);

        Assert.All(new[] { left, asked, left + 1, amounts[0] }, amount => Near(without.Share(amount, null),
            all.Share(amount, new LeftOut(left, from))));
        // And with it again, and another that was never there.
        Near(all.Share(asked, null), all.Share(asked, new LeftOut(9_001, AmountsOf.Words)));
    }, iter: GeneratedCases.Of(200));

    [Fact]
    public void The_largest_amount_and_what_is_beside_it_have_a_chance()
    {
        var largest = Money.Largest.Minor;
        var seen = Seen(largest, largest);

        // Twice seen, less 3.2 / 6, of three. What is left is shared by many thousand millions.
        Assert.InRange(seen.Share(largest, null), ((2m - (3.2m / 6m)) / 3m) - 1e-9m, ((2m - (3.2m / 6m)) / 3m) + 1e-9m);
        Assert.InRange(seen.Share(largest - 1, null), 1e-15m, 1e-9m);
        Assert.Equal(seen.Share(largest - 1, null), seen.Share(largest - 11, null));
        // The last quarter of a doubling before 2^40 begins at 2^39.75, about 924,575,000,000.
        Assert.True(seen.Share(924_600_000_003, null) > seen.Share(924_500_000_003, null) * 1.2m);
    }

    [Theory]
    [InlineData(5, 0.75)]
    [InlineData(100, 0.5)]
    [InlineData(7, 0.0)]
    public void Multiples_are_told_by_how_often_they_were_seen(long of, double share) =>
        Assert.Equal((decimal)share, Seen(200, 200, 305, 281).ShareOfMultiples(of));

    [Fact]
    public void Of_nothing_nothing_is_a_multiple() => Assert.Equal(0m, Seen().ShareOfMultiples(1));

    [Fact]
    public void Two_amounts_add_up_to_one_by_their_sizes()
    {
        // Ten amounts from 363 to 430; each unit of a size has its share of what leans there.
        var seen = Seen([.. Enumerable.Repeat(397L, 10)]);
        decimal[] near = [0.3m, 0.2m, 0.1m, 0.05m];
        decimal Unit(int amount)
        {
            var size = 0;
            while (Begins(size + 1) <= amount)
            {
                size++;
            }

            var away = Math.Abs(size - 34);
            return ((away < 4 ? 10 * near[away] : 0m) + (4m / 160)) / 14 / (Begins(size + 1) - Begins(size));
        }

        // 794 is one of the 105 of the 142 numbers from 725 to 861 that are not round; ten seen ones lean on 25.
        var pairs = Enumerable.Range(1, 793).Sum(a => Unit(a) * Unit(794 - a));
        var numbers = Enumerable.Range(725, 862 - 725).ToList();
        var plain = numbers.Count(n => n % 5 != 0 && n % 10 != 9);
        var round = (10 + 2.5m) / (10 + 2.5m + (25 * (0.2m + 0.1m + 0.15m + 0.15m + 0.1m))) * numbers.Count / plain;

        Assert.InRange(seen.ShareOfTwo(794) / (pairs * round), 0.9m, 1.1m);
        Assert.Equal(0m, seen.ShareOfTwo(47));
        Assert.True(seen.ShareOfTwo(48) > 0m);
    }

    private static int Begins(int size) => (int)Math.Ceiling(Math.Pow(2, size / 4.0));

    // Of all amounts that were seen, what is taken from them, and the place for what is new.
    private static decimal LeftFor(long[] amounts)
    {
        var times = amounts.CountBy(a => a).Select(a => a.Value).ToList();
        var (once, twice) = (times.Count(t => t == 1), times.Count(t => t == 2));
        return ((times.Count * (once + 3.2m) / (once + (2 * twice) + 4)) + 1m) / (amounts.Length + 1);
    }

    private static AmountsSeen Seen(params long[] amounts) => Add(new AmountsSeen(null, AmountsOf.Household), amounts);

    private static AmountsSeen Add(AmountsSeen to, params long[] amounts)
    {
        foreach (var amount in amounts)
        {
            to.Add(amount);
        }

        return to;
    }

    private static (AmountsSeen Household, AmountsSeen Kind) Wider(long[] amounts)
    {
        var household = Seen(amounts);
        return (household, Add(new AmountsSeen(household, AmountsOf.Kind), amounts));
    }

    // Of five amounts of the household four are of the kind, three of the place, two with the words.
    private static int Narrowest(int at) => Math.Max(0, (at % 5) - 1);

    private static AmountsSeen Groups(long[] amounts, Func<AmountsOf, int, bool> has)
    {
        AmountsSeen? wider = null;
        foreach (var of in Enum.GetValues<AmountsOf>().OrderDescending())
        {
            var group = new AmountsSeen(wider, of);
            wider = Add(group, [.. amounts.Where((_, at) => has(of, at)
                && Narrowest(at) <= (int)of)]);
        }

        return wider!;
    }

    private static void Near(decimal expected, decimal actual) => Assert.InRange(actual,
        expected - (Math.Abs(expected) * 1e-9m), expected + (Math.Abs(expected) * 1e-9m));
}
