using System.Collections.Immutable;

namespace CashEvents.Domain.Months;

/// <summary>What a place opened with, what changed it by column, and what it closed with.</summary>
/// <param name="Place">Compartment and holding.</param>
/// <param name="Wallet">The wallet that the compartment is in; for a closed month, was in when it was closed.</param>
/// <param name="Opening">Before the month's first day.</param>
/// <param name="Changes">By column; in is positive, out negative. Columns that nothing stands in are absent.</param>
/// <param name="Closing">At the end of its last day, as the daily balances have it.</param>
public sealed record TrailRow(Part Place, string Wallet, Money Opening,
    ImmutableSortedDictionary<Column, Money> Changes, Money Closing)
{
    /// <summary>What changed it in one column.</summary>
    public Money In(Column column) => Changes.GetValueOrDefault(column);
}

/// <summary>What a key wrote of one kind.</summary>
/// <param name="By">The key's name.</param>
/// <param name="Line">A line of that kind, by which the kind is named.</param>
/// <param name="Lines">How many lines.</param>
/// <param name="Amount">What they moved together; for settlements and counts the over less the short.</param>
public sealed record TrailWriter(string By, IDatedEvent Line, int Lines, Money Amount);

/// <summary>What moved from one place to another by transfers and sweeps, less what was undone.</summary>
/// <param name="From">Where it came from.</param>
/// <param name="To">Where it went.</param>
/// <param name="Amount">How much.</param>
public sealed record TrailMove(Part From, Part To, Money Amount);

/// <summary>A line of the month with what an auditor would mark on it.</summary>
/// <param name="Line">The line.</param>
/// <param name="DaysLate">Days of the household's calendar between the day it occurred and the day it was recorded; 0
/// when it was recorded that day.</param>
/// <param name="Unsettled">A count or bank statement that disagrees and is not settled.</param>
public sealed record TrailLine(BookLine Line, int DaysLate, bool Unsettled)
{
    /// <summary>Whether it corrects another line or is corrected by one.</summary>
    public bool IsCorrection =>
        Line.ReversedBy is not null || Line.AmendedBy is not null || Line.Event is IMovement { Corrects: not null };
}

/// <summary>An account of the trial balance: its balance, a debit or a credit.</summary>
/// <param name="Account">The place; null for the accounts that are none.</param>
/// <param name="Column">Where money came from or went to outside the book, such as <c>spent</c>; null for a place, and
/// for what was brought forward from the months before.</param>
/// <param name="Debit">What a place holds at the end; what left the book.</param>
/// <param name="Credit">What was brought forward; what came into the book.</param>
public sealed record TrialBalanceRow(Part? Account, Column? Column, Money Debit, Money Credit)
{
    /// <summary>A balance: above zero is a debit.</summary>
    internal static TrialBalanceRow Of(Part? account, Column? column, Money balance) => balance > Money.Zero
        ? new TrialBalanceRow(account, column, balance, Money.Zero)
        : new TrialBalanceRow(account, column, Money.Zero, -balance);
}

