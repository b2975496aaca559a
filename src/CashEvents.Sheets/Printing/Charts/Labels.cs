using System.Text;

namespace CashEvents.Sheets.Printing;

/// <summary>Keeps labels beside the ends of lines apart.</summary>
internal static class Labels
{
    private const int FirstWide = 0x1100;

    /// <summary>
    /// Heights for labels as near as may be to where their lines end, none nearer to another than a gap, in the order
    /// of the wanted ones.
    /// </summary>
    /// <param name="wanted">Where each line ends.</param>
    /// <param name="gap">The least distance between two labels.</param>
    /// <param name="top">No label lies above it.</param>
    /// <param name="bottom">No label lies below it, while they fit between the two.</param>
    public static IReadOnlyList<decimal> Spread(IReadOnlyList<decimal> wanted, decimal gap, decimal top, decimal bottom)
    {
        var order = Enumerable.Range(0, wanted.Count).OrderBy(i => wanted[i]).ToList();
        var placed = new decimal[wanted.Count];
        var lowest = Math.Max(bottom, top + (gap * (wanted.Count - 1)));

        // Down from the top each label is pushed by the one above it, then up from the bottom by the one below it.
        for (var i = 0; i < order.Count; i++)
        {
            placed[order[i]] = Math.Max(wanted[order[i]], i == 0 ? top : placed[order[i - 1]] + gap);
        }

        for (var i = order.Count - 1; i >= 0; i--)
        {
            placed[order[i]] = Math.Min(placed[order[i]], i == order.Count - 1 ? lowest : placed[order[i + 1]] - gap);
        }

        return placed;
    }

    /// <summary>How many usual letters words are as wide as. Letters of East Asian scripts count twice.</summary>
    public static int Letters(string words) => words.EnumerateRunes().Sum(Width);

    /// <summary>Words cut to a number of usual letters, with an ellipsis where something is cut.</summary>
    public static string Cut(string words, int letters)
    {
        if (Letters(words) <= letters)
        {
            return words;
        }

        var left = letters - 1;
        return string.Concat(words.EnumerateRunes().TakeWhile(rune => (left -= Width(rune)) >= 0)).TrimEnd() + "…";
    }

    private static int Width(Rune rune) => rune.Value >= FirstWide ? 2 : 1;
}
