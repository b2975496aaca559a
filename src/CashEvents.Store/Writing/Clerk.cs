using System.Collections.Immutable;
using Microsoft.Extensions.Logging;

namespace CashEvents.Store.Writing;

/// <summary>Requests of one book, decided at one instant on the book as it was known.</summary>
internal sealed record Decided(string Household, BookPage Known, Decisions Decisions,
    ImmutableArray<WriteResult> Results, DateTimeOffset Now)
{
    /// <summary>How many lines are to be written.</summary>
    public int Lines => Decisions.Lines.Count;

    /// <summary>
    /// Whether each command has lines: what has none is not held against the book's end by an append.
    /// </summary>
    public bool WritesForEach => Results.All(r => r.Outcomes.All(o => o.Entry is { Lines.IsEmpty: false }));

    /// <summary>What is to be written.</summary>
    /// <param name="hash">The hash of the known book's last line.</param>
    public Append Append(string hash) => Writing.Append.Of(Household, Known, hash, Decisions, Now);
}

/// <summary>Decides requests by the machine's clock. Nothing here touches the database.</summary>
internal sealed class Clerk(TimeProvider clock, ClockTrust trust, ILogger logger)
{
    /// <summary>Whether the clock is behind a book's last line.</summary>
    public bool IsBehind(BookPage page) => clock.GetUtcNow() < page.WrittenAt;

    /// <summary>Decides requests one after another.</summary>
    /// <exception cref="ClockBehindException">The clock is too far behind the book.</exception>
    public Decided Decide(string household, BookPage page, ImmutableArray<WriteRequest> requests,
        IReadOnlyDictionary<string, Answer> answers)
    {
        var now = Now(page.WrittenAt, requests);
        var decisions = new Decisions(page.Book, now, answers);
        return new Decided(household, page, decisions, [.. requests.Select(decisions.Decide)], now);
    }

    /// <summary>Tells the log of commands that broke.</summary>
    public void Tell(Decided decided)
    {
        foreach (var (command, fault) in decided.Decisions.Faults)
        {
            logger.LogError(fault, "{Command} could not be decided.", command.GetType().Name);
        }
    }

    private DateTimeOffset Now(DateTimeOffset lastWrittenAt, ImmutableArray<WriteRequest> requests)
    {
        var now = clock.GetUtcNow();

        // PostgreSQL keeps microseconds: what is answered now must equal what is read later.
        now = now.AddTicks(-(now.Ticks % TimeSpan.TicksPerMicrosecond));

        // The line that says that the clock was ahead is the one that a clock behind the book may stamp, and all after
        // it are later than it.
        return requests is [{ Entries: [{ Command: SayClockWasAhead }] }] ? now : trust.After(lastWrittenAt, now);
    }
}
