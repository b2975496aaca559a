using System.Collections.Immutable;

namespace CashEvents.Domain.Explanations;

/// <summary>A line of a counted place's sheet.</summary>
/// <param name="Number">Its number.</param>
/// <param name="Said">What it says.</param>
/// <param name="Change">What it changes in the place.</param>
/// <param name="IsBefore">Whether a count has agreed since.</param>
internal sealed record SheetLine(long Number, IReplacement Said, Money Change, bool IsBefore);

/// <summary>A place that was counted, with the lines in which a difference is looked for.</summary>
/// <param name="Place">Where.</param>
/// <param name="Count">Its last count.</param>
/// <param name="Taken">What the count says.</param>
/// <param name="Since">The day of the count before it that agreed; null when there is none among the lines
/// read.</param>
/// <param name="Lines">In date order; within a day as written.</param>
/// <param name="Later">Those that the count is taken to have come before.</param>
internal sealed record CountedPlace(Part Place, LastCount Count, CountTaken Taken, DateOnly? Since,
    ImmutableArray<SheetLine> Lines, ImmutableArray<SheetLine> Later)
{
    /// <summary>How many lines there are since the count that agreed; one at least.</summary>
    public int Fresh { get; } = Math.Max(1, Lines.Count(l => !l.IsBefore));

    /// <summary>How many amounts were written since the count that agreed: those of the lines, and its own total where
    /// it was not put together from pieces.</summary>
    public int Numbers => Fresh + (Taken.Pieces.IsDefaultOrEmpty ? 1 : 0);

    /// <summary>How many days there are since the count that agreed, or since the first line; one at least.</summary>
    public int Days { get; } = Math.Max(1, Count.OccurredOn.DayNumber
        - (Since ?? Lines.FirstOrDefault()?.Said.OccurredOn ?? Count.OccurredOn).DayNumber);

    /// <summary>Whether the count should have found what a line moves.</summary>
    public bool ShouldHaveFound(DateOnly day, long number) => LastCount.ShouldHaveFound(Count.OccurredOn, Count.AtLine,
        day, number);

    /// <summary>A counted place of a book.</summary>
    /// <param name="book">The book.</param>
    /// <param name="place">The place.</param>
    /// <param name="count">Its last count.</param>
    /// <param name="lines">Lines of the book in date order; within a day as written.</param>
    public static CountedPlace Of(Book book, Part place, LastCount count, IReadOnlyList<BookLine> lines)
    {
        var about = lines.Where(l => l.Event.About.Contains(place.Compartment)).ToList();
        var taken = about.FirstOrDefault(l => l.Number == count.Line)?.Event as CountTaken
            ?? new CountTaken(place.Compartment, place.Holding, count.Expected, count.Counted, [], count.OccurredOn, "",
                "");
        var settled = about.Where(l => l.Event is CountSettled && book.Corrections.By(l.Number) is null)
            .Select(l => ((CountSettled)l.Event).Count).ToHashSet();
        var agreed = about.LastOrDefault(
            l => l.Event is CountTaken c && c.Holding == place.Holding
                && (c.OccurredOn < count.OccurredOn || (c.OccurredOn == count.OccurredOn && l.Number < count.Line))
            && (settled.Contains(l.Number) || Agrees(book, place, c, l.Number, about)));
        var since = (agreed?.Event as CountTaken)?.OccurredOn;
        var agreedAt = agreed?.Event is CountTaken before ? AtLine(before, agreed.Number) : (long?)null;
        var standing = (from line in about
                        where line.Event is IReplacement && book.Corrections.By(line.Number) is null
                        let said = (IReplacement)line.Event
                        let change = said.Postings.Where(p => p.Place == place)
                            .Aggregate(Money.Zero, (sum, p) => sum + p.Amount)
                        where change != Money.Zero
                        let isBefore = said.OccurredOn <= since && line.Number <= agreedAt
                        let found = WasExpected(book, count.OccurredOn, count.AtLine, line.Number, said)
                        select (Line: new SheetLine(line.Number, said, change, isBefore), IsFound: found)).ToList();
        return new CountedPlace(place, count, taken, since,
            [
                .. standing.Where(s => s.IsFound && (!s.Line.IsBefore
                    || s.Line.Said.OccurredOn >= since!.Value.AddDays(-ExplainedCount.DaysBefore)))
                    .Select(s => s.Line),
            ],
            [.. standing.Where(s => !s.IsFound).Select(s => s.Line)]);
    }

    // By what is known now: what was written after it may explain it, or say that it should have disagreed.
    private static bool Agrees(Book book, Part place, CountTaken count, long number, List<BookLine> about) =>
        count.Difference == about
        .Where(l => l.Number > number && l.Event is IMovement { Kind: not MovementKind.Settlement } m
            && WasExpected(book, count.OccurredOn, AtLine(count, number), l.Number, m))
        .SelectMany(l => ((IMovement)l.Event).Postings.Where(p => p.Place == place))
        .Aggregate(Money.Zero, (sum, p) => sum + p.Amount);

    private static long AtLine(CountTaken count, long number) => count.InRound?.AtLine ?? number - 1;

    // A line that corrects none goes back to itself.
    private static bool WasExpected(Book book, DateOnly countedOn, long atLine, long number, IMovement line) =>
        LastCount.ShouldHaveFound(countedOn, atLine, line.Corrects?.ClosedDay ?? line.OccurredOn,
            book.Corrections.Origin(number));
}
