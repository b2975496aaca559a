namespace CashEvents.Domain.Plans;

/// <summary>
/// What of the year to date lies before the slices asked for: it needs two figures of each compartment, however many
/// weeks they are.
/// </summary>
public static class YearToDate
{
    /// <summary>
    /// The first day that counts for each spending compartment: of the first week of the year with a plan. Compartments
    /// without one before the slices are left out.
    /// </summary>
    /// <param name="book">The book: its compartments and its plan.</param>
    /// <param name="slices">What is asked for, at least one.</param>
    public static IReadOnlyDictionary<string, DateOnly> Begins(Book book, IReadOnlyList<WeekSlice> slices)
    {
        ArgumentNullException.ThrowIfNull(book);
        var earlier = WeekSlice.EarlierInItsYear(slices);
        return book.Compartments.Values
            .Where(c => c.Purpose == Purpose.Spending)
            .Select(c => (c.Id, Planned: earlier.Where(slice => book.Plan.For(c.Id, slice.Week.First) is not null)
                .Take(1).ToList()))
            .Where(c => c.Planned.Count > 0)
            .ToDictionary(c => c.Id, c => c.Planned[0].First);
    }

    /// <summary>
    /// What was spent of each compartment, less refunds, from its first day until before the slices, added up movement
    /// by movement: what the stored figures always agree with.
    /// </summary>
    /// <param name="movements">All movements of the book, or of its beginning.</param>
    /// <param name="begins">The first day of each compartment that has one.</param>
    /// <param name="before">First day of the slices.</param>
    public static IReadOnlyDictionary<string, Money> Spent(IEnumerable<IMovement> movements,
        IReadOnlyDictionary<string, DateOnly> begins, DateOnly before)
    {
        ArgumentNullException.ThrowIfNull(movements);
        ArgumentNullException.ThrowIfNull(begins);
        var spent = begins.Keys.ToDictionary(compartment => compartment, _ => Money.Zero);
        foreach (var movement in movements.Where(m => m.OccurredOn < before))
        {
            foreach (var (part, column, change) in Analysis.Of(movement))
            {
                if (column is Column.Spent or Column.Refunded && begins.TryGetValue(part.Compartment, out var first)
                    && first <= movement.OccurredOn)
                {
                    spent[part.Compartment] -= change;
                }
            }
        }

        return spent;
    }
}
