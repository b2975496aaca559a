using System.Globalization;

namespace CashEvents.Cash.Amounts;

/// <summary>What was found in a compartment, as it is typed: <c>20x1 5x2 0.50</c>.</summary>
/// <param name="Pieces">How many of each note and coin, by face value.</param>
/// <param name="Bare">An amount that was not told by pieces; null when there is none.</param>
internal sealed record Found(IReadOnlyDictionary<string, long> Pieces, decimal? Bare)
{
    /// <summary>Reads what was typed.</summary>
    /// <exception cref="NotDoneException">It can't be read, or is told twice.</exception>
    public static Found Read(IReadOnlyList<string> written)
    {
        var pieces = new Dictionary<string, long>();
        decimal? bare = null;
        foreach (var part in written)
        {
            if (part.Split('x', 'X', '×') is [var value, var count])
            {
                if (!long.TryParse(count, NumberStyles.None, CultureInfo.InvariantCulture, out var many))
                {
                    throw NotDoneException.Usage(
                        $"\"{part}\" is read as face value x how many, such as 20x1 or 0.50x3.");
                }

                if (!pieces.TryAdd(Amount(value).ToString(CultureInfo.InvariantCulture), many))
                {
                    throw NotDoneException.Usage($"{value} is told twice. Add them up, or count again.");
                }
            }
            else if (bare is null)
            {
                bare = Amount(part);
            }
            else
            {
                throw NotDoneException.Usage(
                    $"\"{part}\" is a second amount. Write pieces such as 20x1, or one total.");
            }
        }

        return pieces.Count > 0 && bare is not null
            ? throw NotDoneException.Usage($"Tell the coins by pieces too, such as 0.50x3, or write the total of all "
                + $"alone. {written[^1]} could be either.")
            : new Found(pieces, bare);
    }

    private static decimal Amount(string written) =>
        Figures.Read(written, out var fault) is var amount && fault is null
            ? amount : throw NotDoneException.Usage(fault);
}
