using System.Numerics;

namespace CashEvents.Domain.Explanations;

/// <summary>
/// How often a household moves which amounts, with which words and on which weekdays, place by place and way by way
/// (spends of a place are one way, fills another).
/// docs/explanations.md has the formulas. An estimate of what is usual, from what is in the book; what is new is given
/// room.
/// </summary>
internal sealed class Habits
{
    private static readonly Way NoneYet = new();

    private readonly Dictionary<(Part, MovementKind, bool Out), Way> _ways = [];
    private readonly int _days;

    /// <summary>The habits that some lines show.</summary>
    /// <param name="lines">Movements that stand, in date order.</param>
    /// <param name="until">The day up to which they were written.</param>
    public Habits(IReadOnlyList<IMovement> lines, DateOnly until)
    {
        _days = lines.Count == 0 ? 7 : Math.Max(7, until.DayNumber - lines[0].OccurredOn.DayNumber + 1);
        foreach (var line in lines)
        {
            foreach (var posting in line.Postings)
            {
                var way = (posting.Place, line.Kind, posting.Amount < Money.Zero);
                if (!_ways.TryGetValue(way, out var known))
                {
                    _ways.Add(way, known = new Way());
                }

                known.Learn(line, Math.Abs(posting.Amount.Minor));
            }
        }
    }

    /// <summary>How many movements of one way there are on a day, on average.</summary>
    public decimal PerDay(Part part, MovementKind kind, bool goesOut) =>
        (Of(part, kind, goesOut).Count + 0.1m) / _days;

    /// <summary>Which share of them has an amount, whatever the words.</summary>
    public decimal Share(Part part, MovementKind kind, Money change) =>
        Of(part, kind, change < Money.Zero).Share(Math.Abs(change.Minor), null, false);

    /// <summary>How many movements like a line there are in its place on a day like its own.</summary>
    /// <param name="part">The place.</param>
    /// <param name="line">What it says.</param>
    /// <param name="change">What it changes there.</param>
    /// <param name="itself">Whether the line is among those that the habits were learnt from: then it is left
    /// out.</param>
    public decimal Rate(Part part, IMovement line, Money change, bool itself)
    {
        var way = Of(part, line.Kind, change < Money.Zero);
        return PerDay(part, line.Kind, change < Money.Zero) * way.WordsShare(line.Description, itself)
            * way.WeekdayShare(line.Description, line.OccurredOn.DayOfWeek)
            * way.Share(Math.Abs(change.Minor), line.Description, itself);
    }

    /// <summary>Which share of the movements with a line's words has an amount.</summary>
    /// <param name="part">The place.</param>
    /// <param name="line">What it says.</param>
    /// <param name="change">The amount, its own or another.</param>
    /// <param name="written">What the line says it is, which is left out.</param>
    public decimal ShareWithWords(Part part, IMovement line, Money change, Money written) =>
        Of(part, line.Kind, written < Money.Zero)
            .Share(Math.Abs(change.Minor), line.Description, true, Math.Abs(written.Minor));

    /// <summary>
    /// Which share of the household's movements of any amount has this one: what is usual where nothing else is known.
    /// </summary>
    public decimal ShareOfAll(Money change)
    {
        var all = new Way();
        foreach (var way in _ways.Values)
        {
            all.Take(way);
        }

        return all.Share(Math.Abs(change.Minor), null, false);
    }

    /// <summary>
    /// The words that go oftenest with an amount; null when it has not been seen. Of equally frequent ones the first by
    /// the alphabet.
    /// </summary>
    public (string Words, int Times)? WordsFor(Part part, MovementKind kind, Money change) =>
        Of(part, kind, change < Money.Zero).WordsFor(Math.Abs(change.Minor));

    /// <summary>Which share of the movements with these words is on a weekday.</summary>
    public decimal WeekdayShare(Part part, MovementKind kind, bool goesOut, string words, DayOfWeek day) =>
        Of(part, kind, goesOut).WeekdayShare(words, day);

    /// <summary>The amounts that have been seen going one way, each once.</summary>
    public IEnumerable<Money> Amounts(Part part, MovementKind kind, bool goesOut) =>
        Of(part, kind, goesOut).Amounts.Select(a => new Money(goesOut ? -a : a));

    private Way Of(Part part, MovementKind kind, bool goesOut) =>
        _ways.GetValueOrDefault((part, kind, goesOut), NoneYet);

