namespace CashEvents.Benchmarks.Explanations;

/// <summary>What people do wrong between a purse and a book, as bookkeeping and cash handling name it.</summary>
internal enum Err
{
    SpendForgotten, RefundForgotten, FillForgotten, TransferForgotten, Twice, WrongWay, WrongCompartment, WrongHolding,
    Transposed, Slid, Rounded, Digit, Misread, PieceOff, Stuck, WrongChange, WrongDay, NotDone, Total,
}

/// <summary>How books are kept and how people err in them: one setting of the generator.</summary>
/// <param name="Name">For the tables.</param>
/// <param name="Weights">How often each mistake is made, in the order of <see cref="Err"/>.</param>
/// <param name="Blank">Which share of the lines has no words.</param>
/// <param name="Perday">Movements of the household a day, about.</param>
/// <param name="Window">Days between the counts, from and to.</param>
/// <param name="Counted">Which share of the compartments is counted, from and to.</param>
/// <param name="Loss">Of losses and gains: the shares of one coin, one note; the rest are odd sums.</param>
internal sealed record Rates(string Name, double[] Weights, double Blank, double Perday, (int From, int To) Window,
    (double From, double To) Counted, (double Coin, double Note) Loss)
{
    /// <summary>Looked at while the model was made.</summary>
    public static readonly Rates[] Open =
    [
        new("everyday", [34, 3, 3, 7, 7, 3, 9, 4, 5, 2, 7, 4, 3, 5, 2, 4, 6, 2, 2], 0.20, 2.5, (10, 31), (0.3, 0.8),
            (0.45, 0.2)),
        new("forgetful", [52, 5, 3, 10, 4, 2, 5, 2, 2, 1, 4, 1, 1, 2, 1, 3, 5, 1, 1], 0.45, 1.8, (7, 31), (0.2, 0.6),
            (0.3, 0.2)),
        new("hasty pens", [18, 2, 2, 4, 11, 6, 12, 4, 10, 5, 10, 9, 1, 2, 1, 2, 6, 3, 3], 0.10, 4, (7, 21), (0.3, 0.9),
            (0.4, 0.1)),
        new("poor counters", [24, 2, 2, 4, 4, 2, 5, 2, 3, 1, 5, 2, 9, 14, 6, 10, 4, 1, 3], 0.20, 2.5, (7, 31), (0.4, 1),
            (0.55, 0.25)),
    ];

    /// <summary>
    /// Five thousand lines in a month, nearly all of one compartment: for the time that an answer takes.
    /// </summary>
    public static readonly Rates Dense = Open[0] with
    {
        Name = "dense",
        Perday = 170,
        Window = (30, 30),
        Crowded = true,
    };

    /// <summary>Whether nearly all movements are of one compartment.</summary>
    public bool Crowded { get; init; }

    /// <summary>
    /// Settings that nobody chose: each mistake up to four times as often or as seldom as in the first one, and all
    /// else drawn as well.
    /// </summary>
    public static IEnumerable<Rates> Drawn(int seed, int number)
    {
        var random = new Random(seed);
        double Between(double from, double to) => from + ((to - from) * random.NextDouble());
        for (var i = 1; i <= number; i++)
        {
            var (days, counted, coin) = (random.Next(7, 20), Between(0.2, 0.5), Between(0.2, 0.6));
            yield return new Rates($"drawn {i}", [.. Open[0].Weights.Select(w => w * Math.Exp(Between(-1.4, 1.4)))],
                Between(0.05, 0.5), Between(1.5, 5), (days, days + random.Next(7, 25)),
                (counted, counted + Between(0.2, 0.5)), (coin, Between(0.05, 0.3)));
        }
    }

    /// <summary>Kept aside until the model stood, for the figures that are told.</summary>
    public static readonly Rates[] KeptAside =
    [
        new("kept aside 1", [40, 4, 2, 5, 9, 2, 8, 5, 6, 3, 5, 3, 2, 3, 2, 4, 4, 3, 1], 0.30, 2, (10, 45), (0.3, 0.7),
            (0.5, 0.15)),
        new("kept aside 3", [36, 6, 1, 8, 6, 3, 6, 6, 3, 2, 9, 6, 3, 4, 4, 5, 7, 2, 2], 0.35, 2.8, (14, 40),
            (0.25, 0.6), (0.6, 0.2)),
        new("kept aside 2", [27, 4, 4, 9, 6, 4, 12, 3, 4, 3, 10, 5, 4, 6, 3, 3, 8, 1, 2], 0.05, 3.2, (7, 25),
            (0.25, 0.9), (0.35, 0.3)),
    ];
}

/// <summary>How a household's prices end.</summary>
internal enum Prices
{
    /// <summary>Any cent, often nine.</summary>
    Cents,

    /// <summary>Steps of five cents.</summary>
    Fives,

    /// <summary>Whole euro, some halves.</summary>
    Whole,
}
