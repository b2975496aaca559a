namespace CashEvents.Domain.Custody;

/// <summary>Above which amounts of cash the household would be cautioned.</summary>
/// <param name="CashAtHome">Of cash at home; null where it has said nothing.</param>
/// <param name="Carried">Of what one person carries; null where it has said nothing.</param>
/// <param name="Line">The line that set them.</param>
public sealed record CautionLimits(Money? CashAtHome, Money? Carried, long Line);

/// <summary>
/// Line: the household states above which amounts it would be cautioned, in the stead of those before.
/// </summary>
/// <param name="CashAtHome">Of cash at home; none where it states none.</param>
/// <param name="Carried">Of what one person carries; none where it states none.</param>
[LineKind("cautionLimits")]
public sealed record CautionLimitsSet(Money? CashAtHome, Money? Carried) : IBookEvent
{
    /// <inheritdoc />
    public bool CarriesAmount => true;

    /// <inheritdoc />
    public Book WrittenIn(Book book) =>
        CustodyInBook.CautionLimits.On(book, new CautionLimits(CashAtHome, Carried, book.Line + 1));

    /// <inheritdoc />
    public string Mend(long line) => $"set the limits anew with {Act.SetCautionLimits.Way()}";
}

/// <summary>States the limits, whole.</summary>
/// <param name="CashAtHome">Of cash at home, in major units as written; none to state none.</param>
/// <param name="Carried">Of what one person carries, in major units as written; none to state none.</param>
public sealed record SetCautionLimits(decimal? CashAtHome, decimal? Carried) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        var set = new CautionLimitsSet(CashAtHome is { } home ? book.Amount(home, "cashAtHome") : null,
            Carried is { } carried ? book.Amount(carried, "carried") : null);
        return set == new CautionLimitsSet(book.CautionLimits?.CashAtHome, book.CautionLimits?.Carried) ? [] : [set];
    }
}
