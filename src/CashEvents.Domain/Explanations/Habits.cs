namespace CashEvents.Domain.Explanations;

/// <summary>
/// How often a household moves which amounts, with which words and on which weekdays, place by place and way by way
/// (spends of a place are one way, fills another).
/// docs/explanations.md has the formulas. An estimate of what is usual, from what is in the book; what is new is given
/// room, and what is rare leans on what is usual around it.
/// </summary>
internal sealed class Habits
{
    /// <summary>How often what comes back is the whole of what was paid.</summary>
    public const decimal TakenBackWhole = 0.7m;

    private const decimal LeansOnHousehold = 4m;
    private const decimal NewWords = 0.02m;
    private const decimal NewWay = 0.5m;

    private readonly Dictionary<(Part, MovementKind, bool Out), Way> _ways = [];
    private readonly Dictionary<(MovementKind, bool Out), KindOfWay> _kinds = [];
    private readonly Dictionary<string, int> _words = new(StringComparer.Ordinal);
    private readonly Dictionary<(Part, Part), int> _transfers = [];
    private readonly Dictionary<Part, int> _inPlace = [];
    private readonly AmountsSeen _all = new(null, AmountsOf.Household);
    private readonly int _days;
    private int _lines;

    /// <summary>The habits that some lines show.</summary>
    /// <param name="lines">Movements that stand, in date order.</param>
    /// <param name="until">The day up to which they were written.</param>
    public Habits(IReadOnlyList<IMovement> lines, DateOnly until)
    {
        _days = lines.Count == 0 ? 7 : Math.Max(7, until.DayNumber - lines[0].OccurredOn.DayNumber + 1);
        foreach (var line in lines)
        {
            _lines++;
            _words[line.Description] = _words.GetValueOrDefault(line.Description) + 1;
            if (line is Transferred t)
            {
                _transfers[(t.From, t.To)] = _transfers.GetValueOrDefault((t.From, t.To)) + 1;
            }

            foreach (var posting in line.Postings)
            {
                var (place, amount) = (posting.Place, Math.Abs(posting.Amount.Minor));
                _inPlace[place] = _inPlace.GetValueOrDefault(place) + 1;
                Of(place, line.Kind, posting.Amount < Money.Zero).Learn(line, amount);
                _all.Add(amount);
            }
        }
    }

    /// <summary>How many movements of one way there were.</summary>
    public int Times(Part place, MovementKind kind, bool goesOut) =>
        _ways.TryGetValue((place, kind, goesOut), out var way) ? way.Count : 0;

    /// <summary>How many movements of any kind a place has on a day, on average.</summary>
    public decimal PerDay(Part place) => _inPlace.GetValueOrDefault(place) / (decimal)_days;

    /// <summary>Whether money ever moved in a place.</summary>
    public bool Knows(Part place) => _inPlace.ContainsKey(place);

    /// <summary>How often money went from one place to another, either way.</summary>
    public int Transfers(Part one, Part other) =>
        _transfers.GetValueOrDefault((one, other)) + _transfers.GetValueOrDefault((other, one));

    /// <summary>How many of the household's amounts are whole multiples of so many minor units.</summary>
    public decimal ShareOfMultiples(long of) => _all.ShareOfMultiples(of);

    /// <summary>Which share of the movements of one way has an amount, whatever the words.</summary>
    public decimal Share(Part place, MovementKind kind, Money change) =>
        Of(place, kind, change < Money.Zero).Amounts.Share(Math.Abs(change.Minor), null);

    /// <summary>How likely two movements of one way are to add up to an amount that was not seen.</summary>
    public decimal ShareOfTwo(Part place, MovementKind kind, Money change) =>
        Of(place, kind, change < Money.Zero).Amounts.ShareOfTwo(Math.Abs(change.Minor));

    /// <summary>Which share of the household's movements of a kind has an amount, wherever it went.</summary>
    public decimal ShareOfKind(MovementKind kind, Money change) =>
        Kind(kind, change < Money.Zero).Amounts.Share(Math.Abs(change.Minor), null);

    /// <summary>
    /// Which share of the household's movements of any amount has this one: what is usual where nothing else is known.
    /// </summary>
    public decimal ShareOfAll(Money change) => _all.Share(Math.Abs(change.Minor), null);

