namespace CashEvents.Domain.Months;

/// <summary>Why a month should not be closed yet.</summary>
public enum OpenItemKind
{
    /// <summary>Cash moved, and was not counted since.</summary>
    NotCounted,

    /// <summary>A count disagrees and its over or short is not settled.</summary>
    CountUnsettled,

    /// <summary>
    /// A count was settled, and by what was written since it disagrees again. To count again tells what is there.
    /// </summary>
    CountDisagreesAgain,

    /// <summary>The bank's statement disagrees, and its difference is not settled.</summary>
    StatementUnsettled,

    /// <summary>The bank's statement was settled, and by what was written since it disagrees again.</summary>
    StatementDisagreesAgain,
}

/// <summary>Something to do before a month is closed.</summary>
/// <param name="Kind">What is open.</param>
/// <param name="Place">Where; null for the bank's statement, which is about all bank parts.</param>
/// <param name="On">The day of the month's last movement there, or of the count or statement.</param>
/// <param name="Count">The count, if it is about one.</param>
/// <param name="Difference">What the count or statement is over or short; of one that was settled, what has to be
/// agreed on besides.</param>
public sealed record OpenItem(OpenItemKind Kind, Part? Place, DateOnly On, long? Count = null,
    Money? Difference = null)
{
    /// <summary>The bank's statement, if it is about one.</summary>
    public long? Statement { get; init; }

    /// <summary>
    /// What is open at the end of a month: cash that moved in it and was not counted since, and counts and a bank's
    /// statement that disagree. A compartment that is closed by now is no exception.
    /// </summary>
    public static IEnumerable<OpenItem> At(Month month, Book book)
    {
        ArgumentNullException.ThrowIfNull(book);
        return book.Compartments.Values.OrderBy(c => c.Line)
            .SelectMany(c => NotCounted(c, month, book).Concat(Disagreeing(c, book)))
            .Concat(Disagreeing(book.BankStatement));
    }

    private static IEnumerable<OpenItem> NotCounted(Compartment compartment, Month month, Book book)
    {
        var cash = new Part(compartment.Id, Holding.Cash);
        return book.LastDayMoved(cash, month.Last) is { } moved && moved >= month.First
            && !IsCounted(book.LastCount(cash), month)
            ? [new OpenItem(OpenItemKind.NotCounted, cash, moved)]
            : [];
    }

    private static IEnumerable<OpenItem> Disagreeing(Compartment compartment, Book book) =>
        from holding in Enum.GetValues<Holding>()
        let place = new Part(compartment.Id, holding)
        let count = book.LastCount(place)
        where count is not null && count.Unsettled != Money.Zero
        select new OpenItem(count.Settled ? OpenItemKind.CountDisagreesAgain : OpenItemKind.CountUnsettled, place,
            count.OccurredOn, count.Line, count.Unsettled);

    private static IEnumerable<OpenItem> Disagreeing(BankStatement? statement) =>
        statement is null || statement.Unsettled == Money.Zero ? [] :
        [
            new OpenItem(statement.Settled ? OpenItemKind.StatementDisagreesAgain : OpenItemKind.StatementUnsettled,
                Place: null, statement.OccurredOn, Difference: statement.Unsettled) { Statement = statement.Line },
        ];

    private static bool IsCounted(LastCount? count, Month month) =>
        count is not null && (count.OccurredOn > month.Last || !(count.MovedSince <= month.Last));
}

/// <summary>A refusal to close a month in which something is open.</summary>
public static class RefusedWhileOpen
{
    extension(Refusal refusal)
    {
        /// <summary>What is open, when a month should not be closed yet.</summary>
        public IReadOnlyList<OpenItem> OpenItems => refusal.Facts as IReadOnlyList<OpenItem> ?? [];
    }
}
