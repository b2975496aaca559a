namespace CashEvents.Domain.Books;

/// <summary>What changed a place in one column over a slice of days.</summary>
/// <param name="Slice">First day of the slice.</param>
/// <param name="Place">Compartment and holding.</param>
/// <param name="Column">The column.</param>
/// <param name="Change">In is positive, out negative, whatever the column; never zero.</param>
public readonly record struct ColumnTotal(DateOnly Slice, Part Place, Column Column, Money Change);

/// <summary>
/// The analysis columns added up over slices of days that follow one another, with what each place held before the
/// first.
/// </summary>
/// <param name="Openings">Balance of each place before the first slice; a place that is not there held nothing.</param>
/// <param name="Changes">What changed since, each slice, place and column at most once.</param>
public sealed record ColumnTotals(IReadOnlyDictionary<Part, Money> Openings, IReadOnlyList<ColumnTotal> Changes)
{
    /// <summary>Adds up movements one by one: what the stored totals always agree with.</summary>
    /// <param name="movements">All movements of the book, or of its beginning.</param>
    /// <param name="slices">First day of each slice, in order; a slice ends where the next begins.</param>
    /// <param name="last">Last day of the last slice.</param>
    public static ColumnTotals Of(IEnumerable<IMovement> movements, IReadOnlyList<DateOnly> slices, DateOnly last)
    {
        ArgumentNullException.ThrowIfNull(movements);
        var tally = new ColumnTally(slices, last);
        foreach (var movement in movements)
        {
            tally.Add(movement);
        }

        return tally.Totals;
    }
}

/// <summary>Adds up columns as movements go by.</summary>
/// <param name="slices">First day of each slice, in order; a slice ends where the next begins.</param>
/// <param name="last">Last day of the last slice.</param>
public sealed class ColumnTally(IReadOnlyList<DateOnly> slices, DateOnly last)
{
    private readonly Dictionary<Part, Money> _openings = [];
    private readonly Dictionary<(DateOnly Slice, Part Place, Column Column), Money> _changes = [];

    /// <summary>What was added up so far.</summary>
    public ColumnTotals Totals => new(
        _openings.Where(o => o.Value != Money.Zero).ToDictionary(),
        [.. _changes.Where(c => c.Value != Money.Zero)
            .Select(c => new ColumnTotal(c.Key.Slice, c.Key.Place, c.Key.Column, c.Value))]);

    /// <summary>Adds one movement.</summary>
    public void Add(IMovement movement)
    {
        ArgumentNullException.ThrowIfNull(movement);
        foreach (var (part, column, change) in Analysis.Of(movement))
        {
            if (movement.OccurredOn < slices[0])
            {
                _openings[part] = _openings.GetValueOrDefault(part) + change;
            }
            else if (movement.OccurredOn <= last)
            {
                var key = (slices.Last(first => first <= movement.OccurredOn), part, column);
                _changes[key] = _changes.GetValueOrDefault(key) + change;
            }
        }
    }
}