    private sealed class Way
    {
        // Amounts nobody has seen yet are judged by their size, in doublings, and by how round they are.
        private static readonly long[] Round = [1_000, 500, 100, 50, 10, 5, 1];
        private static readonly decimal[] ShareOfNumbers = [0.001m, 0.001m, 0.008m, 0.01m, 0.08m, 0.1m, 0.8m];
        private const int Sizes = 40;

        private readonly Dictionary<long, int> _amounts = [];
        private readonly Dictionary<string, Told> _words = new(StringComparer.Ordinal);
        private readonly int[] _sizes = new int[Sizes];
        private readonly int[] _roundness = new int[Round.Length];

        public int Count { get; private set; }

        public IEnumerable<long> Amounts => _amounts.Keys;

        public void Learn(IMovement line, long amount)
        {
            Add(amount, 1);
            if (!_words.TryGetValue(line.Description, out var told))
            {
                _words.Add(line.Description, told = new Told());
            }

            told.Count++;
            told.Weekdays[(int)line.OccurredOn.DayOfWeek]++;
            told.Amounts[amount] = told.Amounts.GetValueOrDefault(amount) + 1;
        }

        public void Take(Way other)
        {
            foreach (var (amount, times) in other._amounts)
            {
                Add(amount, times);
            }
        }

        private void Add(long amount, int times)
        {
            Count += times;
            _amounts[amount] = _amounts.GetValueOrDefault(amount) + times;
            _sizes[Size(amount)] += times;
            _roundness[Roundness(amount)] += times;
        }

        // As often as seen, with as much room for what is new as different amounts were seen.
        public decimal Share(long amount, string? words, bool itself, long? leftOut = null)
        {
            long? without = itself ? leftOut ?? amount : null;
            var share = Seen(_amounts, Count, amount, without, Unseen(amount, without));
            return words is not null && _words.TryGetValue(words, out var told)
                ? Seen(told.Amounts, told.Count, amount, without, share)
                : share;
        }

        private static decimal Seen(Dictionary<long, int> amounts, int count, long amount, long? without,
            decimal otherwise)
        {
            var times = amounts.GetValueOrDefault(amount) - (without == amount ? 1 : 0);
            var (all, different) = without is { } one
                ? (count - 1, amounts.Count - (amounts.GetValueOrDefault(one) == 1 ? 1 : 0))
                : (count, amounts.Count);
            return (times + ((different + 1) * otherwise)) / (all + different + 1);
        }

        private decimal Unseen(long amount, long? without)
        {
            var (size, roundness) = (Size(amount), Roundness(amount));
            var ofSize = (_sizes[size] - (without is { } a && Size(a) == size ? 1 : 0)
                + (1m / Sizes)) / (Count - (without is null ? 0 : 1) + 1);
            var asRound = (_roundness[roundness] - (without is { } b && Roundness(b) == roundness ? 1 : 0)
                + (1m / Round.Length)) / (Count - (without is null ? 0 : 1) + 1);
            return ofSize * asRound / Math.Max(1m, (1L << size) * ShareOfNumbers[roundness]);
        }

        public decimal WordsShare(string words, bool itself)
        {
            const decimal anyWords = 0.001m;
            var one = itself ? 1 : 0;
            var times = (_words.GetValueOrDefault(words)?.Count ?? 0) - one;
            var different = _words.Count - (itself && times == 0 ? 1 : 0);
            return (times + ((different + 1) * anyWords)) / (Count - one + different + 1);
        }

        // Seven times the share of a weekday: one where all days are alike.
        public decimal WeekdayShare(string words, DayOfWeek day) =>
            _words.TryGetValue(words, out var told) ? 7m * (told.Weekdays[(int)day] + 1) / (told.Count + 7) : 1m;

        public (string Words, int Times)? WordsFor(long amount)
        {
            var (words, times) = ("", 0);
            if (_amounts.ContainsKey(amount))
            {
                foreach (var (told, known) in _words)
                {
                    var seen = known.Amounts.GetValueOrDefault(amount);
                    if (seen > times || (seen == times && seen > 0 && string.CompareOrdinal(told, words) < 0))
                    {
                        (words, times) = (told, seen);
                    }
                }
            }

            return times > 0 ? (words, times) : null;
        }

        private static int Size(long amount) => Math.Min(Sizes - 1, BitOperations.Log2((ulong)Math.Max(1, amount)));

        private static int Roundness(long amount) => Array.FindIndex(Round, r => amount % r == 0);
    }

    private sealed class Told
    {
        public int Count { get; set; }

        public int[] Weekdays { get; } = new int[7];

        public Dictionary<long, int> Amounts { get; } = [];
    }
}
