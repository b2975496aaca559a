namespace CashEvents.Domain.Naming;

/// <summary>Names that someone who wrote another may have meant.</summary>
public static class NearNames
{
    private const int MostSuggestions = 3;

    /// <summary>
    /// The candidates within about a third of the letters, or that begin with what was written; nearest first.
    /// </summary>
    public static IReadOnlyList<string> Of(string written, IEnumerable<string> candidates)
    {
        var slug = Slug.From(written);
        if (slug.Length == 0)
        {
            return [];
        }

        return
        [
            .. candidates
                .Select(candidate => (candidate,
                    distance: slug.Length >= 3 && candidate.StartsWith(slug, StringComparison.Ordinal)
                        ? 0
                        : Distance(slug, candidate)))
                .Where(c => c.distance <= Math.Max(1, slug.Length / 3))
                .OrderBy(c => c.distance).ThenBy(c => c.candidate, StringComparer.Ordinal)
                .Take(MostSuggestions)
                .Select(c => c.candidate),
        ];
    }

    // Optimal string alignment: insert, delete, replace, or swap two neighbours, one step each.
    private static int Distance(string a, string b)
    {
        var steps = new int[a.Length + 1, b.Length + 1];
        for (var i = 0; i <= a.Length; i++)
        {
            steps[i, 0] = i;
        }

        for (var j = 0; j <= b.Length; j++)
        {
            steps[0, j] = j;
        }

        for (var i = 1; i <= a.Length; i++)
        {
            for (var j = 1; j <= b.Length; j++)
            {
                var replaced = steps[i - 1, j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
                steps[i, j] = Math.Min(replaced, 1 + Math.Min(steps[i - 1, j], steps[i, j - 1]));
                if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
                {
                    steps[i, j] = Math.Min(steps[i, j], steps[i - 2, j - 2] + 1);
                }
            }
        }

        return steps[a.Length, b.Length];
    }
}
