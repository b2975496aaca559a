using CashEvents.Domain.Amounts;
using CashEvents.Domain.Books;
using CashEvents.Domain.Compartments;

namespace CashEvents.Domain.Corrections;

/// <summary>What a correction of a closed month changes in a place. It stands in the open month, so until then the balances of the days in between do not have it, though the notes did.</summary>
/// <param name="Place">Where.</param>
/// <param name="BelongsTo">The day of the closed month.</param>
/// <param name="PostedOn">The day on which it stands, after that.</param>
/// <param name="Change">In is positive, out negative.</param>
public sealed record LateCorrection(Place Place, DateOnly BelongsTo, DateOnly PostedOn, Money Change)
{
    /// <summary>What a movement corrects late, place by place; nothing when it stands on the day that it belongs to.</summary>
    public static IEnumerable<LateCorrection> Of(IMovement movement)
    {
        ArgumentNullException.ThrowIfNull(movement);
        return movement.Corrects?.ClosedDay is { } closedDay
            ? movement.Postings.Select(p => new LateCorrection(p.Place, closedDay, movement.OccurredOn, p.Amount))
            : [];
    }
}
