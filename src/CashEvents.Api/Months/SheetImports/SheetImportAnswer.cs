namespace CashEvents.Api.Months;

/// <summary>A row of the sheet and what becomes of it.</summary>
/// <param name="Row">Its number on the sheet: the heading is row 1, and blank rows count.</param>
/// <param name="Date">The household's date on which it happened.</param>
/// <param name="Kind">The kind of movement.</param>
/// <param name="Holding">Cash or bank.</param>
/// <param name="Description">What stands beside it.</param>
/// <param name="Amount">The amount by which it is read: in positive, out negative.</param>
/// <param name="State">What becomes of it.</param>
public sealed record ImportedRowAnswer(int Row, DateOnly Date, MovementKind Kind, Holding Holding, string Description,
    decimal Amount, RowState State)
{
    /// <summary>The balance that stands on the sheet.</summary>
    public decimal? Balance { get; init; }

    /// <summary>Its line of the book; absent while it has none.</summary>
    public long? Line { get; init; }
}

/// <summary>Something in a row that does not agree.</summary>
/// <param name="Row">The row's number on the sheet.</param>
/// <param name="Kind">What does not agree.</param>
/// <param name="Says">What stands there, what would follow, and the likely slip.</param>
/// <param name="Mend">How to put it right.</param>
/// <param name="Settled">Whether nothing has to be said of it any more.</param>
public sealed record FindingAnswer(int Row, FindingKind Kind, string Says, string Mend, bool Settled)
{
    /// <summary>What stands there: an amount, or a balance.</summary>
    public decimal? Stands { get; init; }

    /// <summary>What would follow in its place.</summary>
    public decimal? Follows { get; init; }

    /// <summary>The slip that makes what stands there of what follows.</summary>
    public SlipKind? Slip { get; init; }

    /// <summary>The line of the book that it may be.</summary>
    public long? Line { get; init; }

    /// <summary>What to send in <c>accept</c> for the likeliest reading.</summary>
    public string? Likely { get; init; }

    /// <summary>The reading that was accepted.</summary>
    public Reading? Accepted { get; init; }

    internal static FindingAnswer Of(Finding finding, Currency currency)
    {
        decimal? Say(Money? money) => money is { } amount ? currency.ToDecimal(amount) : null;
        return new FindingAnswer(finding.Row, finding.Kind, finding.Says, MendOf(finding, currency), finding.IsSettled)
        {
            Stands = Say(finding.Stands),
            Follows = Say(finding.Follows),
            Slip = finding.Slip,
            Line = finding.Line,
            Likely = finding.Likely is { } likely ? $"{finding.Row}:{Spelling.Of(likely)}" : null,
            Accepted = finding.Said,
        };
    }

    private static string MendOf(Finding finding, Currency currency)
    {
        var readings = finding.Readings.Select(
            r => $"{finding.Row}:{Spelling.Of(r)} {MeaningOf(r, finding, currency)}");
        return $"Mend the sheet and send it again, or send accept={string.Join(", or ", readings)}.";
    }

    private static string MeaningOf(Reading reading, Finding finding, Currency currency) => reading switch
    {
        Reading.Balance when finding.Leads == Money.Zero => "to write nothing for the row",
        Reading.Balance => $"to write {currency.Say(finding.Leads!.Value)}",
        Reading.Amount when finding.Kind == FindingKind.Opening => "to write the amounts from the book's balance on",
        Reading.Amount => "to write the amount as it stands",
        Reading.Date => "to write it on its date as it stands",
        Reading.There => $"to write nothing, since it is line {finding.Line}",
        _ => "to write it, since it is another",
    };
}

