namespace CashEvents.Domain.Explanations;

/// <summary>
/// Amounts that were seen, and how likely any amount is to be the next. One that was seen keeps its share less a
/// discount; the discounts are what is left for all others, by their size and by how round they are.
/// </summary>
/// <remarks>
/// Absolute discounting, as language models use it: Ney, Essen and Kneser, On structuring probabilistic dependences in
/// stochastic language modelling (1994); the discount is their estimate from what was seen once and twice.
/// Chances are no money: they are floating-point numbers. With decimals an answer took a quarter longer.
/// </remarks>
/// <param name="wider">What it leans on: the amounts of a wider group.</param>
/// <param name="of">Whose amounts they are.</param>
internal sealed class AmountsSeen(AmountsSeen? wider, AmountsOf of)
{
    // Quarters of a doubling. 39 doublings hold the largest amount of a line.
    private const int Sizes = 160;
    private const int Spread = 3;
    private const double LeansOnSizes = 4.0;
    private const double LeansOnNew = 1.0;

    // What is new to a group is of its own sizes rather than what others have seen.
    private const double Own = 0.8;

    // How prices end is a habit of shops: a few amounts with some words say little against it.
    private const double LeansOnRoundness = 25.0;
    private const double UsualDiscount = 0.8;
    private const int Classes = 8;

    // The first that divides an amount is its class; the last two are what ends in nine, and any other.
    private static readonly long[] Round = [1_000, 500, 100, 50, 10, 5];
    private static readonly double[] Kernel = [0.3, 0.2, 0.1, 0.05];
    private static readonly double[] UsualRoundness = [0.1, 0.1, 0.2, 0.1, 0.15, 0.15, 0.1, 0.1];
    private static readonly long[] Edges = [.. Enumerable.Range(0, Sizes + 1).Select(Edge)];
    private static readonly long[][] Numbers = [.. Enumerable.Range(0, Sizes).Select(NumbersOf)];

    private readonly Dictionary<long, int> _times = [];
    private readonly double[] _sizes = new double[Sizes];
    private readonly int[] _roundness = new int[Classes];
    private readonly double?[] _sizeShares = new double?[Sizes];
    private double[]? _classShares;
    private double? _discount;
    private LeftOut? _knownWithout;
    private int _once;
    private int _twice;

    /// <summary>How many there were.</summary>
    public int Count { get; private set; }

    /// <summary>The amounts, each once.</summary>
    public IEnumerable<long> Seen => _times.Keys;

    /// <summary>Those that were seen more than once.</summary>
    public IEnumerable<long> Repeated => _times.Where(t => t.Value > 1).Select(t => t.Key);

    /// <summary>How often an amount was seen.</summary>
    public int Times(long amount) => _times.GetValueOrDefault(amount);

    /// <summary>One more.</summary>
    public void Add(long amount)
    {
        Forget();
        var times = Times(amount);
        _once += times == 0 ? 1 : times == 1 ? -1 : 0;
        _twice += times == 1 ? 1 : times == 2 ? -1 : 0;
        _times[amount] = times + 1;
        Count++;
        _roundness[Roundness(amount)]++;
        var size = Size(amount);
        for (var by = -Spread; by <= Spread; by++)
        {
            _sizes[Math.Clamp(size + by, 0, Sizes - 1)] += Kernel[Math.Abs(by)];
        }
    }

    /// <summary>The share of those that are multiples of so many minor units.</summary>
    public decimal ShareOfMultiples(long of) => Count == 0
        ? 0m
        : _times.Sum(t => t.Key % of == 0 ? t.Value : 0) / (decimal)Count;

    /// <summary>How likely an amount is to be the next.</summary>
    /// <param name="amount">The amount.</param>
    /// <param name="without">What is left out of what was seen.</param>
    public decimal Share(long amount, LeftOut? without) => (decimal)Chance(amount, without);

    private double Chance(long amount, LeftOut? without)
    {
        var (count, different, times) = (Count, _times.Count, Times(amount));
        if (Here(without) is { } one)
        {
            count--;
            different -= _times[one] == 1 ? 1 : 0;
            times -= one == amount ? 1 : 0;
        }

        var discount = Discount(without);
        var open = (discount * different) + LeansOnNew;
        return (Math.Max(0.0, times - discount) + (open * New(amount, without))) / (count + LeansOnNew);
    }

    private double Discount(LeftOut? without)
    {
        Know(without);
        return _discount ??= Estimate(without);
    }

    // Of what was seen once, the more the fewer were seen twice; of few amounts as in the wider group.
    private double Estimate(LeftOut? without)
    {
        var (once, twice) = (_once, _twice);
        if (Here(without) is { } one && _times[one] is var was)
        {
            once += was == 1 ? -1 : was == 2 ? 1 : 0;
            twice += was == 2 ? -1 : was == 3 ? 1 : 0;
        }

        return (once + (LeansOnSizes * (wider?.Discount(without) ?? UsualDiscount)))
            / (once + (2.0 * twice) + LeansOnSizes);
    }

    private long? Here(LeftOut? without) =>
        without is { } left && of >= left.From && _times.ContainsKey(left.Amount) ? left.Amount : null;

