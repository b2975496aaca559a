namespace CashEvents.Domain.Books;

/// <summary>
/// What a line changes in a place that belongs to an earlier day than the one on which it stands, so that until then
/// the balances of the days in between do not have it, though the notes did:
/// a correction of a closed month, which stands in the open one, and what a settlement posts, which was found when it
/// was counted.
/// </summary>
/// <param name="Line">The line.</param>
/// <param name="Place">Where.</param>
/// <param name="BelongsTo">The day of the closed month, or of the count.</param>
/// <param name="PostedOn">The day on which it stands, after that.</param>
/// <param name="Change">In is positive, out negative.</param>
public sealed record LateCorrection(long Line, Part Place, DateOnly BelongsTo, DateOnly PostedOn, Money Change)
{
    /// <summary>
    /// What a movement changes late, place by place; nothing when it stands on the day that it belongs to.
    /// </summary>
    /// <param name="line">Its line.</param>
    /// <param name="movement">The movement.</param>
    /// <param name="belongsTo">The day that it belongs to.</param>
    public static IEnumerable<LateCorrection> Of(long line, IMovement movement, DateOnly belongsTo)
    {
        ArgumentNullException.ThrowIfNull(movement);
        return belongsTo < movement.OccurredOn
            ? movement.Postings.Select(p => new LateCorrection(line, p.Place, belongsTo, movement.OccurredOn, p.Amount))
            : [];
    }
}
