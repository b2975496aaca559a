namespace CashEvents.Domain.Explanations;

/// <summary>
/// On which days before a count a movement may be missing: what comes every Friday is not missing where each Friday has
/// it.
/// </summary>
internal sealed class DaysLeft(LookedAt at, CountedPlace counted)
{
    private const int DaysLookedAt = 60;

    private readonly Dictionary<(MovementKind, bool Out, string), (decimal[] Each, decimal All)> _known = [];
    private readonly Lazy<HashSet<(MovementKind, string, DateOnly)>> _said = new(
        () => [.. counted.Lines.Select(l => (l.Said.Kind, l.Said.Description, l.Said.OccurredOn))]);

    /// <summary>The days before the count, since the one that agreed; the latest first.</summary>
    public IEnumerable<DateOnly> Before => Enumerable.Range(1, DaysLookedAt)
        .TakeWhile(back => counted.Count.OccurredOn.DayNumber - back
            >= (counted.Since ?? DateOnly.MinValue).DayNumber)
        .Select(back => counted.Count.OccurredOn.AddDays(-back));

    /// <summary>
    /// How well the days before the count fit a movement with some words, on average: one where all days are alike.
    /// </summary>
    public decimal For(MovementKind kind, bool goesOut, string words) => Known(kind, goesOut, words).All;

    /// <summary>How well each of the days before the count fits, the latest first.</summary>
    public IReadOnlyList<decimal> Each(MovementKind kind, bool goesOut, string words) =>
        Known(kind, goesOut, words).Each;

    private (decimal[] Each, decimal All) Known(MovementKind kind, bool goesOut, string words)
    {
        if (!_known.TryGetValue((kind, goesOut, words), out var known))
        {
            decimal[] each = [.. Before.Select(day => Fit(kind, goesOut, words, day))];
            _known.Add((kind, goesOut, words), known = (each, each.DefaultIfEmpty(1m).Average()));
        }

        return known;
    }

    // By its weekday, and by whether it has the like already.
    private decimal Fit(MovementKind kind, bool goesOut, string words, DateOnly day) =>
        at.Habits.WeekdayShare(counted.Place, kind, goesOut, words, day.DayOfWeek)
            * (_said.Value.Contains((kind, words, day)) ? at.Habits.Again(counted.Place, kind, goesOut, words) : 1m);
}
