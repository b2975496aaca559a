using System.Globalization;

namespace CashEvents.Domain.Months;

/// <summary>A compartment's tracker sheet as it was read from paper.</summary>
/// <param name="Rows">In its order; at least one.</param>
/// <param name="Notes">How it was read: in words, one by one.</param>
public sealed record TrackerSheet(IReadOnlyList<SheetRow> Rows, IReadOnlyList<string> Notes)
{
    /// <summary>The most rows of one sheet.</summary>
    public const int MostRows = 10_000;

    /// <summary>The first of its days.</summary>
    public DateOnly First => Rows.Min(r => r.Date);

    /// <summary>The last of its days.</summary>
    public DateOnly Last => Rows.Max(r => r.Date);

    /// <summary>The balance before its first row, by the first that is written; null when none is.</summary>
    public Money? Opening => Rows.FirstOrDefault(r => r.Balance is not null) is { } first
        ? Rows.TakeWhile(r => r != first).Append(first)
            .Aggregate(first.Balance!.Value, (balance, r) => balance - (r.Amount ?? Money.Zero))
        : null;

    /// <summary>
    /// Reads what is written on a sheet. What can be read in several ways is asked about; how the rest was read stands
    /// in the notes.
    /// </summary>
    /// <param name="written">Its rows, blank ones left out.</param>
    /// <param name="currency">What it is kept in.</param>
    /// <param name="otherwise">The holding of rows that name none.</param>
    /// <param name="dateOrder">The order of its dates, if it was said.</param>
    /// <param name="decimalMark">Its decimal mark, if it was said.</param>
    /// <exception cref="RefusalException">Something can't be read, or can be read in several ways: the rows are
    /// named.</exception>
    public static TrackerSheet Read(IReadOnlyList<WrittenRow> written, Currency currency, Holding otherwise,
        DateOrder? dateOrder = null, DecimalMark? decimalMark = null)
    {
        ArgumentNullException.ThrowIfNull(written);
        ArgumentNullException.ThrowIfNull(currency);
        if (written.Count is 0 or > MostRows)
        {
            throw written.Count > 0
                ? TooLong()
                : Refusal.Unfit("csv", "sheet-length",
                    "The sheet has no rows: below its heading stands one row for each movement.");
        }

        var notes = new List<string>();
        var dates = WrittenDates.Read([.. written.Select(r => (r.Number, r.Date))], dateOrder, notes);
        var amounts = Amounts(written, r => r.Amount, "amount", currency);
        var balances = Amounts(written, r => r.Balance, "balance", currency);
        var mark = Mark(amounts, balances, decimalMark, notes);
        var rows = written.Select((r, i) => new SheetRow(
            r.Number, dates[i], InRow(r.Number, () => Words.Description(r.Description)),
            Exactly(amounts[i], mark, "amount", currency), Exactly(balances[i], mark, "balance", currency),
            HoldingOf(r, otherwise), IsRefund: string.Equals(r.Kind, "refund", StringComparison.OrdinalIgnoreCase)))
            .ToList();
        if (rows.Where(r => r is { Amount: null, Balance: null }).Select(r => r.Number)
            .ToList() is { Count: > 0 } empty)
        {
            throw Refusal.Unfit("amount", "amount-missing",
                $"{SheetWords.Rows(empty)} {(empty.Count == 1 ? "has" : "have")} neither an amount nor a balance: "
                    + $"write what was paid or came in, out with a minus before it.");
        }

        return new TrackerSheet(rows, notes);
    }

    /// <summary>The refusal of a sheet with more than <see cref="MostRows"/> rows.</summary>
    public static RefusalException TooLong() =>
        Refusal.Unfit("csv", "sheet-length",
            $"The sheet has more than {MostRows} rows, blank ones among them, and no more are taken at once: send it "
                + $"in parts, the earliest first.");

    private static List<WrittenAmount?> Amounts(IReadOnlyList<WrittenRow> written, Func<WrittenRow, string> cell,
        string field, Currency currency)
    {
        var amounts = new List<WrittenAmount?>(written.Count);
        var faults = new List<(int Row, string Text, string Fault)>();
        foreach (var row in written)
        {
            var text = cell(row);
            string? fault = null;
            amounts.Add(text.Length == 0 ? null : WrittenAmounts.Read(row.Number, text, currency, out fault));
            if (fault is not null)
            {
                faults.Add((row.Number, text, fault));
            }
        }

        return faults.Count == 0 ? amounts : throw Refusal.Unfit(field,
            field == "amount" ? "amount-unreadable" : "balance-unreadable",
            $"The {field} of row {faults[0].Row}, '{faults[0].Text}', {faults[0].Fault}."
                + (faults.Count > 1
                    ? $" So it is with {SheetWords.Cells(faults.Skip(1).Select(f => (f.Row, f.Text)))}."
                    : ""));
    }

