using CashEvents.Domain.Amounts;
using CashEvents.Domain.Books;
using CashEvents.Domain.Compartments;
using CashEvents.Domain.Counts;

namespace CashEvents.Domain.Months;

/// <summary>Why a month should not be closed yet.</summary>
public enum OpenItemKind
{
    /// <summary>Cash moved, and was not counted since.</summary>
    NotCounted,

    /// <summary>A count disagrees and its over or short is not settled.</summary>
    CountUnsettled,
}

/// <summary>Something to do before a month is closed.</summary>
/// <param name="Kind">What is open.</param>
/// <param name="Place">Where.</param>
/// <param name="On">The day of the month's last movement there, or of the count.</param>
/// <param name="Count">The count, if it is about one.</param>
/// <param name="Difference">That count's over or short.</param>
public sealed record OpenItem(OpenItemKind Kind, Place Place, DateOnly On, long? Count = null, Money? Difference = null)
{
    /// <summary>What is open at the end of a month: cash that moved in it and was not counted since, and counts that are not settled.</summary>
    public static IEnumerable<OpenItem> At(Month month, Book book)
    {
        ArgumentNullException.ThrowIfNull(book);
        return book.Compartments.Values.Where(c => !c.Closed).OrderBy(c => c.Line).SelectMany(c => NotCounted(c, month, book).Concat(Unsettled(c)));
    }

    private static IEnumerable<OpenItem> NotCounted(Compartment compartment, Month month, Book book)
    {
        var cash = new Place(compartment.Id, Holding.Cash);
        return book.LastDayMoved(cash, month.Last) is { } moved && moved >= month.First && !IsCounted(compartment.CashCount, month)
            ? [new OpenItem(OpenItemKind.NotCounted, cash, moved)]
            : [];
    }

    private static IEnumerable<OpenItem> Unsettled(Compartment compartment) => Enum.GetValues<Holding>()
        .Select(holding => (Place: new Place(compartment.Id, holding), Count: compartment.Count(holding)))
        .Where(x => x.Count is { Settled: false } count && count.Difference != Money.Zero)
        .Select(x => new OpenItem(OpenItemKind.CountUnsettled, x.Place, x.Count!.OccurredOn, x.Count.Line, x.Count.Difference));

    // What has become known of a settled count since says that it found something else than was agreed on.
    private static bool IsCounted(LastCount? count, Month month) =>
        count?.OccurredOn > month.Last || (count is { LearntSince: var learnt } && learnt == Money.Zero && !(count.MovedSince <= month.Last));
}
