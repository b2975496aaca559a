using System.Collections.Immutable;

namespace CashEvents.Domain.Counts;

/// <summary>
/// A round of counts with its figures in one entry, all or nothing: for who counted first and sends then. What is
/// expected is what the book says at that moment.
/// </summary>
/// <param name="Round">The round to open.</param>
/// <param name="Figures">What was found, in cash, of each compartment that was counted.</param>
/// <param name="By">Name of the key that writes it.</param>
public sealed record CountAtOnce(OpenCountRound Round, ImmutableArray<RecordCount> Figures, string By) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        // What it opens is known by its line.
        var id = book.Line + 1;
        var figures = Figures.Select((figure, i) =>
            new Supposition($"figures[{i}]", new CountInRound(id, figure, null, By)));
        var (lines, opened) = book.Decide(Round, today);
        return [.. lines, .. Rehearsal.Of(opened, [.. figures], today).Lines.Select(l => l.Line)];
    }
}
