namespace CashEvents.Cash.Naming;

/// <summary>Names near one that was mistyped.</summary>
internal static class Nearest
{
    private const int Most = 3;

    /// <summary>Names that are a few letters away, nearest first; none when all are far.</summary>
    public static IReadOnlyList<string> Of(string written, IEnumerable<string> names) =>
    [
        .. names.Select(name => (Name: name, Away: Distance(written, name)))
            .Where(near => near.Away <= Math.Max(2, written.Length / 3))
            .OrderBy(near => near.Away).ThenBy(near => near.Name, StringComparer.Ordinal)
            .Take(Most).Select(near => near.Name),
    ];

    // Levenshtein's: how many letters are put in, taken out or changed.
    private static int Distance(string from, string to)
    {
        var row = Enumerable.Range(0, to.Length + 1).ToArray();
        for (var i = 1; i <= from.Length; i++)
        {
            var before = row[0];
            row[0] = i;
            for (var j = 1; j <= to.Length; j++)
            {
                var change = before + (from[i - 1] == to[j - 1] ? 0 : 1);
                before = row[j];
                row[j] = Math.Min(change, Math.Min(row[j], row[j - 1]) + 1);
            }
        }

        return row[^1];
    }
}
