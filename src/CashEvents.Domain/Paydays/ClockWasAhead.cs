namespace CashEvents.Domain.Paydays;

/// <summary>
/// Line: earlier lines were stamped by a clock that was ahead. They stay as they are; where it matters when they were
/// written, they count as written just before this line.
/// What the program made of paydays in them that had not come yet is forgotten, unless it still stands.
/// </summary>
/// <param name="FromLine">The first of them.</param>
/// <param name="ToLine">The last of them.</param>
/// <param name="On">The household's date on which this was said, by a clock that was set right.</param>
/// <param name="Reason">What had happened.</param>
[LineKind("clockWasAhead")]
public sealed record ClockWasAhead(long FromLine, long ToLine, DateOnly On, string Reason) : IBookEvent
{
    /// <summary>Whether a line is one of them.</summary>
    public bool IsAbout(long line) => line >= FromLine && line <= ToLine;

    /// <inheritdoc />
    public Book WrittenIn(Book book) => PaydaysInBook.FillRuns.Change(
        book.With(BalancesInBook.LinesAhead,
            (book.LinesAhead ?? []).Add(new LinesAhead(FromLine, ToLine, book.Line + 1))),
        // What was undone or left before its day came is as if it had never been tried.
        runs => runs.RemoveRange(
            runs.Where(run => run.Value.State != PaydayState.Filled && run.Key > On && IsAbout(run.Value.Line))
                .Select(run => run.Key)));

    /// <inheritdoc />
    public string Mend(long line) => "what it says of the lines before it stays";
}

/// <summary>Says that lines were stamped by a clock that was ahead and is right now, so that writing goes on.</summary>
/// <param name="FromLine">The first line that is stamped later than now; 0 when there is none.</param>
/// <param name="ToLine">The last of them.</param>
/// <param name="Today">The household's date by a calendar on the wall: a second witness that the clock is right
/// now.</param>
/// <param name="Reason">What had happened.</param>
public sealed record SayClockWasAhead(long FromLine, long ToLine, DateOnly Today, string? Reason) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        var reason = Words.Reason(Reason);
        if (Today != today)
        {
            throw Refusal.Unfit("today", "clock-differs",
                $"This machine's clock says that today is {today:O}, not {Today:O}: set it right first, then send this "
                    + $"again.");
        }

        return FromLine > 0 && FromLine > (book.LinesAhead?[^1].ToLine ?? 0)
            ? [new ClockWasAhead(FromLine, ToLine, today, reason)]
            : throw Refusal.Conflict("clock-not-ahead",
                "No line of the book is stamped later than now, beside those that a line tells of already: there is "
                    + "nothing to put right.");
    }
}
