namespace CashEvents.Domain.Months;

/// <summary>What becomes of a row.</summary>
public enum RowState
{
    /// <summary>It is written.</summary>
    New,

    /// <summary>It is in the book already.</summary>
    There,

    /// <summary>It moves no money.</summary>
    Nothing,

    /// <summary>Something in it does not fit, and has to be said.</summary>
    Open,
}

/// <summary>A row and what becomes of it.</summary>
/// <param name="Row">The row.</param>
/// <param name="Amount">The amount by which it is read.</param>
/// <param name="State">What becomes of it.</param>
/// <param name="Line">The line that the book has for it already.</param>
public sealed record ImportedRow(SheetRow Row, Money Amount, RowState State, long? Line);

/// <summary>
/// A tracker sheet held against the book: what would be written, what is there, and what does not fit.
/// </summary>
/// <param name="Rows">In the order in which the balances follow.</param>
/// <param name="Findings">What does not fit, in the same order.</param>
/// <param name="BroughtForward">What is filled before the first row; zero when nothing is.</param>
/// <param name="SheetCloses">The sheet's last balance, with rows after it added; null when it has none.</param>
/// <param name="BookCloses">What the book has at the end of the sheet's last day once the new rows are written.</param>
/// <param name="NotOnSheet">Lines of the book on the sheet's days that are not on the sheet.</param>
/// <param name="Notes">How the sheet was read: in words, one by one.</param>
public sealed record SheetImport(
    IReadOnlyList<ImportedRow> Rows, IReadOnlyList<Finding> Findings, Money BroughtForward, Money? SheetCloses,
    Money BookCloses,
    IReadOnlyList<TrackedLine> NotOnSheet, IReadOnlyList<string> Notes)
{
    /// <summary>What has still to be said before anything is written.</summary>
    public IEnumerable<Finding> Open => Findings.Where(f => !f.IsSettled);

    /// <summary>What is written, in date order; rows of one day as on the sheet.</summary>
    public IEnumerable<ImportedRow> New => Rows.Where(r => r.State == RowState.New).OrderBy(r => r.Row.Date);

    /// <summary>Holds a sheet against the book.</summary>
    /// <param name="sheet">The sheet.</param>
    /// <param name="book">What the book has on its days, in the holdings that are on it.</param>
    /// <param name="bringForward">Whether what the sheet begins with and the book does not know is filled.</param>
    /// <param name="accepted">What the keeper says of rows in which something does not fit.</param>
    /// <param name="currency">For sentences.</param>
    /// <exception cref="RefusalException">There is nothing that could be brought forward.</exception>
    public static SheetImport Of(TrackerSheet sheet, Tracked book, bool bringForward, Accepted accepted,
        Currency currency)
    {
        ArgumentNullException.ThrowIfNull(sheet);
        ArgumentNullException.ThrowIfNull(book);
        ArgumentNullException.ThrowIfNull(accepted);
        var before = Before(sheet, book);
        var opening = before.Aggregate(book.Opening, (sum, l) => sum + l.Amount);
        var running = RunningBalance.Of(sheet, bringForward ? null : opening, currency);
        var broughtForward = bringForward ? BroughtForwardOf(running.Opening, opening, currency) : Money.Zero;
        var findings = running.Findings.Concat(OutOfOrder(running.Rows)).Select(f => Say(f, accepted)).ToList();

        var leads = findings.Where(f => f.Leads is not null).ToDictionary(f => f.Row);
        var readings = running.Rows.Select(r => (Row: r, Amounts: AmountsOf(r, leads.GetValueOrDefault(r.Number))))
            .ToList();
        var match = SheetMatch.Of(readings, book.Lines.Where(l => !before.Contains(l)));
        var rest = book.Lines.Where(l => !match.HasTaken(l) && !before.Contains(l)).ToList();
        var perhapsThere = PerhapsThere(readings.Where(r => !match.Lines.ContainsKey(r.Row.Number)), rest, before,
            currency).Select(f => Say(f, accepted)).ToList();
        var above = running.Rows.Zip(running.Rows.Skip(1)).ToDictionary(p => p.Second.Number, p => p.First.Number);
        findings = [.. findings.Concat(perhapsThere)
            .Select(f => f.IsSettled || IsThere(f, above, match) ? f with { IsSettled = true } : f)];

        var byRow = findings.ToLookup(f => f.Row);
        var rows = readings.Select(
            r => Become(r.Row, r.Amounts[0], match.Lines.GetValueOrDefault(r.Row.Number), [.. byRow[r.Row.Number]]))
            .ToList();
        var there = perhapsThere.Where(f => f.Said == Reading.There).Select(f => f.Line!.Value).ToHashSet();
        var written = rows.Where(r => r.State == RowState.New).Aggregate(broughtForward, (sum, r) => sum + r.Amount);
        return new SheetImport(
            rows, findings, broughtForward, Closes(running.Rows, rows),
            book.Lines.Aggregate(book.Opening + written, (sum, l) => sum + l.Amount),
            [.. rest.Where(l => !there.Contains(l.Line))],
            [.. sheet.Notes, .. running.Notes]);
    }

    // The amount by which a row is read, then the other that it may have been read by before.
    private static IReadOnlyList<Money> AmountsOf(SheetRow row, Finding? finding)
    {
        var stands = row.Amount ?? Money.Zero;
        return finding?.Leads is not { } leads ? [stands] : finding.Said == Reading.Balance
            ? [leads, stands]
            : [stands, leads];
    }

    private static Finding Say(Finding finding, Accepted accepted) =>
        accepted.Of(finding) is { } said ? finding with { Said = said, IsSettled = true } : finding;

    private static ImportedRow Become(SheetRow row, Money amount, TrackedLine? line, Finding[] findings)
    {
        if (line is not null)
        {
            return new ImportedRow(row, line.Amount, RowState.There, line.Line);
        }

        var perhaps = findings.FirstOrDefault(f => f.Kind == FindingKind.PerhapsThere);
        return findings.Any(f => !f.IsSettled) ? new ImportedRow(row, amount, RowState.Open, null)
            : perhaps?.Said == Reading.There ? new ImportedRow(row, amount, RowState.There, perhaps.Line)
            : new ImportedRow(row, amount, amount == Money.Zero ? RowState.Nothing : RowState.New, null);
    }

    // Lines of the sheet's first day that come before its first row, as those of an earlier page do: by the balance
    // that the sheet begins with, or else up to the first that may be on it.
    private static HashSet<TrackedLine> Before(TrackerSheet sheet, Tracked book)
    {
        var onFirst = book.Lines.Where(l => l.Date == sheet.First).ToList();
        var balance = book.Opening;
        for (var lines = 0; ; lines++)
        {
            if (balance == sheet.Opening)
            {
                return [.. onFirst.Take(lines)];
            }

            if (lines == onFirst.Count)
            {
                return [.. onFirst.TakeWhile(
                    l => !sheet.Rows.Any(r =>
                        r.Date == l.Date && r.Holding == l.Holding
                            && (r.Amount == l.Amount || Slip.Between(l.Amount, r.Amount ?? Money.Zero) is not null)))];
            }

            balance += onFirst[lines].Amount;
        }
    }

    private static Money BroughtForwardOf(Money? sheet, Money book, Currency currency)
    {
        var forward = (sheet ?? throw Refusal.Unfit("opening", "opening-unknown",
            "No balance is written on the sheet, so it does not say what was brought forward: write the balance of its "
                + "first row.")) - book;
        return forward >= Money.Zero ? forward : throw Refusal.Unfit("opening", "opening-below-book",
            $"The sheet begins with {currency.Say(sheet.Value)} and the book has {currency.Say(book)} there: nothing "
                + $"can be brought forward. Put the book right first, or leave `opening` out.");
    }

    private static IEnumerable<Finding> OutOfOrder(IReadOnlyList<SheetRow> rows) => Enumerable.Range(1, rows.Count - 1)
        .Where(i => rows[i].Date < rows[i - 1].Date)
        .Select(i => new Finding(
            rows[i].Number, FindingKind.Date,
            $"Row {rows[i].Number} of {rows[i].Date:O} stands below row {rows[i - 1].Number} of {rows[i - 1].Date:O}: "
                + $"it was written late, or one of the two dates is wrong.",
            [Reading.Date]));

    // A line of the same day and amount in other words; or one in the same words above the place where the sheet
    // begins, where two pages may meet or one page be sent again.
    private static IEnumerable<Finding> PerhapsThere(IEnumerable<(SheetRow Row, IReadOnlyList<Money> Amounts)> rows,
        IEnumerable<TrackedLine> rest, IEnumerable<TrackedLine> before, Currency currency)
    {
        var inWords = before.GroupBy(l => (l.Holding, l.Date, l.Amount, l.Description))
            .ToDictionary(g => g.Key, g => new Queue<TrackedLine>(g));
        var inOthers = rest.Where(l => l is { Reverses: false, ReversedBy: null })
            .GroupBy(l => (l.Holding, l.Date, l.Amount)).ToDictionary(g => g.Key, g => new Queue<TrackedLine>(g));
        foreach (var (row, amounts) in rows.Where(r => r.Amounts[0] != Money.Zero))
        {
            var isInWords = inWords.TryGetValue((row.Holding, row.Date, amounts[0], row.Description), out var lines)
                && lines.Count > 0;
            if (isInWords || (inOthers.TryGetValue((row.Holding, row.Date, amounts[0]), out lines) && lines.Count > 0))
            {
                var line = lines!.Dequeue();
                yield return new Finding(
                    row.Number, FindingKind.PerhapsThere,
                    $"Row {row.Number} is {currency.Say(amounts[0])} on {row.Date:O}, '{row.Description}', and line "
                        + $"{line.Line} of the book is the same "
                        + (isInWords
                            ? "above the place where this sheet begins"
                            : $"in other words, '{line.Description}'")
                        + ": it may be in the book already.",
                    [Reading.There, Reading.New])
                {
                    Stands = amounts[0],
                    Line = line.Line,
                };
            }
        }
    }

    // What is in the book already needs no word; a date is settled when the row above it is there too.
    private static bool IsThere(Finding finding, Dictionary<int, int> above, SheetMatch match) =>
        match.Lines.ContainsKey(finding.Row)
            && (finding.Kind != FindingKind.Date || match.Lines.ContainsKey(above[finding.Row]));

    private static Money? Closes(IReadOnlyList<SheetRow> inOrder, List<ImportedRow> rows)
    {
        var last = inOrder.ToList().FindLastIndex(r => r.Balance is not null);
        return last < 0 ? null : rows.Skip(last + 1)
            .Aggregate(inOrder[last].Balance!.Value, (sum, r) => sum + r.Amount);
    }
}