    /// <summary>How many movements like a line there are in its place on a day like its own.</summary>
    /// <param name="place">The place.</param>
    /// <param name="line">What it says, or would.</param>
    /// <param name="change">What it changes there.</param>
    /// <param name="written">From where on the line is left out of what was seen: where it is weighed as it stands,
    /// everywhere; otherwise where it stands, it stands for another.</param>
    public decimal Rate(Part place, IMovement line, Money change, AmountsOf written)
    {
        var way = Of(place, line.Kind, change < Money.Zero);
        var itself = written == AmountsOf.Words ? 1 : 0;
        var amount = Math.Abs(change.Minor);
        var its = WordsShare(way, line.Description, itself)
            * way.Share(line.Description, amount, new LeftOut(amount, written));
        return WayPerDay(way, itself) * way.WeekdayShare(line.Description, line.OccurredOn.DayOfWeek, itself)
            * (line.Kind == MovementKind.Refund
                ? (TakenBackWhole * Paid(place, line.Description, amount, written)) + ((1m - TakenBackWhole) * its)
                : its);
    }

    // What comes back has the words and the amount of a spend: of another one, where a spend is weighed as a refund.
    private decimal Paid(Part place, string words, long amount, AmountsOf written)
    {
        var (spends, isSpend) = (Of(place, MovementKind.Spend, goesOut: true), written == AmountsOf.Household);
        return WordsShare(spends, words, isSpend ? 1 : 0) * spends.Share(words, amount,
            new LeftOut(amount, isSpend ? AmountsOf.Words : AmountsOf.Household));
    }

    /// <summary>Which share of the movements with a line's words has an amount.</summary>
    /// <param name="place">The place.</param>
    /// <param name="line">What it says.</param>
    /// <param name="change">The amount, its own or another.</param>
    /// <param name="written">What the line says it is, which is left out.</param>
    public decimal ShareWithWords(Part place, IMovement line, Money change, Money written) =>
        Of(place, line.Kind, written < Money.Zero)
            .Share(line.Description, Math.Abs(change.Minor),
                new LeftOut(Math.Abs(written.Minor), AmountsOf.Words));

    /// <summary>
    /// The words that go oftenest with an amount; null when it has not been seen. Of equally frequent ones the first by
    /// the alphabet.
    /// </summary>
    public (string Words, int Times)? WordsFor(Part place, MovementKind kind, Money change) =>
        Of(place, kind, change < Money.Zero).WordsFor(Math.Abs(change.Minor));

    /// <summary>Which share of the movements with these words is on a weekday, times seven.</summary>
    public decimal WeekdayShare(Part place, MovementKind kind, bool goesOut, string words, DayOfWeek day) =>
        Of(place, kind, goesOut).WeekdayShare(words, day, 0);

    /// <summary>
    /// How likely a day that has a movement with some words has another, against a day that has none; 1 where they come
    /// by chance.
    /// </summary>
    public decimal Again(Part place, MovementKind kind, bool goesOut, string words) =>
        Of(place, kind, goesOut).Again(words, _days);

    /// <summary>The same for a line on its own weekday, without it.</summary>
    public decimal WeekdayShare(Part place, IMovement line, Money change) =>
        Of(place, line.Kind, change < Money.Zero).WeekdayShare(line.Description, line.OccurredOn.DayOfWeek, 1);

    /// <summary>The amounts that have been seen going one way, each once.</summary>
    public IEnumerable<Money> Amounts(Part place, MovementKind kind, bool goesOut) =>
        Of(place, kind, goesOut).Amounts.Seen.Select(a => new Money(goesOut ? -a : a));

    /// <summary>The amounts that have been seen going one way more than once.</summary>
    public IEnumerable<long> Repeated(Part place, MovementKind kind, bool goesOut) =>
        Of(place, kind, goesOut).Amounts.Repeated;

    // The mean of a gamma distribution: as if one movement more were seen, in the time in which such a way of the
    // household has one.
    private decimal WayPerDay(Way way, int itself)
    {
        var usual = (way.Kind.Amounts.Count - itself + NewWay) / way.Kind.Places;
        return (way.Count - itself + 1) / (_days * (1m + (1m / usual)));
    }

