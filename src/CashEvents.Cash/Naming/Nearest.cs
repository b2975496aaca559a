using Quickenshtein;

namespace CashEvents.Cash.Naming;

/// <summary>Names near one that was mistyped.</summary>
internal static class Nearest
{
    private const int Most = 3;

    /// <summary>Names that are a few letters away, nearest first; none when all are far.</summary>
    public static IReadOnlyList<string> Of(string written, IEnumerable<string> names) =>
    [
        .. names.Select(name => (Name: name, Away: Levenshtein.GetDistance(written, name)))
            .Where(near => near.Away <= Math.Max(2, written.Length / 3))
            .OrderBy(near => near.Away).ThenBy(near => near.Name, StringComparer.Ordinal)
            .Take(Most).Select(near => near.Name),
    ];
}
