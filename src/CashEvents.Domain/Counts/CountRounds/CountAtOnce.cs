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
    /// <summary>Whether it is closed too.</summary>
    public bool Closes { get; init; }

    /// <summary>What to write beside its closing; needed when something is not counted.</summary>
    public string? Reason { get; init; }

    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        // What it opens is known by its line.
        var id = book.Line + 1;
        var entry = new Draft(book, today);
        entry.Add(Round.Decide(book, today));
        for (var i = 0; i < Figures.Length; i++)
        {
            entry.Add($"figures[{i}]", new CountInRound(id, Figures[i], null, By));
        }

        if (Closes)
        {
            entry.Add(new CloseCountRound(id, Reason).Decide(entry.After, today));
        }

        return entry;
    }
}
