namespace CashEvents.Benchmarks.Explanations;

/// <summary>Something that happened: what a book without a mistake says of it.</summary>
/// <param name="Said">The movement.</param>
/// <param name="Written">The day on which it was written.</param>
/// <param name="By">Who wrote it.</param>
internal sealed record Happened(IReplacement Said, DateOnly Written, string By)
{
    /// <summary>On the day of the count, but after it.</summary>
    public bool AfterCount { get; init; }
}

/// <summary>What a household buys with one compartment's money.</summary>
internal sealed record Item(string Words, double Middle, double Spread, bool Fixed, double Share);

/// <summary>A compartment of the household.</summary>
internal sealed record Purse(string Id, Purpose Purpose, Item[] Items, double Share, long Fill, bool HasBank);

/// <summary>
/// A household as it lived: eight to fourteen compartments, two or three who write, one of three ways in which prices
/// end, some months up to today. It knows nothing of how explanations are found.
/// </summary>
internal sealed class TrueLife
{
    private static readonly string[] Names =
    [
        "ferry-fares", "market-days", "bakery-van", "post-and-paper", "hardware", "garden", "harbour-cafe", "school",
        "boat-fuel", "roof-fund", "winter-coal", "gifts", "vet", "rainy-day",
    ];

    private static readonly string[] Things =
    [
        "Return", "Single", "Two loaves", "Rolls", "Cheese and eggs", "Apples", "Fish", "Stamps", "Parcel", "Twine",
        "Screws", "Paint", "Seeds", "Compost", "Tea and scones", "Soup", "Exercise books", "Trip", "Petrol", "Oil",
        "Slates", "Sack of coal", "Birthday", "Flowers", "Tablets", "Newspapers", "Batteries", "Rope",
    ];

    private static readonly long[] RoundSums = [500, 1_000, 1_000, 1_500, 2_000, 2_000, 3_000, 4_000, 5_000];

    private static readonly int[] DaysLate = [0, 0, 0, 0, 1, 1, 2, 4];

    /// <summary>How often money moves between two places on a day.</summary>
    public const double MovesPerDay = 0.12;

    /// <summary>How often something of a purchase comes back.</summary>
    public const double ComesBack = 0.035;

    private readonly Random _random;
    private readonly Rates _rates;
    private readonly Dictionary<Part, Money> _balances = [];

    public TrueLife(Random random, Rates rates)
    {
        (_random, _rates) = (random, rates);
        Prices = (Prices)random.Next(3);
        Today = new DateOnly(2026, 11, 30);
        CountedOn = Today.AddDays(-random.Next(9));
        Agreed = CountedOn.AddDays(-random.Next(rates.Window.From, rates.Window.To + 1));
        First = Agreed.AddDays(-random.Next(45, 150));
        Writers = ["keeper", "partner", "daughter"];
        Purses = [.. Names.OrderBy(_ => random.Next()).Take(random.Next(8, 15)).Select(Open)];
        Purses = rates.Crowded ? [Purses[0] with { Share = 100, HasBank = false }, .. Purses[1..]] : Purses;
        First = rates.Crowded ? Agreed : First;
        Live();
        var number = Math.Max(3, (int)Math.Round(Purses.Length * Between(rates.Counted.From, rates.Counted.To)));
        Counted = [.. Purses.OrderBy(p => random.NextDouble() / p.Share).Take(number).Select(p => Cash(p.Id))];
    }

    public Prices Prices { get; }

    public DateOnly First { get; }

    public DateOnly Agreed { get; }

    public DateOnly CountedOn { get; }

    public DateOnly Today { get; }

    public string[] Writers { get; }

    public Purse[] Purses { get; }

    public Part[] Counted { get; }

    public List<Happened> Lines { get; } = [];

    public static Money Opening(Holding holding) => new(holding == Holding.Cash ? 60_000 : 90_000);

    public static Part Cash(string id) => new(id, Holding.Cash);

    /// <summary>What really lies in a place when it is counted.</summary>
    public Money Found(Part place) => Lines.Where(Before).SelectMany(l => l.Said.Postings)
        .Where(p => p.Place == place).Aggregate(Opening(place.Holding), (sum, p) => sum + p.Amount);

    public bool Before(Happened line) => line.Said.OccurredOn < CountedOn
        || (line.Said.OccurredOn == CountedOn && !line.AfterCount);

    private double Between(double from, double to) => from + ((to - from) * _random.NextDouble());

