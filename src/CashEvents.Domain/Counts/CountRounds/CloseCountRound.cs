namespace CashEvents.Domain.Counts;

/// <summary>Closes a round of counts. The figures that are in stay; what is not counted is left so.</summary>
/// <param name="Round">The round's id.</param>
/// <param name="Reason">What to write beside it; needed when something is not counted.</param>
public sealed record CloseCountRound(long Round, string? Reason) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        var round = book.OpenCountRound(Round);
        var reason = Words.Description(Reason, "reason");
        var missing = round.ToCount(book).ToList();
        return missing.Count == 0 || reason.Length > 0
            ? [new CountRoundClosed(Round,
                [.. round.Compartments.Select(c => new RoundResult(c.Id, c.Count, c.Earlier))], reason)]
            : throw Refusal.Conflict("count-round-unfinished",
                $"Not counted yet: {string.Join(", ", missing)}. Count them, or send a `reason` to close the round all "
                    + $"the same.", "reason");
    }
}
