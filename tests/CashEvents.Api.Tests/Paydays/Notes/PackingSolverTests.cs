using System.Collections.Immutable;
using CsCheck;
using Xunit;

namespace CashEvents.Api.Tests.Paydays;

/// <summary>The solver against every packing there is, on tasks small enough to try them all.</summary>
public sealed class PackingSolverTests
{
    private static readonly long[][] _systems =
        [[4, 3, 1], [5, 2], [20, 10, 5], [7, 3], [5, 2, 1], [50, 20], [9, 6, 4]];

    private static readonly Gen<ImmutableArray<Money>> _values =
        Gen.Int[0, _systems.Length - 1].Select(i => _systems[i].Select(v => new Money(v)).ToImmutableArray());

    private static readonly Gen<PackingTask> _tasks = _values.SelectMany(values => Gen.Select(
        Wishes(values), Gen.Long[1, 24], Wishes(values), Gen.Long[1, 24], Gen.Int[0, 3].Array[values.Length], Gen.Bool,
        (first, a, second, b, counts, bank) => new PackingTask(
            [new("ferry-fares", new Money(a), first), new("market-days", new Money(b), second)],
            [.. values.Zip(counts, (v, count) => new Pieces(v, count)).Where(p => p.Count > 0)],
            bank ? values : [])));

    private static Gen<NoteWishes> Wishes(ImmutableArray<Money> values) =>
        Gen.Select(Gen.Int[0, 3].Array[values.Length], Gen.Int[1, 2], (sorts, least) => new NoteWishes(
        [.. values.Where((_, i) => sorts[i] == 1)],
        [.. values.Where((_, i) => sorts[i] == 2)],
        [.. values.Where((_, i) => sorts[i] == 3).Select(v => new Pieces(v, least))]));

    [Fact]
    public void No_packing_is_better_than_the_one_found() => _tasks.Sample(task =>
    {
        var found = PackingSolver.Pack(task);

        Assert.True(found.IsProvenBest);
        Assert.Equal(EveryPacking(task).Select(contents => Rank(task, contents)).Min(RankOrder),
            Rank(task, [.. found.Contents.Select(c => Counts(task.Values, c))]));
    }, iter: Thorough.Times(atHand: 20, all: 60), threads: 1);

    [Fact]
    public void No_packing_is_nearer_than_the_remainders_let_it_be() => _tasks.Sample(task =>
        Assert.InRange(task.NeverNearer().Minor, 0, EveryPacking(task).Min(contents => Rank(task, contents)[0])),
        iter: Thorough.Times(atHand: 20, all: 100), threads: 1);

    [Theory]
    // 6 takes three twos and 4 two more. With three in all one of them is a five; with none both are.
    [InlineData(0, 5)]
    [InlineData(1, 3)]
    [InlineData(2, 0)]
    public void Where_twos_are_too_few_the_remainders_tell_how_near_one_can_come(long nearest, int twos)
    {
        var task = new PackingTask(
            [new("ferry-fares", new Money(6), NoteWishes.None), new("market-days", new Money(4), NoteWishes.None)],
            [new(new Money(10), 3), new(new Money(5), 3),
                .. twos > 0 ? [new Pieces(new Money(2), twos)] : ImmutableArray<Pieces>.Empty],
            []);

        Assert.Equal((nearest, nearest), (task.NeverNearer().Minor, MissedBy(task, PackingSolver.Pack(task))));
    }

    [Fact]
    public void Twenty_compartments_that_lack_one_two_are_packed_as_near_as_can_be_and_that_is_proven()
    {
        // Each amount is a fifty, a twenty and none to three twos, and there is one two less than that, and a five in
        // its stead.
        var twos = Enumerable.Range(0, 20).Select(i => i % 4).ToList();
        var task = new PackingTask(
            [.. twos.Select((n, i) => new Target($"compartment-{i}", new Money(7000 + (200 * n)), NoteWishes.None))],
            [new(new Money(5000), 20), new(new Money(2000), 20), new(new Money(500), 1),
                new(new Money(200), twos.Sum() - 1)],
            []);

        var found = PackingSolver.Pack(task);

        Assert.True(found is { IsExact: false, IsProvenBest: true });
        Assert.Equal((100, 100), (task.NeverNearer().Minor, MissedBy(task, found)));
    }

