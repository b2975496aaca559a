using System.Collections.Immutable;

namespace CashEvents.Domain.Movements;

/// <summary>
/// What came into a place of the book, in all up to each day on which that changed: by it fresh money is told from what
/// was brought forward. What was over, and what comes back from sellers, was there before.
/// </summary>
/// <param name="Filled">From outside the book.</param>
/// <param name="Moved">From other places of the book.</param>
public sealed record CameIn(DailyBalances Filled, DailyBalances Moved)
{
    private static readonly CameIn _nothing = new(DailyBalances.Empty, DailyBalances.Empty);

    /// <summary>Whether what stands in a column came in so, and from outside the book.</summary>
    /// <returns>Null for a column that has no part in it.</returns>
    public static bool? IsFill(Column column) => column switch
    {
        Column.Filled => true,
        Column.MovedIn or Column.SweptIn or Column.HoldingIn => false,
        _ => null,
    };

    /// <summary>What came into a place from the day of its last fill on, up to the end of a day.</summary>
    /// <param name="day">The day.</param>
    /// <param name="since">The first day whose fills count; that of the last fill up to the day if null.</param>
    /// <returns>Zero where there was no fill.</returns>
    internal Money Fresh(DateOnly day, DateOnly? since) => (since ?? Filled.LastRise(day)) is { } first
        ? Filled.On(day) - Filled.On(first.AddDays(-1)) + Moved.On(day) - Moved.On(first.AddDays(-1))
        : Money.Zero;

    /// <summary>What came into each place, after one more movement.</summary>
    internal static ImmutableDictionary<Part, CameIn> After(ImmutableDictionary<Part, CameIn> cameIn,
        IMovement movement)
    {
        // Nearly all lines are spends, and change nothing here.
        if (movement.Kind is not (MovementKind.Fill or MovementKind.Transfer or MovementKind.Sweep))
        {
            return cameIn;
        }

        foreach (var (part, column, change) in Analysis.Of(movement))
        {
            var before = cameIn.GetValueOrDefault(part, _nothing);
            cameIn = IsFill(column) switch
            {
                true => cameIn.SetItem(part, before with { Filled = before.Filled.Post(movement.OccurredOn, change) }),
                false => cameIn.SetItem(part, before with { Moved = before.Moved.Post(movement.OccurredOn, change) }),
                null => cameIn,
            };
        }

        return cameIn;
    }
}