    // Words of a way lean on those of its kind, and these on the whole household.
    private decimal WordsShare(Way way, string words, int itself)
    {
        var household = (_words.GetValueOrDefault(words) - 1 + NewWords) / _lines;
        var (times, all) = (way.Kind.Words.GetValueOrDefault(words), way.Kind.Amounts.Count);
        var kind = (Math.Max(0, times - 1) + (LeansOnHousehold * household))
            / (Math.Max(0, all - 1) + LeansOnHousehold);
        return (way.Times(words) - itself + (LeansOnHousehold * kind)) / (way.Count - itself + LeansOnHousehold);
    }

    private KindOfWay Kind(MovementKind kind, bool goesOut)
    {
        if (!_kinds.TryGetValue((kind, goesOut), out var known))
        {
            _kinds.Add((kind, goesOut), known = new KindOfWay(new AmountsSeen(_all, AmountsOf.Kind)));
        }

        return known;
    }

    private Way Of(Part place, MovementKind kind, bool goesOut)
    {
        if (!_ways.TryGetValue((place, kind, goesOut), out var known))
        {
            _ways.Add((place, kind, goesOut), known = new Way(Kind(kind, goesOut)));
        }

        return known;
    }

    // All ways of a kind in the household.
    private sealed record KindOfWay(AmountsSeen Amounts)
    {
        public Dictionary<string, int> Words { get; } = new(StringComparer.Ordinal);

        public int Places { get; set; } = 1;
    }

    private sealed class Way(KindOfWay kind)
    {
        private readonly Dictionary<string, Told> _words = new(StringComparer.Ordinal);

        public KindOfWay Kind => kind;

        public AmountsSeen Amounts { get; } = new(kind.Amounts, AmountsOf.Place);

        public int Count => Amounts.Count;

        public void Learn(IMovement line, long amount)
        {
            kind.Places += Count == 0 && kind.Amounts.Count > 0 ? 1 : 0;
            kind.Words[line.Description] = kind.Words.GetValueOrDefault(line.Description) + 1;
            kind.Amounts.Add(amount);
            Amounts.Add(amount);
            if (!_words.TryGetValue(line.Description, out var told))
            {
                _words.Add(line.Description, told = new Told(new AmountsSeen(Amounts, AmountsOf.Words)));
            }

            told.Learn(line.OccurredOn);
            told.Amounts.Add(amount);
        }

        public int Times(string words) => _words.GetValueOrDefault(words)?.Amounts.Count ?? 0;

        public decimal Share(string words, long amount, LeftOut? without) =>
            (_words.GetValueOrDefault(words)?.Amounts ?? Amounts).Share(amount, without);

        // Seven times the share of a weekday: one where all days are alike.
        public decimal WeekdayShare(string words, DayOfWeek day, int itself) => _words.TryGetValue(words, out var told)
            ? 7m * (told.Weekdays[(int)day] - itself + 1) / (told.Amounts.Count - itself + 7)
            : 1m;

        public decimal Again(string words, int days) => _words.GetValueOrDefault(words)?.Again(days) ?? 1m;

        public (string Words, int Times)? WordsFor(long amount)
        {
            var (words, times) = ("", 0);
            foreach (var (told, known) in _words)
            {
                var seen = known.Amounts.Times(amount);
                if (seen > times || (seen == times && seen > 0 && string.CompareOrdinal(told, words) < 0))
                {
                    (words, times) = (told, seen);
                }
            }

            return times > 0 ? (words, times) : null;
        }
    }

    private sealed record Told(AmountsSeen Amounts)
    {
        private DateOnly _last;
        private int _again;

        public int[] Weekdays { get; } = new int[7];

        public void Learn(DateOnly day)
        {
            Weekdays[(int)day.DayOfWeek]++;
            _again += day == _last ? 1 : 0;
            _last = day;
        }

        // Against as many as there would be by chance, on weekdays like theirs.
        public decimal Again(int days) =>
            Math.Min(1m, (_again + 1) / (1m + (Weekdays.Sum(w => w * w) * 7m / (2 * days))));
    }
}
