using static CashEvents.Domain.Tests.Books.HarbourRow;

namespace CashEvents.Domain.Tests.Books;

/// <summary>A line as the naive book writes it.</summary>
internal sealed record NaiveLine(string Kind, DateOnly Day, params (Part Place, long Cents)[] Moves)
{
    public Part Place { get; init; }

    public long Expected { get; init; }

    public long Counted { get; init; }

    public long Count { get; init; }

    /// <summary>The line that it undoes or stands in the stead of; 0 if none.</summary>
    public long Corrects { get; init; }

    /// <summary>The day of a closed month that it belongs to.</summary>
    public DateOnly? ClosedDay { get; init; }

    /// <summary>The day that it belongs to.</summary>
    public DateOnly Belongs => ClosedDay ?? Day;

    /// <summary>A line of the domain in the naive book's terms.</summary>
    public static NaiveLine Of(IBookEvent line)
    {
        NaiveLine naive = line switch
        {
            Filled e => new("fill", e.OccurredOn, (new Part(e.Compartment, e.Holding), e.Amount.Minor)),
            Refunded e => new("refund", e.OccurredOn, (new Part(e.Compartment, e.Holding), e.Amount.Minor)),
            Spent e => new("spend", e.OccurredOn, (new Part(e.Compartment, e.Holding), -e.Amount.Minor)),
            Transferred e => new("transfer", e.OccurredOn, (e.From, -e.Amount.Minor), (e.To, e.Amount.Minor)),
            Swept e => new("sweep", e.OccurredOn, (e.From, -e.Amount.Minor), (e.To, e.Amount.Minor)),
            CountTaken e => new("count", e.OccurredOn)
            {
                Place = new Part(e.Compartment, e.Holding),
                Expected = e.Expected.Minor,
                Counted = e.Counted.Minor
            },
            CountSettled e => new("settle", e.OccurredOn,
                (new Part(e.Compartment, e.Holding), e.Difference.Minor))
            { Count = e.Count },
            Reversed e => new("reverse", e.OccurredOn,
                [.. e.Changes.Select(c => (c.Place, c.Amount.Minor))])
            { Count = e.Count ?? 0 },
            CompartmentClosed e => new("close", default) { Place = Cash(e.Compartment) },
            CompartmentReopened e => new("reopen", default) { Place = Cash(e.Compartment) },
            MonthClosed e => new("close month", e.Month.Last),
            MonthReopened e => new("reopen month", e.Month.Previous.Last),
            _ => throw new ArgumentException($"No naive line for {line}."),
        };
        return line is IMovement { Corrects: { } corrects }
            ? naive with { Corrects = corrects.Line, ClosedDay = corrects.ClosedDay }
            : naive;
    }

    public override string ToString() =>
        $"{Kind} {Day:O} [{string.Join(", ", Moves)}] {Place} {Expected} {Counted} {Count} for {Corrects} of "
            + $"{ClosedDay:O}";
}
