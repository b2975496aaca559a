using CsCheck;
using Xunit;

namespace CashEvents.Api.Tests.Paydays;

/// <summary>
/// A system of coins is canonical where taking the largest first gives the fewest pieces. Pearson, A Polynomial-Time
/// Algorithm for the Change-Making Problem
/// (Operations Research Letters 33, 2005), finds the smallest amount for which it does not; Kozen and Zaks, Optimal
/// Bounds for the Change-Making Problem
/// (Theoretical Computer Science 123, 1994), show between which amounts it lies. Both from memory, and held here
/// against trying every amount.
/// </summary>
public sealed class CanonicalNotesTests
{
    /// <summary>Bureau of Engraving and Printing: notes of the United States, in dollars.</summary>
    private static readonly long[] _dollarNotes = [100, 50, 20, 10, 5, 2, 1];

    /// <summary>European Central Bank: notes of the euro, and its coins of two and one.</summary>
    private static readonly long[] _euros = [200, 100, 50, 20, 10, 5, 2, 1];

    private static readonly Gen<long[]> _systems =
        Gen.Long[2, 24].Array[2, 4].Select(values => values.Append(1).Distinct().OrderDescending().ToArray());

    [Fact]
    public void One_three_and_four_make_six_of_two_threes()
    {
        Assert.Equal(6, SmallestCounterexample([4, 3, 1]));
        var packing = Draw([4, 3, 1], 6);

        Assert.Equal([new Pieces(new Money(3), 2)], packing.Asked);
        Assert.Equal(3, LargestFirst([4, 3, 1], 6));
    }

    [Fact]
    public void The_notes_of_the_dollar_and_the_euro_are_canonical()
    {
        Assert.Null(SmallestCounterexample(_dollarNotes));
        Assert.Null(SmallestCounterexample(_euros));
        // By Kozen and Zaks a counterexample would be less than the two largest together.
        Assert.All(Enumerable.Range(1, 300),
            amount => Assert.Equal(Fewest(_euros, amount), LargestFirst(_euros, amount)));
        Assert.All(Enumerable.Range(1, 150),
            amount => Assert.Equal(Fewest(_dollarNotes, amount), LargestFirst(_dollarNotes, amount)));
    }

    [Theory]
    [InlineData(187)]
    [InlineData(388)]
    [InlineData(99)]
    [InlineData(1_340)]
    public void In_dollars_and_euros_a_draw_asks_for_as_many_notes_as_taking_the_largest_first(long amount)
    {
        Assert.Equal(LargestFirst(_dollarNotes, amount), Draw(_dollarNotes, amount).Asked.Sum(p => p.Count));
        Assert.Equal(LargestFirst(_euros, amount), Draw(_euros, amount).Asked.Sum(p => p.Count));
    }

    [Fact]
    public void Pearsons_test_finds_the_smallest_amount_where_largest_first_fails_as_Kozen_and_Zaks_bound_it() =>
    _systems.Sample(system =>
    {
        var smallest = Enumerable.Range(1, (int)(system[0] + system[1]))
            .Where(amount => Fewest(system, amount) < LargestFirst(system, amount)).Select(amount => (long?)amount)
            .FirstOrDefault();

        Assert.Equal(smallest, SmallestCounterexample(system));
        Assert.True(smallest is null || (smallest > system[^3] + 1 && smallest < system[0] + system[1]));
    }, iter: 2_000);

    [Fact]
    public void A_draw_asks_for_the_fewest_notes_in_whatever_system() =>
    Gen.Select(_systems, Gen.Long[1, 120]).Sample((system, amount) =>
        Assert.Equal(Fewest(system, amount), Draw(system, amount).Asked.Sum(p => p.Count)), iter: 60, threads: 1);

    private static Packing Draw(long[] values, long amount)
    {
        var packing = PackingSolver.Pack(
            new PackingTask([new("ferry-fares", new Money(amount), NoteWishes.None)], [],
                [.. values.Select(v => new Money(v))]));
        Assert.True(packing is { IsExact: true, IsProvenBest: true });
        return packing;
    }

    private static long LargestFirst(long[] values, long amount) => Greedy(values, amount).Sum();

    /// <summary>The fewest pieces, by the usual recurrence over amounts.</summary>
    private static long Fewest(long[] values, long amount)
    {
        var fewest = new long[amount + 1];
        for (var a = 1; a <= amount; a++)
        {
            fewest[a] = 1 + values.Where(v => v <= a).Min(v => fewest[a - v]);
        }

        return fewest[amount];
    }

    /// <summary>
    /// Pearson's test: the smallest amount of which largest first takes too many pieces; null for a canonical system.
    /// Values largest first, the last is 1.
    /// </summary>
    private static long? SmallestCounterexample(long[] values)
    {
        long? smallest = null;
        for (var i = 1; i < values.Length; i++)
        {
            // The largest-first pieces of one less than the next larger value, cut at each place and one more of that
            // place taken.
            var greedy = Greedy(values, values[i - 1] - 1);
            for (var j = i; j < values.Length; j++)
            {
                var cut = greedy.Select((count, at) => at < j ? count : at == j ? count + 1 : 0).ToArray();
                var amount = cut.Select((count, at) => count * values[at]).Sum();
                if (Greedy(values, amount).Sum() > cut.Sum() && (smallest is null || amount < smallest))
                {
                    smallest = amount;
                }
            }
        }

        return smallest;
    }

    private static long[] Greedy(long[] values, long amount) => [.. values.Select(value =>
    {
        var count = amount / value;
        amount -= count * value;
        return count;
    })];
}
