namespace CashEvents.Domain.Counts;

/// <summary>
/// Brings back what was carried. It is put into its place and the whole compartment is counted there, so that the count
/// is one like any other.
/// </summary>
/// <param name="Handover">The handover's id.</param>
/// <param name="Total">What was found in the compartment, in major units as written; or else the denominations.</param>
/// <param name="Denominations">How many of each value, as <c>{"20": 3, "0.25": 5}</c>.</param>
/// <param name="OccurredOn">The day, not before the handover; today if left out.</param>
/// <param name="Witness">Who else was at the count.</param>
/// <param name="Description">What to write beside it.</param>
public sealed record ReturnHandover(long Handover, decimal? Total, IReadOnlyDictionary<string, long>? Denominations,
    DateOnly? OccurredOn, string? Witness, string? Description) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        var handover = book.Handovers.Values.FirstOrDefault(h => h.Id == Handover)
            ?? throw Refusal.NotFound("handover-not-open",
                $"There is no handover {Handover} that is not back yet: {Act.TellCustody.Way()} lists what is "
                    + "carried.");
        var day = book.Day(OccurredOn, today);
        if (day < handover.Since)
        {
            throw Refusal.Unfit("occurredOn", "before-handover",
                $"It was taken out on {handover.Since:O}: it comes back on that day or later.");
        }

        var entry = new Draft(book, today)
        {
            new HandoverReturned(Handover, handover.Compartment, day, Words.Description(Description)),
        };
        entry.Add(new RecordCount(handover.Compartment, Holding.Cash, Total, Denominations, day, Witness, Description)
            .Decide(entry.After, today));
        return entry;
    }
}