    private Purse Open(string id)
    {
        var saves = id is "roof-fund" or "rainy-day" or "winter-coal";
        var middle = Math.Exp(Between(Math.Log(250), Math.Log(saves ? 9_000 : 3_500)));
        var items = Enumerable.Range(0, _random.Next(2, 6)).Select(_ => new Item(Things[_random.Next(Things.Length)],
            middle * Math.Exp(Between(-0.7, 0.7)), Between(0.05, 0.5), _random.Next(3) == 0, Between(0.3, 1)))
            .ToArray();
        return new Purse(id, saves ? Purpose.SinkingFund : Purpose.Spending, items,
            saves ? 0.15 : Math.Exp(Between(-1.2, 0.6)), 500 * _random.Next(4, 40), saves || _random.Next(4) == 0);
    }

    private void Live()
    {
        var shares = Purses.Sum(p => p.Share);
        for (var day = First; day <= Today; day = day.AddDays(1))
        {
            foreach (var purse in Purses)
            {
                if (IsDue(purse, day))
                {
                    Add(new Filled(purse.Id, purse.HasBank && _random.Next(3) == 0 ? Holding.Bank : Holding.Cash,
                        new Money(purse.Fill), day, "Pay"));
                }

                for (var n = Poisson(_rates.Perday * purse.Share / shares); n > 0; n--)
                {
                    Buy(purse, day);
                }
            }

            if (_random.NextDouble() < MovesPerDay)
            {
                Move(day);
            }
        }
    }

    private void Buy(Purse purse, DateOnly day)
    {
        var item = Weighted(purse.Items, i => i.Share);
        var holding = purse.HasBank && _random.Next(5) == 0 ? Holding.Bank : Holding.Cash;
        var amount = Price(item);
        TopUp(purse, new Part(purse.Id, holding), amount, day);
        Add(new Spent(purse.Id, holding, amount, day, Words(item)));
        if (_random.NextDouble() < ComesBack)
        {
            var back = _random.Next(2) == 0 ? amount : Ended(amount.Minor * Between(0.2, 0.8));
            Add(new Refunded(purse.Id, holding, back, day.AddDays(_random.Next(0, 6)), Words(item)));
        }
    }

    private void Move(DateOnly day)
    {
        var (from, to) = (_random.Next(Purses.Length), _random.Next(Purses.Length));
        var (amount, source) = (Round(), new Part(Purses[from].Id, from == to ? Holding.Bank : Holding.Cash));
        if (from != to || Purses[from].HasBank)
        {
            TopUp(Purses[from], source, amount, day);
            Add(new Transferred(source, Cash(Purses[to].Id), amount, day,
                from == to ? "From the bank" : _random.Next(2) == 0 ? "" : "Lent"));
        }
    }

    // Nobody spends what is not there: more is drawn before.
    private void TopUp(Purse purse, Part place, Money amount, DateOnly day)
    {
        while (_balances.GetValueOrDefault(place, Opening(place.Holding)) < amount + new Money(6_000))
        {
            Add(new Filled(place.Compartment, place.Holding, new Money(Math.Max(purse.Fill, 5_000)), day, "Topped up"));
        }
    }

    public Money Round() => new(RoundSums[_random.Next(RoundSums.Length)]);

    /// <summary>How likely a sum that is moved is just this one.</summary>
    public static double ShareOfRound(Money amount) =>
        (double)RoundSums.Count(s => s == amount.Minor) / RoundSums.Length;

    /// <summary>Whether a compartment's money comes on a day.</summary>
    public static bool IsDue(Purse purse, DateOnly day) =>
        day.Day == 1 || (purse.Fill < 6_000 && day.DayOfWeek == DayOfWeek.Friday);

    /// <summary>How likely an item costs just so much.</summary>
    public double ShareOfPrice(Item item, Money amount) => Ended(amount.Minor, (from, to) => Costs(item, from, to));

    /// <summary>How likely so much comes back of an item: half of the time all that it cost.</summary>
    public double ShareBack(Item item, Money amount)
    {
        const int prices = 16;
        double Part(double from, double to) => Enumerable.Range(0, prices).Average(i =>
            Parts(item.Fixed ? item.Middle : item.Middle * Math.Exp(item.Spread * (i - 7.5) / 4), from, to)
                * (item.Fixed ? 1 : 4 * Math.Exp(-Math.Pow((i - 7.5) / 4, 2) / 2) / Math.Sqrt(2 * Math.PI)));
        return 0.5 * ShareOfPrice(item, amount) + (0.5 * Ended(amount.Minor, Part));
    }

