using System.Runtime.InteropServices;

namespace CashEvents.Store.Rebuilds;

/// <summary>Everything that is kept beside the lines, made anew from the lines alone.</summary>
internal sealed class Rebuilt
{
    private readonly Dictionary<(DateOnly Day, Part Place, Column Column), long> _totals = [];
    private readonly SortedDictionary<long, (long? ReversedBy, long? AmendedBy)> _corrections = [];

    private Book _book = Book.Empty;

    /// <summary>The last line taken in; 0 before the first.</summary>
    public long Line => _book.Line;

    /// <summary>The book's page.</summary>
    /// <param name="writtenAt">When the last line was written.</param>
    /// <param name="hash">Its hash.</param>
    /// <param name="rebuilds">How often the tables were put right: the one thing on the page that does not come from
    /// the lines.</param>
    public BookPage Page(DateTimeOffset writtenAt, string? hash, int rebuilds) =>
        new(_book, writtenAt)
        {
            Hash = hash,
            Rebuilds = rebuilds,
            Made = BookTables.Made
        };

    /// <summary>Takes in the next line.</summary>
    public void Add(SaidLine line)
    {
        _book = _book.Apply(line.Event);
        if (line.Event is not IMovement movement)
        {
            return;
        }

        foreach (var (part, column, change) in Analysis.Of(movement))
        {
            CollectionsMarshal.GetValueRefOrAddDefault(_totals, (movement.OccurredOn, part, column),
                out _) += change.Minor;
        }

        if (movement.Corrects is { } corrects)
        {
            // Of several lines that stand in the stead of one, the first is named.
            var (reversedBy, amendedBy) = _corrections.GetValueOrDefault(corrects.Line);
            _corrections[corrects.Line] =
                movement is Reversed ? (reversedBy ?? line.Number, amendedBy) : (reversedBy, amendedBy ?? line.Number);
        }
    }

    /// <summary>The rows of a range of lines, which are in hand.</summary>
    public static IEnumerable<RebuiltRows> Of(IReadOnlyList<SaidLine> lines, long after, long upTo)
    {
        yield return new RebuiltRows(RebuiltTable.Lines, after, upTo,
            Array(lines, l => l.Number), Array(lines, l => l.Kind), Array(lines, l => l.By),
            Array(lines, l => (l.Event as IDatedEvent)?.OccurredOn),
            Array(lines, l => (l.Event as IMovement)?.Corrects?.Line));
        yield return SheetsOf(lines, after, upTo);
    }

    // Straight into the columns: the rows themselves would be too large to be forgotten cheaply.
    private static RebuiltRows SheetsOf(IReadOnlyList<SaidLine> lines, long after, long upTo)
    {
        var count = lines.Sum(l => l.Event is IMovement movement ? movement.Postings.Count() : l.Event.About.Count());
        var (compartments, numbers, legs, kinds) =
            (new string[count], new long[count], new short[count], new string[count]);
        var (holdings, amounts, days, descriptions) =
            (new string?[count], new long?[count], new DateOnly?[count], new string[count]);
        var i = 0;
        foreach (var line in lines)
        {
            // In the order of the keys, numbers before words: a plan is about several compartments.
            var rows = StoredRow.Of(line.Number, line.Event);
            foreach (var row in line.Event is IMovement
                ? rows
                : rows.OrderBy(r => r.Compartment, StringComparer.Ordinal))
            {
                (compartments[i], numbers[i], legs[i], kinds[i]) = (row.Compartment, row.Line, row.Leg, row.Kind);
                (holdings[i], amounts[i], days[i], descriptions[i]) =
                    (row.Holding, row.Amount, row.OccurredOn, row.Description);
                i++;
            }
        }

        return new RebuiltRows(RebuiltTable.SheetRows, after, upTo, compartments, numbers, legs, kinds, holdings,
            amounts, days, descriptions);
    }

    /// <summary>The rows that grow with days, plans and keys, whole.</summary>
    public IEnumerable<RebuiltRows> Rest()
    {
        RebuiltRows Whole(RebuiltTable table, params Array[] values) => new(table, 0, long.MaxValue, values);
        var corrections = _corrections.ToList();
        yield return Whole(RebuiltTable.Corrections, Array(corrections, c => c.Key),
            Array(corrections, c => c.Value.ReversedBy), Array(corrections, c => c.Value.AmendedBy));
        var days = _book.Days.SelectMany(
            d => d.Value.Days.Select(day => (Place: d.Key, day.Day, Closing: day.Closing.Minor))).ToList();
        yield return Whole(RebuiltTable.DayClosings,
            Array(days, d => d.Place.Compartment), Array(days, d => Stored.Word(d.Place.Holding)),
            Array(days, d => d.Day), Array(days, d => d.Closing));
        var totals = _totals.ToList();
        yield return Whole(RebuiltTable.DayTotals,
            Array(totals, t => t.Key.Day), Array(totals, t => t.Key.Place.Compartment),
            Array(totals, t => Stored.Word(t.Key.Place.Holding)), Array(totals, t => Stored.Word(t.Key.Column)),
            Array(totals, t => t.Value));
        var spent = SpentToDates();
        yield return Whole(RebuiltTable.SpentToDates,
            Array(spent, s => s.Place.Compartment), Array(spent, s => Stored.Word(s.Place.Holding)),
            Array(spent, s => s.Day), Array(spent, s => s.Closing));
        var planned = _book.Plan.Compartments.SelectMany(c => _book.Plan.Of(c).Select(a => (Compartment: c, Amount: a)))
            .ToList();
        yield return Whole(RebuiltTable.PlannedAmounts,
            Array(planned, p => p.Compartment), Array(planned, p => p.Amount.From),
            Array(planned, p => p.Amount.Amount.Minor), Array(planned, p => p.Amount.Line));
        var keys = _book.Keys.Values.ToList();
        yield return Whole(RebuiltTable.HeldKeys,
            Array(keys, k => k.Hash), Array(keys, k => k.Name), Array(keys, k => Stored.Word(k.Role)),
            Array(keys, k => string.Join(',', k.Movements.Select(Stored.Word))), Array(keys, k => k.Revoked),
            Array(keys, k => k.Expires?.ToUnixTimeMilliseconds()));
    }

    // Running sums, place by place, of what was spent less what came back.
    private List<(Part Place, DateOnly Day, long Closing)> SpentToDates()
    {
        var days = new List<(Part Place, DateOnly Day, long Closing)>();
        foreach (var part in _totals.Where(t => t.Key.Column is Column.Spent or Column.Refunded)
            .GroupBy(t => t.Key.Place))
        {
            var closing = 0L;
            foreach (var day in part.GroupBy(t => t.Key.Day).OrderBy(d => d.Key))
            {
                closing -= day.Sum(t => t.Value);
                days.Add((part.Key, day.Key, closing));
            }
        }

        return days;
    }

    private static TValue[] Array<T, TValue>(IReadOnlyList<T> of, Func<T, TValue> value)
    {
        var values = new TValue[of.Count];
        for (var i = 0; i < values.Length; i++)
        {
            values[i] = value(of[i]);
        }

        return values;
    }
}