    /// <summary>How likely two amounts are to add up to one, by their sizes and its roundness.</summary>
    public decimal ShareOfTwo(long sum)
    {
        const int samples = 48;
        if (sum < samples)
        {
            return 0m;
        }

        var both = 0.0;
        for (var i = 0; i < samples; i++)
        {
            var one = ((2 * i) + 1) * sum / (2 * samples);
            both += Density(one) * Density(sum - one);
        }

        return (decimal)(both * sum / samples * RoundnessShare(sum, null) * Width(Size(sum)));
    }

    // By size, and by how round it is; with a fifth of what the wider group says.
    private double New(long amount, LeftOut? without)
    {
        var bySize = SizeShare(Size(amount), without) * RoundnessShare(amount, without);
        return wider is null ? bySize : (Own * bySize) + ((1.0 - Own) * wider.Chance(amount, without));
    }

    // Of one minor unit, as if all were as round.
    private double Density(long amount) => SizeShare(Size(amount), null) / Width(Size(amount));

    private static long Width(int size) => Edges[size + 1] - Edges[size];

    // Many amounts are held against one line, and with it against the same that is left out.
    private void Know(LeftOut? without)
    {
        if (_knownWithout != without)
        {
            Forget();
            _knownWithout = without;
        }
    }

    private void Forget()
    {
        Array.Clear(_sizeShares);
        _classShares = null;
        _discount = null;
    }

    private double SizeShare(int size, LeftOut? without)
    {
        Know(without);
        return _sizeShares[size] ??= Weigh(size, without);
    }

    private double Weigh(int size, LeftOut? without)
    {
        var (here, all) = (_sizes[size], (double)Count);
        if (Here(without) is { } one)
        {
            var apart = Math.Abs(Size(one) - size);
            here -= apart <= Spread ? Kernel[apart] : 0.0;
            all--;
        }

        var wide = wider?.SizeShare(size, without) ?? 1.0 / Sizes;
        return (Math.Max(0.0, here) + (LeansOnSizes * wide)) / (all + LeansOnSizes);
    }

    // Of the numbers of its size, those of its class share what falls to them.
    private double RoundnessShare(long amount, LeftOut? without)
    {
        var (size, its) = (Size(amount), Roundness(amount));
        var (shares, possible) = (ClassShares(without), 0.0);
        for (var i = 0; i < Classes; i++)
        {
            possible += Numbers[size][i] > 0 ? shares[i] : 0.0;
        }

        return shares[its] / possible / Numbers[size][its];
    }

    private double[] ClassShares(LeftOut? without)
    {
        Know(without);
        if (_classShares is null)
        {
            var wide = wider?.ClassShares(without) ?? UsualRoundness;
            var (left, all) = (Here(without) is { } one ? Roundness(one) : -1, Count + LeansOnRoundness);
            all -= left < 0 ? 0 : 1;
            _classShares = new double[Classes];
            for (var i = 0; i < Classes; i++)
            {
                _classShares[i] = (_roundness[i] - (i == left ? 1 : 0) + (LeansOnRoundness * wide[i])) / all;
            }
        }

        return _classShares;
    }

    private static int Size(long amount)
    {
        var at = Array.BinarySearch(Edges, Math.Max(1, amount));
        at = at >= 0 ? at : ~at - 1;
        // The smallest amounts have fewer numbers than sizes.
        while (at + 1 < Sizes && Edges[at + 1] <= Math.Max(1, amount))
        {
            at++;
        }

        return Math.Clamp(at, 0, Sizes - 1);
    }

    // Where a quarter of a doubling begins: 2^(i/4), rounded up; the quarters of a doubling by their four roots.
    private static long Edge(int i)
    {
        decimal[] roots = [1m, 1.189207115m, 1.414213562m, 1.681792831m];
        return (long)Math.Ceiling((1L << (i / 4)) * roots[i % 4]);
    }

    private static long[] NumbersOf(int size)
    {
        var (from, to) = (Edges[size], Edges[size + 1]);
        long Multiples(long of) => ((to - 1) / of) - ((from - 1) / of);
        var numbers = new long[Classes];
        var wider = 0L;
        for (var i = 0; i < Round.Length; i++)
        {
            numbers[i] = Multiples(Round[i]) - wider;
            wider += numbers[i];
        }

        numbers[6] = ((to - 1 + 1) / 10) - ((from - 1 + 1) / 10);
        numbers[7] = to - from - wider - numbers[6];
        return numbers;
    }

    private static int Roundness(long amount)
    {
        var first = Array.FindIndex(Round, r => amount % r == 0);
        return first >= 0 ? first : amount % 10 == 9 ? 6 : 7;
    }
}

/// <summary>Whose amounts they are, from narrow to wide.</summary>
internal enum AmountsOf
{
    /// <summary>Of the movements with some words.</summary>
    Words,

    /// <summary>Of one way of a place.</summary>
    Place,

    /// <summary>Of all movements of a kind.</summary>
    Kind,

    /// <summary>Of the household.</summary>
    Household,
}

/// <summary>One amount that is left out, from some group of it on to the widest.</summary>
/// <param name="Amount">The amount.</param>
/// <param name="From">The narrowest group that has it.</param>
internal readonly record struct LeftOut(long Amount, AmountsOf From);
