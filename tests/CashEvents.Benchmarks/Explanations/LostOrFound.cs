namespace CashEvents.Benchmarks.Explanations;

/// <summary>What is lost or found without a mistake: a coin, a note, or an odd sum.</summary>
internal static class LostOrFound
{
    private static readonly Money[] Coins = [.. NotesAndCoins.Faces.Where(f => f.Minor is >= 5 and < 500)];
    private static readonly Money[] Notes = [.. NotesAndCoins.Faces.Where(f => f.Minor is >= 500 and <= 5_000)];

    /// <summary>So much.</summary>
    public static Money Of(Random random, Prices prices, Rates rates) => random.NextDouble() switch
    {
        var x when x < rates.Loss.Coin => Coins[random.Next(Coins.Length)],
        var x when x < rates.Loss.Coin + rates.Loss.Note => Notes[random.Next(Notes.Length)],
        _ => new Money(prices == Prices.Cents ? random.Next(3, 700) : 5 * random.Next(1, 140)),
    };

    /// <summary>How likely what is lost or found is just so much.</summary>
    public static double Share(Money size, Prices prices, Rates rates)
    {
        double One(Money[] faces) => faces.Contains(size) ? 1.0 / faces.Length : 0;
        var odd = prices == Prices.Cents ? (size.Minor is >= 3 and < 700 ? 1.0 / 697 : 0)
            : size.Minor is >= 5 and < 700 && size.Minor % 5 == 0 ? 1.0 / 139 : 0;
        return (rates.Loss.Coin * One(Coins)) + (rates.Loss.Note * One(Notes))
            + ((1 - rates.Loss.Coin - rates.Loss.Note) * odd);
    }
}