    /// <summary>How likely so much comes back of what cost more, when not all does.</summary>
    public double ShareOfPart(Money whole, Money part) =>
        Ended(part.Minor, (from, to) => Parts(whole.Minor, from, to));

    // Of a sum, between two and eight tenths come back.
    private static double Parts(double whole, double from, double to) =>
        Math.Max(0, Math.Min(to / whole, 0.8) - Math.Max(from / whole, 0.2)) / 0.6;

    private static double Costs(Item item, double from, double to)
    {
        if (item.Fixed)
        {
            return from <= item.Middle && item.Middle < to ? 1 : 0;
        }

        const int steps = 8;
        var width = (to - from) / steps;
        return Enumerable.Range(0, steps).Select(i => Math.Max(1, from + ((i + 0.5) * width))).Sum(x =>
            width / x / item.Spread / Math.Sqrt(2 * Math.PI)
                * Math.Exp(-Math.Pow(Math.Log(x / item.Middle) / item.Spread, 2) / 2));
    }

    // How likely a price ends as an amount, by how likely it lies between two bounds.
    private double Ended(long amount, Func<double, double, double> between)
    {
        var least = Prices == Prices.Whole ? 50 : 20;
        double Step(long step, double half) => amount % step == 0 ? between(amount - half, amount + half) : 0;
        return amount < least ? 0 : (amount == least ? between(0, least - 0.5) : 0) + (Prices switch
        {
            Prices.Cents => (amount % 10 == 9 ? 0.3 * between(amount - 9, amount + 1) : 0)
                + (0.07 * Step(50, 25)) + (0.63 * between(amount, amount + 1)),
            Prices.Fives => Step(5, 2.5),
            _ => (Step(50, 25) / 6) + (Step(100, 50) * 5 / 6),
        });
    }

    private string Words(Item item) => _random.NextDouble() < _rates.Blank ? "" : item.Words;

    private Money Price(Item item) => Ended(item.Fixed
        ? item.Middle
        : item.Middle * Math.Exp(item.Spread * Normal()));

    private Money Ended(double cents) => new(Math.Max(Prices == Prices.Whole ? 50 : 20, Prices switch
    {
        Prices.Cents when _random.Next(10) < 3 => ((long)(cents / 10) * 10) + 9,
        Prices.Cents when _random.Next(10) < 1 => (long)Math.Round(cents / 50) * 50,
        Prices.Cents => (long)cents,
        Prices.Fives => (long)Math.Round(cents / 5) * 5,
        _ => Stepped(cents, _random.Next(6) == 0 ? 50 : 100),
    }));

    private static long Stepped(double cents, long step) => (long)Math.Round(cents / step) * step;

    private void Add(IReplacement said)
    {
        if (said.OccurredOn > Today)
        {
            return;
        }

        foreach (var posting in said.Postings)
        {
            _balances[posting.Place] = _balances.GetValueOrDefault(posting.Place, Opening(posting.Place.Holding))
                + posting.Amount;
        }

        var after = said.OccurredOn == CountedOn && _random.Next(3) == 0;
        var late = said.OccurredOn == CountedOn ? 0 : DaysLate[_random.Next(DaysLate.Length)];
        var written = said.OccurredOn.AddDays(late);
        Lines.Add(new Happened(said, written > Today ? Today : written, Writers[_random.Next(8) switch
        {
            < 5 => 0,
            < 7 => 1,
            _ => 2,
        }])
        { AfterCount = after });
    }

    private double Normal() => Math.Sqrt(-2 * Math.Log(1 - _random.NextDouble()))
        * Math.Cos(2 * Math.PI * _random.NextDouble());

    private int Poisson(double mean)
    {
        var (n, left) = (0, _random.NextDouble());
        for (var p = Math.Exp(-mean); left > p && n < 20; n++, p *= mean / n)
        {
            left -= p;
        }

        return n;
    }

    public T Weighted<T>(IReadOnlyList<T> from, Func<T, double> weight)
    {
        var at = _random.NextDouble() * from.Sum(weight);
        foreach (var one in from)
        {
            at -= weight(one);
            if (at <= 0)
            {
                return one;
            }
        }

        return from[^1];
    }
}