    private static long MissedBy(PackingTask task, Packing found) =>
        task.Targets.Zip(found.Contents).Sum(t => Math.Abs(t.First.Amount.Minor - Denominations.Total(t.Second).Minor));

    [Fact]
    public void The_same_task_gives_the_same_packing() => _tasks.Sample(task =>
    {
        var (once, again) = (PackingSolver.Pack(task), PackingSolver.Pack(task));

        Assert.Equal(once.Contents.SelectMany(c => c), again.Contents.SelectMany(c => c));
    }, iter: 25, threads: 1);

    [Fact]
    public void What_is_packed_left_and_asked_for_is_what_there_was() => _tasks.Sample(task =>
    {
        var found = PackingSolver.Pack(task);

        foreach (var value in task.Values)
        {
            int In(IEnumerable<Pieces> pieces) => pieces.Where(p => p.Value == value).Sum(p => p.Count);
            Assert.Equal(task.Held(value) + In(found.Asked), In(found.Left) + In(found.Contents.SelectMany(c => c)));
        }

        Assert.All(found.Asked, asked => Assert.Contains(asked.Value, task.FromBank));
    }, iter: Thorough.Times(atHand: 20, all: 60), threads: 1);

    [Fact]
    public void No_fewer_pieces_changed_at_a_shop_would_do() => _tasks.Sample(task =>
    {
        task = new PackingTask([.. task.Targets.Select(t => t with { Amount = new Money((t.Amount.Minor + 1) / 2) })],
            task.InHand, []);
        ImmutableArray<Money> till = [new(10), new(5), new(2)];

        var change = PackingSolver.Change(task, till);

        var fewest = FewestToChange(task, till);
        Assert.Equal(fewest, change?.Give.Sum(p => p.Count));
        if (change is not null)
        {
            Assert.True(change.Packing.IsProvenBest && change.Packing.IsExact);
            Assert.Equal(Denominations.Total(change.Give), Denominations.Total(change.Get));
            Assert.All(task.Values.Union(till), value => Assert.True(
                change.Packing.Contents.Sum(c => c.Where(p => p.Value == value).Sum(p => p.Count))
                    <= task.Held(value) - change.Give.Where(p => p.Value == value).Sum(p => p.Count)
                        + change.Get.Where(p => p.Value == value).Sum(p => p.Count)));
        }
    }, iter: Thorough.Times(atHand: 20, all: 60), threads: 1);

    [Fact]
    public void Taking_the_largest_notes_first_leaves_a_later_compartment_without_and_the_solver_does_not()
    {
        // One fifty and three twenties: who packs 60.00 first with the fifty can't go on.
        var task = new PackingTask(
            [new("market-days", new Money(6000), NoteWishes.None),
                new("ferry-fares", new Money(5000), NoteWishes.None)],
            [new(new Money(5000), 1), new(new Money(2000), 3)],
            []);

        var found = PackingSolver.Pack(task);

        Assert.True(found is { IsExact: true, IsProvenBest: true });
        Assert.Equal([new Pieces(new Money(2000), 3)], found.Contents[0]);
        Assert.Equal([new Pieces(new Money(5000), 1)], found.Contents[1]);
    }

    [Fact]
    public void One_fifty_is_changed_where_tens_are_missing()
    {
        var task = new PackingTask(
            [new("market-days", new Money(4000), NoteWishes.None),
                new("ferry-fares", new Money(2500), NoteWishes.None)],
            [new(new Money(5000), 1), new(new Money(2000), 1)],
            []);

        var change = PackingSolver.Change(task, Denominations.StillIssued(Currency.Of("EUR")))!;

        Assert.Equal([new Pieces(new Money(5000), 1)], change.Give);
        Assert.Equal([new Pieces(new Money(2000), 2), new Pieces(new Money(500), 2)], change.Get);
        Assert.True(change.Packing is { IsExact: true, IsProvenBest: true });
        Assert.Equal([new Pieces(new Money(500), 1)],
            change.Packing.Contents.SelectMany(c => c).Where(p => p.Value == new Money(500)));
    }