/// <summary>What became of a sheet, or would.</summary>
/// <param name="DryRun">Whether nothing was written.</param>
/// <param name="Compartment">The compartment's id.</param>
/// <param name="Lines">Numbers of the lines written; none in a dry run, or if all is there already.</param>
/// <param name="New">How many rows are written, or would be.</param>
/// <param name="There">How many rows the book has already.</param>
/// <param name="Rows">Each row and what becomes of it.</param>
/// <param name="Findings">What does not agree; in a dry run also what has still to be said.</param>
/// <param name="Read">How the sheet was read: what was understood, bridged and left out.</param>
/// <param name="BookCloses">What the book has at the end of the sheet's last day then.</param>
/// <param name="NotOnSheet">Lines of the book on the sheet's days that are not on the sheet.</param>
/// <param name="Balances">The places it touches, as it leaves them.</param>
public sealed record SheetImportAnswer(
    bool DryRun, string Compartment, IReadOnlyList<long> Lines, int New, int There,
    IReadOnlyList<ImportedRowAnswer> Rows, IReadOnlyList<FindingAnswer> Findings,
    IReadOnlyList<string> Read, decimal BookCloses, IReadOnlyList<long> NotOnSheet,
    IReadOnlyList<BalanceAnswer> Balances)
{
    /// <summary>The entry that the lines belong to: the number of its first line.</summary>
    public long? EntryId { get; init; }

    /// <summary>What is filled before the first row.</summary>
    public decimal? BroughtForward { get; init; }

    /// <summary>The sheet's last balance.</summary>
    public decimal? SheetCloses { get; init; }

    /// <summary>Why nothing is written, or where sheet and book differ.</summary>
    public string? Note { get; init; }

    /// <summary>An import in this API's words.</summary>
    /// <param name="compartment">Whose sheet it is.</param>
    /// <param name="import">What becomes of it.</param>
    /// <param name="currency">What it is told in.</param>
    /// <param name="lines">The lines written, in the entry's order; null for a dry run.</param>
    /// <param name="balances">The places it touches, as it leaves them.</param>
    internal static SheetImportAnswer Of(string compartment, SheetImport import, Currency currency,
        IReadOnlyList<long>? lines, IReadOnlyList<BalanceAnswer> balances)
    {
        decimal Say(Money money) => currency.ToDecimal(money);
        var ahead = import.BroughtForward > Money.Zero ? 1 : 0;
        var written = lines is { Count: > 0 }
            ? import.New.Select((r, i) => (r.Row.Number, Line: lines[ahead + i]))
                .ToDictionary(r => r.Number, r => r.Line)
            : [];
        var rows = import.Rows.Select(r => new ImportedRowAnswer(
            r.Row.Number, r.Row.Date, KindOf(r), r.Row.Holding, r.Row.Description, Say(r.Amount), r.State)
        {
            Balance = r.Row.Balance is { } balance ? Say(balance) : null,
            Line = r.Line ?? (written.TryGetValue(r.Row.Number, out var line) ? line : null),
        }).ToList();
        return new SheetImportAnswer(
            lines is null, compartment, lines ?? [], rows.Count(r => r.State == RowState.New),
            rows.Count(r => r.State == RowState.There), rows,
            [.. import.Findings.Select(f => FindingAnswer.Of(f, currency))], import.Notes, Say(import.BookCloses),
            [.. import.NotOnSheet.Select(l => l.Line)], balances)
        {
            EntryId = lines is { Count: > 0 } ? lines[0] : null,
            BroughtForward = ahead == 1 ? Say(import.BroughtForward) : null,
            SheetCloses = import.SheetCloses is { } closes ? Say(closes) : null,
            Note = NoteOf(import, currency),
        };
    }

    /// <summary>The kind of movement that a row is.</summary>
    internal static MovementKind KindOf(ImportedRow row) =>
        row.Amount < Money.Zero ? MovementKind.Spend : row.Row.IsRefund ? MovementKind.Refund : MovementKind.Fill;

    private static string? NoteOf(SheetImport import, Currency currency) =>
        import.Open.Any() ? "Something does not agree: nothing is written until each finding that is not settled is "
            + "mended or accepted."
        : import.SheetCloses is { } sheet && sheet != import.BookCloses
            ? $"The sheet closes at {currency.Say(sheet)} and the book at {currency.Say(import.BookCloses)}"
                + (import.NotOnSheet.Count > 0 ? ": the lines in notOnSheet are not on the sheet." : ".")
        : !import.New.Any() && import.BroughtForward == Money.Zero
            ? "All of it is in the book already: there is nothing to write."
            : null;
}