/// <summary>
/// A month as an auditor would want it: what there was, what changed it, who wrote it, and that it adds up.
/// </summary>
/// <param name="Month">The month.</param>
/// <param name="Rows">Each place that held or moved anything or of which anything is said, compartments in the book's
/// order.</param>
/// <param name="Writers">Who did what.</param>
/// <param name="Moves">What moved between which places.</param>
/// <param name="Lines">The lines dated in the month, in date order, within a day as written.</param>
/// <param name="TrialBalance">Debits and credits; they are equal, or something is wrong with the book's tables.</param>
/// <param name="Open">What is still open at its end.</param>
public sealed record Trail(
    Month Month,
    IReadOnlyList<TrailRow> Rows,
    IReadOnlyList<TrailWriter> Writers,
    IReadOnlyList<TrailMove> Moves,
    IReadOnlyList<TrailLine> Lines,
    IReadOnlyList<TrialBalanceRow> TrialBalance,
    IReadOnlyList<OpenItem> Open)
{
    /// <summary>Debits less credits: zero.</summary>
    public Money Difference => TrialBalance.Aggregate(Money.Zero, (sum, row) => sum + row.Debit - row.Credit);

    /// <summary>What a compartment held before the month's first day, both holdings together.</summary>
    public Money Opening(string compartment) =>
        Rows.Where(row => row.Place.Compartment == compartment).Aggregate(Money.Zero, (sum, row) => sum + row.Opening);

    /// <summary>
    /// What a compartment held at the end of each day of the month that money moved in it, both holdings together, in
    /// date order.
    /// </summary>
    public IReadOnlyList<DayClosing> Closings(string compartment)
    {
        var balance = Opening(compartment);
        return
        [
            .. from movement in Lines.Select(l => l.Line.Event).OfType<IMovement>()
               from posting in movement.Postings
               where posting.Place.Compartment == compartment
               group posting.Amount by movement.OccurredOn into day
               orderby day.Key
               select new DayClosing(day.Key, balance = day.Aggregate(balance, (sum, amount) => sum + amount)),
        ];
    }

    /// <summary>Draws up a month's trail.</summary>
    /// <param name="month">The month.</param>
    /// <param name="book">The book, with its compartments and counts.</param>
    /// <param name="opening">Balances before the month's first day.</param>
    /// <param name="closing">Balances at the end of its last day.</param>
    /// <param name="lines">The lines dated in the month, in date order.</param>
    /// <param name="closed">The line that closed it; null while it is open.</param>
    public static Trail Of(
        Month month, Book book, IReadOnlyDictionary<Part, Money> opening, IReadOnlyDictionary<Part, Money> closing,
        IReadOnlyList<BookLine> lines, MonthClosed? closed)
    {
        ArgumentNullException.ThrowIfNull(book);
        var changes = lines.Select(l => l.Event).OfType<IMovement>().SelectMany(Analysis.Of)
            .GroupBy(c => c.Place)
            .ToDictionary(g => g.Key,
                g => g.GroupBy(c => c.Column)
                    .ToImmutableSortedDictionary(c => c.Key, c => c.Aggregate(Money.Zero, (sum, x) => sum + x.Change)));
        // What is said of a place and moves no money: a count, a handover, an exchange.
        var said = lines.Select(l => l.Event).Where(e => e is not IMovement)
            .SelectMany(e => e.About.Select(
                c => new Part(c, e is BankStatementRead ? Holding.Bank : (e as CountTaken)?.Holding ?? Holding.Cash)))
                .ToHashSet();
        var wallets = closed?.Figures.Select(f => (f.Place.Compartment, f.Wallet)).Distinct()
            .ToDictionary(f => f.Compartment, f => f.Wallet);
        var rows = (
            from compartment in book.Compartments.Values.OrderBy(c => c.Line)
            from holding in Enum.GetValues<Holding>()
            let place = new Part(compartment.Id, holding)
            let row = new TrailRow(
                place,
                wallets?.GetValueOrDefault(compartment.Id) ?? compartment.Wallet,
                opening.GetValueOrDefault(place),
                changes.GetValueOrDefault(place, ImmutableSortedDictionary<Column, Money>.Empty),
                closing.GetValueOrDefault(place))
            where row.Opening != Money.Zero || row.Closing != Money.Zero || row.Changes.Count > 0
                || said.Contains(place) || (!compartment.Closed && holding == Holding.Cash)
            select row).ToList();
        return new Trail(
            month, rows, [.. WritersOf(lines)], [.. MovesOf(lines)], [.. lines.Select(l => LineOf(l, book))],
            TrialBalanceOf(rows),
            closed is null ? [.. OpenItem.At(month, book)] : []);
    }

    private static IEnumerable<TrailWriter> WritersOf(IEnumerable<BookLine> lines) => lines
        .Where(l => l.Event is IDatedEvent)
        .GroupBy(l => (l.By, Kind: l.Event.GetType()))
        .OrderBy(g => g.Key.By, StringComparer.Ordinal).ThenBy(g => g.First().Number)
        .Select(g => new TrailWriter(g.Key.By, (IDatedEvent)g.First().Event, g.Count(),
            g.Aggregate(Money.Zero, (sum, l) => sum + AmountOf(l.Event))));

    private static Money AmountOf(IBookEvent line) => line switch
    {
        CountTaken count => count.Difference,
        CountSettled settled => settled.Difference,
        BankStatementRead statement => statement.Difference,
        BankStatementSettled settled => settled.Difference,
        // What came in, or what went out; where money only moved within the book the two are the same.
        IMovement movement when movement.Postings.Where(p => p.Amount > Money.Zero)
            .Aggregate(Money.Zero, (sum, p) => sum + p.Amount) is var came && came > Money.Zero => came,
        IMovement movement => movement.Postings.Aggregate(Money.Zero, (sum, p) => sum - p.Amount),
        _ => Money.Zero,
    };

    private static IEnumerable<TrailMove> MovesOf(IEnumerable<BookLine> lines) => lines
        .Select(l => l.Event).OfType<IMovement>()
        .Where(m => m.Kind is MovementKind.Transfer or MovementKind.Sweep && m.Corrects?.ClosedDay is null)
        .Select(m =>
        {
            // A reversal's changes go the other way, and count against what it undoes.
            var sign = m is Reversed ? -1 : 1;
            var from = m.Postings.Single(p => p.Amount.Minor * sign < 0);
            return (From: from.Place, To: m.Postings.Single(p => p.Amount.Minor * sign > 0).Place,
                Amount: -from.Amount);
        })
        .GroupBy(m => (m.From, m.To))
        .Select(g => new TrailMove(g.Key.From, g.Key.To, g.Aggregate(Money.Zero, (sum, m) => sum + m.Amount)))
        .Where(m => m.Amount != Money.Zero);

    private static TrailLine LineOf(BookLine line, Book book)
    {
        // When a line of a clock that was ahead was written nobody knows.
        var late = line.Event is IDatedEvent dated && book.SaidAhead(line.Number) is null
            ? book.Household!.DateAt(line.RecordedAt).DayNumber - dated.OccurredOn.DayNumber
            : 0;
        var unsettled = line.Event switch
        {
            CountTaken taken => book.LastCount(new Part(taken.Compartment, taken.Holding)) is { Settled: false } count
                && count.Line == line.Number && count.Difference != Money.Zero,
            BankStatementRead => book.BankStatement is { Settled: false } statement && statement.Line == line.Number
                && statement.Difference != Money.Zero,
            _ => false,
        };
        return new TrailLine(line, Math.Max(0, late), unsettled);
    }

    // Balances, each a debit or a credit: what lies in the book was brought forward or came in, and what left it went
    // somewhere. Transfers and sweeps cancel.
    private static List<TrialBalanceRow> TrialBalanceOf(List<TrailRow> rows)
    {
        var opening = rows.Aggregate(Money.Zero, (sum, row) => sum + row.Opening);
        return
        [
            .. rows.Select(row => TrialBalanceRow.Of(row.Place, null, row.Closing)),
            .. opening == Money.Zero ? Array.Empty<TrialBalanceRow>() : [TrialBalanceRow.Of(null, null, -opening)],
            .. from column in _outside
               let sum = rows.Aggregate(Money.Zero, (sum, row) => sum + row.In(column))
               where sum != Money.Zero
               select TrialBalanceRow.Of(null, column, -sum),
        ];
    }

    private static readonly Column[] _outside =
        [Column.Filled, Column.Spent, Column.Refunded, Column.Over, Column.Short, Column.Corrected];
}