    private static int? FewestToChange(PackingTask task, ImmutableArray<Money> till)
    {
        ImmutableArray<Money> values = [.. task.Values.Union(till).OrderDescending()];
        var exact = (from first in Exactly(task.Targets[0].Amount.Minor, values)
                     from second in Exactly(task.Targets[1].Amount.Minor, values)
                     select values.Select((v, i) => first[i] + second[i] - task.Held(v)).ToArray()).ToList();
        var best = (int?)null;
        foreach (var give in Choices([.. values.Select(task.Held)]))
        {
            // What has to come back, at the least, and is worth no more than what is handed over; the rest of the worth
            // comes in any pieces.
            var worth = Worth(values, give);
            var will = exact.Any(wanting =>
            {
                var back = wanting.Select((w, i) => Math.Max(0, w + give[i])).ToArray();
                return back.Where((count, i) => count > 0 && !till.Contains(values[i])).Sum() == 0
                    && IsSum(worth - Worth(values, back), till);
            });
            best = will && (best is null || give.Sum() < best) ? give.Sum() : best;
        }

        return best;
    }

    private static IEnumerable<int[]> Exactly(long amount, ImmutableArray<Money> values) =>
        values.IsEmpty ? (amount == 0 ? [[]] : [])
        : from head in Enumerable.Range(0, (int)(amount / values[0].Minor) + 1)
          from tail in Exactly(amount - (head * values[0].Minor), values[1..])
          select (int[])[head, .. tail];

    private static bool IsSum(long amount, ImmutableArray<Money> values) =>
        amount == 0 || (amount > 0 && values.Any(v => IsSum(amount - v.Minor, values)));

    private static IEnumerable<int[][]> EveryPacking(PackingTask task)
    {
        var most = task.Values.Select(v => task.FromBank.Length > 0 ? int.MaxValue : task.Held(v)).ToArray();
        var perTarget = task.Targets.Select(
            t => Choices([.. task.Values.Select(
                (v, i) => (int)Math.Min(most[i], (t.Amount.Minor + v.Minor - 1) / v.Minor))]).ToList()).ToArray();
        return from first in perTarget[0]
               from second in perTarget[1]
               where !first.Where((n, i) => n + second[i] > most[i]).Any()
               select new[] { first, second };
    }

    private static IEnumerable<int[]> Choices(int[] most) => most.Length == 0 ? [[]]
        : from head in Enumerable.Range(0, most[0] + 1) from tail in Choices(most[1..]) select (int[])[head, .. tail];

    private static long[] Rank(PackingTask task, int[][] contents)
    {
        var targets = task.Targets.Zip(contents).ToList();
        var asked = task.Values.Select((v, i) => Math.Max(0, contents.Sum(c => c[i]) - task.Held(v))).ToArray();
        return
        [
            targets.Sum(t => Math.Abs(t.First.Amount.Minor - Worth(task.Values, t.Second))),
            targets.Sum(t => t.First.Wishes.AtLeast.Sum(
                w => Math.Max(0, w.Count - t.Second.Where((_, i) => task.Values[i] == w.Value).Sum()))),
            targets.Sum(t => t.Second.Where((_, i) => t.First.Wishes.Avoid.Contains(task.Values[i])).Sum()),
            Worth(task.Values, asked),
            targets.Where(t => t.First.Wishes.Prefer.Length > 0)
                .Sum(t => t.Second.Select(
                    (n, i) => t.First.Wishes.Prefer.Contains(task.Values[i]) ? 0 : n * task.Values[i].Minor).Sum()),
            asked.Sum(),
            contents.Sum(c => c.Sum()),
        ];
    }

    private static Comparer<long[]> RankOrder { get; } =
        Comparer<long[]>.Create((one, other) =>
            one.Zip(other).Select(p => p.First.CompareTo(p.Second)).FirstOrDefault(order => order != 0));

    private static int[] Counts(ImmutableArray<Money> values, ImmutableArray<Pieces> pieces) =>
        [.. values.Select(v => pieces.Where(p => p.Value == v).Sum(p => p.Count))];

    private static long Worth(ImmutableArray<Money> values, int[] counts) =>
        values.Select((v, i) => v.Minor * counts[i]).Sum();
}
