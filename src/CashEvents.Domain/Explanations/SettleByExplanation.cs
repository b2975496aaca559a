namespace CashEvents.Domain.Explanations;

/// <summary>
/// Settles a count by what explains it: the mistakes are put right in one entry, and the count agrees then, so that no
/// over or short is left to post.
/// </summary>
/// <param name="Count">The line of the count.</param>
/// <param name="Code">The explanation's code.</param>
/// <param name="Explanation">The explanation as it was found; null when none of that code was.</param>
public sealed record SettleByExplanation(long Count, string Code, Explanation? Explanation) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        var (part, _) = LastCount.In(book, Count);
        if (Explanation is null)
        {
            throw Refusal.Conflict("explanation-unknown",
                $"'{Code}' does not explain count {Count} as the book stands: {Act.ExplainCount.Way(Count)} "
                    + $"lists what does.", "explanation");
        }

        var lines = new List<IBookEvent>();
        var then = book;
        foreach (var command in Explanation.Mend(book))
        {
            var (written, after) = then.Decide(command, today);
            lines.AddRange(written);
            then = after;
        }

        // Another may have written since it was found.
        return then.LastCount(part)!.Difference == Money.Zero ? lines
            : throw Refusal.Conflict("count-still-disagrees",
                $"With this written count {Count} would still disagree, since the book has moved on: ask for its "
                    + $"explanations again.", "explanation");
    }
}
