namespace CashEvents.Domain.Months;

/// <summary>
/// Closes a month: its leftovers may be swept first, its closing figures are recorded, and nothing dated in it changes
/// any more.
/// </summary>
/// <param name="Month">The month; its last day has come. Months are closed one after another.</param>
/// <param name="Sweep">Leftovers to sweep on its last day, in the same entry.</param>
/// <param name="Reason">What to write beside it; needed when something is open.</param>
public sealed record CloseMonth(Month Month, RecordSweep? Sweep, string? Reason) : ICommand
{
    /// <summary>The sweep, on the month's last day.</summary>
    public RecordSweep? LastSweep => Sweep is null ? null : Sweep with { OccurredOn = Month.Last };

    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        var reason = Words.Description(Reason, "reason");
        MustBeNext(book);
        if (today < Month.Last)
        {
            throw Refusal.Conflict("month-running",
                $"{Month} runs until {Month.Last:O}, and today is {today:O}: close it on its last day or later.");
        }

        // What the sweep moves need not be counted again: it leaves what was counted in another compartment.
        var open = OpenItem.At(Month, book).ToList();
        if (open.Count > 0 && reason.Length == 0)
        {
            throw new RefusalException(new Refusal(RefusalSort.Conflict, "month-has-open-items",
                $"{Month} has {(open.Count == 1 ? "something" : $"{open.Count} things")} open: count the cash and "
                    + $"settle what is listed, or send a `reason` to close it all the same.", "reason")
            { Facts = open });
        }

        var entry = new Draft(book, today);
        entry.Add(LastSweep?.Decide(book, today) ?? []);
        entry.Add(new MonthClosed(Month, [.. Figures(entry.After)], reason));
        return entry;
    }

    private void MustBeNext(Book book)
    {
        if (book.ClosedMonths is not { } closed || Month == closed.Latest.Next)
        {
            return;
        }

        throw Month <= closed.Latest
            ? Refusal.Conflict("month-closed", Month >= closed.First
                ? $"{Month} is closed already."
                : $"{Month} lies before {closed.First}, the first month that was closed, and is closed with it.")
            : Refusal.Conflict("month-out-of-order",
                $"Months are closed one after another: close {closed.Latest.Next} first.");
    }

    private IEnumerable<ClosingFigure> Figures(Book book) =>
        from compartment in book.Compartments.Values.OrderBy(c => c.Line)
        from holding in Enum.GetValues<Holding>()
        let place = new Part(compartment.Id, holding)
        let closing = book.BalanceOn(place, Month.Last)
        where !compartment.Closed || book.Days.ContainsKey(place)
        select new ClosingFigure(place, compartment.Wallet, closing);
}

/// <summary>Opens the latest closed month again.</summary>
/// <param name="Month">The month.</param>
/// <param name="Reason">Why.</param>
public sealed record ReopenMonth(Month Month, string? Reason) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        var reason = Words.Reason(Reason);
        if (book.ClosedMonths is not { } closed || Month > closed.Latest || Month < closed.First)
        {
            throw Refusal.Conflict("month-not-closed",
                $"{Month} is not closed"
                    + book.ClosedMonths switch
                    {
                        null => ".",
                        { } only when only.First == only.Latest => $": only {only.First} is.",
                        { } several => $": {several.First} to {several.Latest} are.",
                    });
        }

        return Month == closed.Latest
            ? [new MonthReopened(Month, reason)]
            : throw Refusal.Conflict("month-not-latest",
                $"Months are reopened from the latest back: reopen {closed.Latest} first.");
    }
}
