namespace CashEvents.Benchmarks.Explanations;

/// <summary>What one would say without any calculation, to hold the program against.</summary>
internal static class SimpleRules
{
    public static readonly (string Name, Func<MistakenBook, Mistake> Says)[] All =
    [
        ("divides by nine, or half of it", Handbook),
        ("an entry was forgotten", Forgotten),
        ("the last line of that amount", LastLine),
    ];

    private static NotRecorded Forgotten(MistakenBook book)
    {
        var (place, off) = (book.Asked, book.Difference);
        return new NotRecorded(off < Money.Zero
            ? new Spent(place.Compartment, place.Holding, -off, book.Life.CountedOn, "")
            : new Filled(place.Compartment, place.Holding, off, book.Life.CountedOn, ""), 0, null);
    }

    private static Mistake LastLine(MistakenBook book) =>
        Latest(book).Where(l => Change(book, l.Said) == -book.Difference)
            .Select(l => (Mistake)new NeedlesslyRecorded(MistakeKind.RecordedTwice, [(l.Number, l.Said)], null))
            .FirstOrDefault() ?? Forgotten(book);

    private static Mistake Handbook(MistakenBook book)
    {
        if (book.Difference.Minor % 9 == 0)
        {
            foreach (var line in Latest(book))
            {
                var right = Change(book, line.Said) + book.Difference;
                if (Slip.Between(right, Change(book, line.Said)) is
                    { Kind: SlipKind.Transposition or SlipKind.Slide } slip && line.Said is Spent s
                    && right < Money.Zero)
                {
                    return new Miswritten(slip.Kind == SlipKind.Slide ? MistakeKind.Slid : MistakeKind.Transposed,
                        line.Number, s, s with { Amount = -right });
                }
            }
        }

        return Latest(book).Where(l => l.Said is Spent && -Change(book, l.Said) - Change(book, l.Said)
                == book.Difference)
            .Select(l => (Mistake)new Miswritten(MistakeKind.WrongDirection, l.Number, l.Said,
                new Refunded(book.Asked.Compartment, book.Asked.Holding, -Change(book, l.Said), l.Said.OccurredOn,
                    l.Said.Description))).FirstOrDefault() ?? Forgotten(book);
    }

    private static IEnumerable<(long Number, IReplacement Said)> Latest(MistakenBook book) => book.Lines.Reverse()
        .Where(l => l.Event is IReplacement m && m.OccurredOn <= book.Life.CountedOn
            && m.OccurredOn > book.Life.Agreed && m.Postings.Any(p => p.Place == book.Asked))
        .Select(l => (l.Number, (IReplacement)l.Event));

    private static Money Change(MistakenBook book, IReplacement said) =>
        said.Postings.Where(p => p.Place == book.Asked).Aggregate(Money.Zero, (sum, p) => sum + p.Amount);
}
