namespace CashEvents.Domain.Explanations;

/// <summary>The count that would decide best between what may have happened.</summary>
/// <param name="Place">Where to count; the same place for a count of the same once more.</param>
/// <param name="Says">What it would tell, in words.</param>
public sealed record NextCount(Part Place, string Says)
{
    // A question worth less than this is not worth the walk: about one in fifty.
    private const double LeastWorth = 0.1;

    /// <summary>
    /// The count whose outcome is least certain, so that it tells most; null where none would tell anything.
    /// </summary>
    /// <param name="book">The book.</param>
    /// <param name="counted">What was counted that day.</param>
    /// <param name="asked">The count that is asked about.</param>
    /// <param name="causes">What may have happened, with the chance of each.</param>
    internal static NextCount? Best(Book book, IReadOnlyCollection<CountedPlace> counted, CountedPlace asked,
        IReadOnlyList<(Cause Cause, decimal Chance)> causes)
    {
        var places = counted.Select(c => c.Place).ToHashSet();
        var outcomes = (from cause in causes
                        from outcome in Outcomes(cause.Cause, asked.Place, places)
                        group cause by outcome into same
                        select (same.Key.Place, same.Key.Off, Chance: same.Sum(c => c.Chance), same.First().Cause))
            .GroupBy(o => o.Place)
            .Select(g => (Place: g.Key, Worth: Uncertainty(g.Select(o => (double)o.Chance)),
                Likeliest: g.MaxBy(o => o.Chance)))
            .Where(o => o.Worth >= LeastWorth && !book.Compartments[o.Place.Compartment].Closed)
            .OrderByDescending(o => o.Worth).ThenBy(o => o.Place.Compartment, StringComparer.Ordinal).ToList();
        return outcomes is not [var best, ..] ? null
            : new NextCount(best.Place, Say(book, asked.Place, best.Place, best.Likeliest.Off));
    }

    // What a count of another place would find, if this happened; what the same count would find once more.
    private static IEnumerable<(Part Place, Money Off)> Outcomes(Cause cause, Part asked, HashSet<Part> counted)
    {
        if (cause.Mistakes.FirstOrDefault(m => m.IsInCount) is { } wrong)
        {
            yield return (asked, wrong.EffectIn(asked));
        }

        foreach (var place in cause.Mistakes.SelectMany(m => m.Effects).Select(e => e.Place).Distinct())
        {
            if (!counted.Contains(place))
            {
                yield return (place, cause.Mistakes.Aggregate(Money.Zero, (sum, m) => sum + m.EffectIn(place)));
            }
        }
    }

    // Shannon's entropy of what would be found, in bits: what the answer is worth before it is known.
    private static double Uncertainty(IEnumerable<double> chances)
    {
        var all = chances.Select(c => Math.Clamp(c, 0, 1)).ToList();
        return all.Append(Math.Max(0, 1 - all.Sum())).Where(c => c > 0).Sum(c => -c * Math.Log2(c));
    }

    private static string Say(Book book, Part asked, Part place, Money off) => place == asked
        ? $"Count the {place} once more: if it is another total, the count was wrong; if not, that is out."
        : $"Count the {place} too: if it is {(off < Money.Zero ? "short" : "over")} by "
            + $"{book.Say(off < Money.Zero ? -off : off)}, that is where it went wrong; if it agrees, that is out.";
}
