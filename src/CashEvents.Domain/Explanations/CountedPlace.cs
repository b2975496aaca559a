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
internal sealed record CountedPlace(Part Place, LastCount Count, CountTaken Taken, DateOnly? Since,
    ImmutableArray<SheetLine> Lines)
{
    /// <summary>A counted place of a book.</summary>
    /// <param name="book">The book.</param>
    /// <param name="part">The place.</param>
    /// <param name="count">Its last count.</param>
    /// <param name="lines">Lines of the book in date order; within a day as written.</param>
    public static CountedPlace Of(Book book, Part part, LastCount count, IReadOnlyList<BookLine> lines)
    {
        var about = lines.Where(l => l.Event.About.Contains(part.Compartment)).ToList();
        var taken = about.FirstOrDefault(l => l.Number == count.Line)?.Event as CountTaken
            ?? new CountTaken(part.Compartment, part.Holding, count.Expected, count.Counted, [], count.OccurredOn, "",
                "");
        var settled = about.Where(l => l.Event is CountSettled && book.Corrections.By(l.Number) is null)
            .Select(l => ((CountSettled)l.Event).Count).ToHashSet();
        var agreed = about.LastOrDefault(
            l => l.Event is CountTaken c && c.Holding == part.Holding
                && (c.OccurredOn < count.OccurredOn || (c.OccurredOn == count.OccurredOn && l.Number < count.Line))
            && (settled.Contains(l.Number) || Agrees(book, part, c, l.Number, about)));
        var since = (agreed?.Event as CountTaken)?.OccurredOn;
        var agreedAt = agreed?.Event is CountTaken before ? AtLine(before, agreed.Number) : (long?)null;
        return new CountedPlace(part, count, taken, since,
        [
            .. from line in about
               where line.Event is IReplacement && book.Corrections.By(line.Number) is null
               let said = (IReplacement)line.Event
               let change = said.Postings.Where(p => p.Place == part).Aggregate(Money.Zero, (sum, p) => sum + p.Amount)
               where change != Money.Zero && WasExpected(book, count.OccurredOn, count.AtLine, line.Number, said)
               let isBefore = said.OccurredOn <= since && line.Number <= agreedAt
               where !isBefore || said.OccurredOn >= since!.Value.AddDays(-ExplainedCount.DaysBefore)
               select new SheetLine(line.Number, said, change, isBefore),
        ]);
    }

    // By what is known now: what was written after it may explain it, or say that it should have disagreed.
    private static bool Agrees(Book book, Part part, CountTaken count, long number, List<BookLine> about) =>
        count.Difference == about
        .Where(l => l.Number > number && l.Event is IMovement { Kind: not MovementKind.Settlement } m
            && WasExpected(book, count.OccurredOn, AtLine(count, number), l.Number, m))
        .SelectMany(l => ((IMovement)l.Event).Postings.Where(p => p.Place == part))
        .Aggregate(Money.Zero, (sum, p) => sum + p.Amount);

    private static long AtLine(CountTaken count, long number) => count.InRound?.AtLine ?? number - 1;

    // A line that corrects none goes back to itself.
    private static bool WasExpected(Book book, DateOnly countedOn, long atLine, long number, IMovement line) =>
        LastCount.ShouldHaveFound(countedOn, atLine, line.Corrects?.ClosedDay ?? line.OccurredOn,
            book.Corrections.Origin(number));
}
