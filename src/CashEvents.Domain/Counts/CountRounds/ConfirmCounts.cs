namespace CashEvents.Domain.Counts;

/// <summary>
/// Confirms figures of a round as a second person. Whoever wrote a figure can't confirm it; one that is confirmed stays
/// so until it is counted again.
/// </summary>
/// <param name="Round">The round's id.</param>
/// <param name="Compartments">Which; null for every figure that another key wrote and none confirmed.</param>
/// <param name="By">Name of the key that confirms.</param>
public sealed record ConfirmCounts(long Round, IReadOnlyList<string>? Compartments, string By) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        var round = book.OpenCountRound(Round);
        var confirmed = (Compartments is null
            ? All(round)
            : [.. Compartments.Distinct().Select((name, i) => Named(book, round, name, $"compartments[{i}]"))])
            .Where(c => c.Count!.ConfirmedBy is null)
            .Select(c => new ConfirmedCount(c.Id, c.Count!.Line)).ToList();
        return confirmed.Count == 0 ? [] : [new CountsConfirmed(Round, [.. confirmed], By)];
    }

    private List<RoundCompartment> All(CountRound round)
    {
        var open = round.Compartments.Where(c => c.Count is { ConfirmedBy: null }).ToList();
        return open.Count > 0 && open.TrueForAll(c => c.Count!.By == By)
            ? throw SameKey(open[0], null)
            : open.FindAll(c => c.Count!.By != By);
    }

    private RoundCompartment Named(Book book, CountRound round, string name, string field)
    {
        var compartment = round.Find(book.OpenCompartment(name, field).Id)
            ?? throw Refusal.Unfit(field, "compartment-not-in-round",
                $"'{name}' is not in count round {Round}, which counts "
                    + $"{string.Join(", ", round.Compartments.Select(c => c.Id))}.");
        return compartment.Count is not { } count
            ? throw Refusal.Conflict("not-counted-yet",
                $"'{name}' is not counted yet: its figure comes first, and then a second person confirms it.", field)
            : count.By == By ? throw SameKey(compartment, field)
            : compartment;
    }

    private RefusalException SameKey(RoundCompartment compartment, string? field) => Refusal.Conflict("same-key",
        $"The key '{By}' wrote the figure of '{compartment.Id}', and whoever counts can't confirm as well: a second "
            + $"person confirms with a key of their own.", field);
}
