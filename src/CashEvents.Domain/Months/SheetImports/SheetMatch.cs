namespace CashEvents.Domain.Months;

/// <summary>
/// Finds the lines of the book that rows of a sheet are: of the same holding, day, amount and description, each line
/// for one row.
/// </summary>
/// <remarks>
/// Two equal rows are two movements, so the second needs a second line. A line that was reversed still stands for its
/// row, or the row would be written again.
/// A line that stands in the stead of another is for no row of its own, unless the sheet has the reversal too or lacks
/// the line that it stands for.
/// </remarks>
internal sealed class SheetMatch
{
    private readonly Dictionary<(Holding, DateOnly, Money, string), List<TrackedLine>> _free;
    private readonly Dictionary<long, TrackedLine> _byNumber;
    private readonly HashSet<long> _taken = [];

    private SheetMatch(IEnumerable<TrackedLine> lines)
    {
        var all = lines.ToList();
        _free = all.GroupBy(l => (l.Holding, l.Date, l.Amount, l.Description))
            .ToDictionary(g => g.Key, g => g.ToList());
        _byNumber = all.DistinctBy(l => l.Line).ToDictionary(l => l.Line);
    }

    /// <summary>Line of the book by row number.</summary>
    public Dictionary<int, TrackedLine> Lines { get; } = [];

    /// <summary>Matches rows with lines.</summary>
    /// <param name="rows">The rows with the amounts that each may have, likeliest first.</param>
    /// <param name="lines">The book's lines on their days.</param>
    public static SheetMatch Of(IReadOnlyList<(SheetRow Row, IReadOnlyList<Money> Amounts)> rows,
        IEnumerable<TrackedLine> lines)
    {
        var match = new SheetMatch(lines);
        for (var reading = 0; reading < rows.Select(r => r.Amounts.Count).DefaultIfEmpty().Max(); reading++)
        {
            foreach (var inStead in new[] { false, true })
            {
                foreach (var (row, amounts) in rows.Where(
                    r => reading < r.Amounts.Count && !match.Lines.ContainsKey(r.Row.Number)))
                {
                    match.Take(row, amounts[reading], inStead);
                }
            }
        }

        return match;
    }

    /// <summary>Whether a line stands for a row.</summary>
    public bool HasTaken(TrackedLine line) => _taken.Contains(line.Line);

    private void Take(SheetRow row, Money amount, bool inStead)
    {
        if (amount == Money.Zero || !_free.TryGetValue((row.Holding, row.Date, amount, row.Description), out var free))
        {
            return;
        }

        var at = free.FindIndex(l => (l.Amends is not null) == inStead && (!inStead || MayStandForARow(l)));
        if (at >= 0)
        {
            Lines.Add(row.Number, free[at]);
            _taken.Add(free[at].Line);
            free.RemoveAt(at);
        }
    }

    // What stands in the stead of a reversal has no reversal of its own, and is a movement like any other.
    private bool MayStandForARow(TrackedLine line) =>
        !_byNumber.TryGetValue(line.Amends!.Value, out var amended) || !_taken.Contains(amended.Line)
            || amended.ReversedBy is not { } reversal || _taken.Contains(reversal);
}
