namespace CashEvents.Page.Months;

/// <summary>A row of a compartment's leaf.</summary>
/// <param name="Shown">Its line.</param>
/// <param name="Day">The day.</param>
/// <param name="What">What was written beside it, or what it was.</param>
/// <param name="Amount">What it changed; null where it moved nothing.</param>
/// <param name="Left">What was left after it; null where that is not to be told.</param>
/// <param name="Notes">What else there is to say of it.</param>
/// <param name="IsUndone">It was undone: it is struck through, and counts no more.</param>
public sealed record LeafRow(Shown Shown, DateOnly Day, string What, Money? Amount, Money? Left,
    IReadOnlyList<string> Notes, bool IsUndone);

/// <summary>A compartment's leaf of a month: cash and bank together, as a cash book has it.</summary>
/// <param name="Opening">What was there before.</param>
/// <param name="Rows">In order of days; within a day as written.</param>
public sealed record Leaf(Money Opening, IReadOnlyList<LeafRow> Rows)
{
    /// <summary>The leaf as this phone knows it.</summary>
    public static Leaf Of(Phone phone, string compartment, Month month)
    {
        var book = phone.Book!;
        var before = month.First.AddDays(-1);
        var opening = Enum.GetValues<Holding>().Select(holding => book.BalanceOn(new(compartment, holding), before))
            .Aggregate(Money.Zero, (sum, balance) => sum + balance);
        var dated = phone.Lines.Where(shown => shown.Line.Event is IDatedEvent dated
                && dated.About.Contains(compartment) && Month.Of(dated.OccurredOn) == month)
            .OrderBy(shown => ((IDatedEvent)shown.Line.Event).OccurredOn).ThenBy(shown => shown.Line.Number).ToList();
        var undoing = Undoing(dated);
        var rows = new List<LeafRow>();
        var left = opening;
        foreach (var shown in dated)
        {
            var line = (IDatedEvent)shown.Line.Event;
            if (undoing.ContainsValue(shown.Line.Number))
            {
                continue;
            }

            var reversal = undoing.TryGetValue(shown.Line.Number, out var by)
                ? (Reversed)dated.Single(other => other.Line.Number == by).Line.Event : null;
            var amount = line is IMovement movement ? Change(movement, compartment) : (Money?)null;
            left += reversal is null ? amount ?? Money.Zero : Money.Zero;
            rows.Add(new LeafRow(shown, line.OccurredOn, Wording.What(line), amount,
                reversal is null && amount is not null ? left : null,
                [.. Wording.Notes(line, compartment, phone, shown), .. reversal is null ? Array.Empty<string>()
                    : [string.Format(Texts.Undone, reversal.Description)]],
                reversal is not null));
        }

        return new Leaf(opening, rows);
    }

    // A line and its reversal on the same day are one line that is struck through.
    private static Dictionary<long, long> Undoing(List<Shown> dated)
    {
        var days = dated.ToDictionary(shown => shown.Line.Number, shown => ((IDatedEvent)shown.Line.Event).OccurredOn);
        return dated.Where(shown => shown.Line.Event is Reversed reversed
                && days.TryGetValue(reversed.Corrects.Line, out var day) && day == reversed.OccurredOn)
            .ToDictionary(shown => ((Reversed)shown.Line.Event).Corrects.Line, shown => shown.Line.Number);
    }

    private static Money Change(IMovement movement, string compartment) =>
        movement.Postings.Where(posting => posting.Place.Compartment == compartment)
            .Aggregate(Money.Zero, (sum, posting) => sum + posting.Amount);
}