    private static DecimalMark Mark(List<WrittenAmount?> amounts, List<WrittenAmount?> balances, DecimalMark? said,
        List<string> notes)
    {
        var all = amounts.Concat(balances).OfType<WrittenAmount>().ToList();
        var unclear = all.Where(a => a.IsUnclear).OrderBy(a => a.Row).ToList();
        var shown = all.Where(a => a.Shows is not null).GroupBy(a => a.Shows!.Value).OrderByDescending(g => g.Count())
            .ToList();
        if (shown.Count == 2)
        {
            notes.Add($"{(shown[0].Key == DecimalMark.Point ? "The point" : "The comma")} is the decimal mark, and "
                + $"{(shown[1].Key == DecimalMark.Point ? "the point" : "the comma")} in "
                + $"{SheetWords.Cells(shown[1].OrderBy(a => a.Row).Select(a => (a.Row, a.Text)))}: none of these can "
                + $"be read another way.");
        }

        if (unclear.Count == 0)
        {
            if (shown is [{ Key: DecimalMark.Comma }])
            {
                notes.Add($"The comma is the decimal mark: {shown[0].First().Text} in row {shown[0].First().Row} can't "
                    + $"be read another way.");
            }

            return shown.Count > 0 ? shown[0].Key : DecimalMark.Point;
        }

        if (said is { } mark)
        {
            notes.Add($"{(mark == DecimalMark.Point ? "The point" : "The comma")} is the decimal mark, as asked.");
            return mark;
        }

        if (shown is [var only])
        {
            notes.Add($"{(only.Key == DecimalMark.Point ? "The point" : "The comma")} is the decimal mark: "
                + $"{only.First().Text} in row {only.First().Row} can't be read another way, so {unclear[0].Text} in "
                + $"row {unclear[0].Row} is {Plain(unclear[0].By(only.Key))}.");
            return only.Key;
        }

        var following = Enum.GetValues<DecimalMark>().Where(m => Follow(amounts, balances, m)).ToList();
        if (following is [var one])
        {
            notes.Add($"{(one == DecimalMark.Point ? "The point" : "The comma")} is the decimal mark: every balance "
                + $"follows from the one before when {unclear[0].Text} in row {unclear[0].Row} is "
                + $"{Plain(unclear[0].By(one))}, and not when it is "
                + $"{Plain(unclear[0].By(one == DecimalMark.Point ? DecimalMark.Comma : DecimalMark.Point))}.");
            return one;
        }

        throw Refusal.Unfit("decimalMark", "decimal-mark-unclear",
            $"{SheetWords.Cells(unclear.Select(a => (a.Row, a.Text)))} can be read in two ways: {unclear[0].Text} is "
                + $"{Plain(unclear[0].ByPoint)} with the point as decimal mark, {Plain(unclear[0].ByComma)} with the "
                + $"comma. Nothing else on the sheet settles it: send decimalMark=point or comma.");
    }

    // Whether every balance follows from the one before, with one at least that does.
    private static bool Follow(List<WrittenAmount?> amounts, List<WrittenAmount?> balances, DecimalMark mark)
    {
        decimal? running = null;
        var compared = false;
        for (var i = 0; i < amounts.Count; i++)
        {
            running += amounts[i]?.By(mark) ?? 0m;
            if (balances[i]?.By(mark) is { } balance)
            {
                if (running is { } expected && expected != balance)
                {
                    return false;
                }

                compared |= running is not null;
                running = balance;
            }
        }

        return compared;
    }

    private static Money? Exactly(WrittenAmount? amount, DecimalMark mark, string field, Currency currency) =>
        amount is null ? null : InRow(amount.Row,
            () => (Money?)currency.Exactly(NoMarkBetweenThousands(amount.By(mark), amount.Text, field, currency),
                field));

    // Elsewhere 1.200 is 1.20. On a sheet that somebody typed it may be twelve hundred, and nobody is there to ask.
    private static decimal NoMarkBetweenThousands(decimal figure, string text, string field, Currency currency) =>
        figure.Scale <= currency.Exponent ? figure
        : throw Refusal.Unfit(field, "too-many-decimals",
            $"{text} has {figure.Scale} decimals, and {currency.Code} has {currency.Exponent}: write it with at most "
                + $"{currency.Exponent}, and thousands without a mark.");

    private static Holding HoldingOf(WrittenRow row, Holding otherwise) => row.Holding switch
    {
        null => otherwise,
        _ when string.Equals(row.Holding, "cash", StringComparison.OrdinalIgnoreCase) => Holding.Cash,
        _ when string.Equals(row.Holding, "bank", StringComparison.OrdinalIgnoreCase) => Holding.Bank,
        _ => throw Refusal.Unfit("holding", "holding-unreadable",
            $"Row {row.Number} has '{row.Holding}' under holding: write cash or bank there, or leave the column out."),
    };

    /// <summary>
    /// Names the row in a refusal of something that stands in it; a day is in the column <c>date</c>.
    /// </summary>
    internal static T InRow<T>(int row, Func<T> read)
    {
        try
        {
            return read();
        }
        catch (RefusalException refused)
        {
            throw new RefusalException(refused.Refusal with
            {
                Detail = $"Row {row}: {refused.Refusal.Detail}",
                Field = refused.Refusal.Field == "occurredOn" ? "date" : refused.Refusal.Field,
            });
        }
    }

    private static string Plain(decimal amount) => amount.ToString(CultureInfo.InvariantCulture);
}
