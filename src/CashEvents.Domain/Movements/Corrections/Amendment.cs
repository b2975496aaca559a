namespace CashEvents.Domain.Movements;

/// <summary>
/// Undoes an earlier line and writes the right movement in its stead, in one entry. A reversal is not undone: the
/// movement is written in the stead of what it undid.
/// </summary>
/// <param name="Line">The earlier line's number.</param>
/// <param name="Written">What it says.</param>
/// <param name="Replacement">The right movement: a fill, spend, refund, transfer or sweep, on the earlier line's day if
/// it names none.</param>
/// <param name="Reason">Why.</param>
public sealed record AmendLine(long Line, IBookEvent Written, ICommand Replacement, string Reason) : ISignedCommand
{
    /// <inheritdoc />
    public ICommand SignedBy(string key) => this with { Replacement = Replacement.SignedBy(key) };

    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        var replacement = Replacement as IReplacementCommand
            ?? throw Refusal.Unfit("replacement.kind", "replacement-unfit",
                "A fill, spend, refund, transfer or sweep can stand in the stead of a line. A count is taken anew and "
                    + $"then settled: {Act.Count.Way()}.");
        return Written is Reversed reversal
            ? InSteadOf(reversal, replacement, book, today)
            : Undo(replacement, book, today);
    }

    private Draft Undo(IReplacementCommand replacement, Book book, DateOnly today)
    {
        var reversal = new ReverseLine(Line, Written, Reason).Reversal(book, today);
        var entry = new Draft(book, today) { reversal };
        entry.Add(Replace(replacement, reversal.OccurredOn, reversal.Corrects, entry.After, today));
        Book.MustHaveAfter(entry, $"With line {Line} amended");
        return entry;
    }

    private List<IBookEvent> InSteadOf(Reversed reversal, IReplacementCommand replacement, Book book, DateOnly today)
    {
        var reason = Words.Reason(Reason);
        book.MustStand(Line);
        var (day, closedDay) = book.DayToCorrect(reversal, today);
        return [.. Replace(replacement, day, new Correction(Line, closedDay) { Reason = reason }, book, today)];
    }

    // Each place that money is taken from is only taken from, so what it lacks on the book without the line it lacks at
    // the end of the entry too.
    private static List<IReplacement> Replace(IReplacementCommand replacement, DateOnly day, Correction corrects,
        Book undone, DateOnly today)
    {
        if (replacement.OccurredOn is { } written)
        {
            var closed = undone.IsClosed(written);
            day = closed ? undone.OpenDay(today) : written;
            corrects = corrects with { ClosedDay = closed ? written : null };
        }

        try
        {
            var lines = replacement.DatedOn(day).Decide(undone, today);
            return lines.Count > 0
                ? [.. lines.Cast<IReplacement>().Select(line => line.InSteadOf(corrects))]
                : throw Refusal.Conflict("replacement-empty",
                    "There is nothing for the replacement to sweep: reverse the line instead, or write another "
                        + "replacement.");
        }
        catch (RefusalException refused)
        {
            throw new RefusalException(refused.Refusal.Within("replacement"));
        }
    }
}
