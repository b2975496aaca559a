using CsCheck;

namespace CashEvents.Domain.Tests.Months;

/// <summary>Sheets made up by chance: without a fault all is followed, and one slip is told in its row.</summary>
public class GeneratedSheetTests
{
    private static readonly Currency _euro = Currency.Of("EUR");

    private static readonly Gen<Money> _amount =
        Gen.Select(Gen.Long[1, 50_000], Gen.Bool).Select((minor, isOut) => new Money(isOut ? -minor : minor));

    private static readonly Gen<(Money Opening, SheetRow[] Rows)> _sheet =
        Gen.Select(Gen.Long[0, 100_000], Gen.Select(_amount, Gen.Int[0, 3]).Array[2, 30], (opening, rows) =>
    {
        var balance = new Money(opening);
        var day = new DateOnly(2026, 1, 1);
        return (new Money(opening),
            rows.Select((r, i) => new SheetRow(i + 2, day = day.AddDays(r.Item2), $"Row {i % 3}", r.Item1,
                balance += r.Item1, Holding.Cash)).ToArray());
    });

    // How a pen carries an amount as another, by what the bookkeeping tests tell apart.
    private static readonly Func<Money, Money>[] _slips =
    [
        amount => -amount,
        amount => new Money(2 * amount.Minor),
        amount => new Money(10 * amount.Minor),
        amount => new Money(100 * amount.Minor),
        amount => Slip.ItemsOf(amount).Select(s => s.Item).FirstOrDefault(amount),
        amount => Slip.ItemsOf(amount).Select(s => s.Item).LastOrDefault(amount),
    ];

    private static readonly Gen<Func<Money, Money>> _slip =
        Gen.Int[0, _slips.Length - 1].Select(which => _slips[which]);

    [Fact]
    public void A_sheet_whose_balances_follow_is_written_as_it_stands() => _sheet.Sample(s =>
    {
        var import = Held(s.Opening, s.Rows, Accepted.Nothing);

        Assert.Empty(import.Findings);
        Assert.Equal(s.Rows.Select(r => r.Amount!.Value), import.New.Select(r => r.Amount));
        Assert.Equal((s.Rows[^1].Balance, s.Rows[^1].Balance), (import.SheetCloses, import.BookCloses));
    });

    [Fact]
    public void An_amount_that_slipped_is_told_in_its_row_and_its_balance_leads_back_to_it() =>
    Gen.Select(_sheet, _slip, Gen.Int[0, 29]).Sample((s, slip, at) =>
    {
        var row = s.Rows[at % s.Rows.Length];
        var carried = slip(row.Amount!.Value);
        if (Slip.Between(row.Amount.Value, carried) is not { } slipped)
        {
            return;
        }

        var sheet = s.Rows.Select(r => r == row ? r with { Amount = carried } : r).ToArray();

        var finding = Assert.Single(Held(s.Opening, sheet, Accepted.Nothing).Open);
        var mended = Held(s.Opening, sheet, Accepted.Nothing with { ByRow = [(row.Number, Reading.Balance)] });

        Assert.Equal((row.Number, slipped.Kind), (finding.Row, finding.Slip));
        Assert.Equal(row == s.Rows[0] ? FindingKind.Opening : FindingKind.Amount, finding.Kind);
        Assert.Equal(s.Rows.Select(r => r.Amount!.Value), mended.New.Select(r => r.Amount));
        Assert.Empty(mended.Open);
    });

    [Fact]
    public void A_balance_that_slipped_is_told_in_its_row_and_no_amount_changes() =>
    Gen.Select(_sheet, _slip, Gen.Int[0, 29]).Sample((s, slip, at) =>
    {
        var row = s.Rows[at % s.Rows.Length];
        var carried = slip(row.Balance!.Value);
        if (carried == row.Balance)
        {
            return;
        }

        var sheet = s.Rows.Select(r => r == row ? r with { Balance = carried } : r).ToArray();

        var finding = Assert.Single(Held(s.Opening, sheet, Accepted.Nothing).Open);
        var accepted = Held(s.Opening, sheet, Accepted.Nothing with { ByRow = [(row.Number, Reading.Amount)] });

        Assert.Equal(row.Number, finding.Row);
        Assert.Equal(s.Rows.Select(r => r.Amount!.Value), accepted.New.Select(r => r.Amount));
        Assert.Equal(s.Rows[^1].Balance, accepted.BookCloses);
    });

    [Fact]
    public void Balances_that_are_skipped_change_nothing() => Gen.Select(_sheet, Gen.Int).Sample((s, which) =>
    {
        var sheet = s.Rows.Select((r, i) => ((which >> (i % 31)) & 1) == 1 ? r with { Balance = null } : r).ToArray();

        var import = Held(s.Opening, sheet, Accepted.Nothing);

        Assert.Empty(import.Findings);
        Assert.Equal(s.Rows[^1].Balance, import.BookCloses);
    });

    [Fact]
    public void What_was_written_is_there_and_a_longer_sheet_adds_only_what_is_new() =>
    Gen.Select(_sheet, Gen.Int[0, 30]).Sample((s, first) =>
    {
        var written = s.Rows.Take(Math.Min(first, s.Rows.Length))
            .Select((r, i) => new TrackedLine(20 + i, r.Date, r.Description, r.Amount!.Value, Holding.Cash)).ToList();

        var import = SheetImport.Of(new TrackerSheet(s.Rows, []), new Tracked(50, s.Opening, written),
            bringForward: false, Accepted.Nothing, _euro);

        Assert.Empty(import.Open);
        Assert.Equal(s.Rows.Skip(written.Count).Select(r => r.Number), import.New.Select(r => r.Row.Number));
        Assert.Equal(written.Select(l => (long?)l.Line).Order(),
            import.Rows.Where(r => r.State == RowState.There).Select(r => r.Line).Order());
        Assert.Equal(s.Rows[^1].Balance, import.BookCloses);
    });

    private static SheetImport Held(Money opening, SheetRow[] rows, Accepted accepted) =>
        SheetImport.Of(new TrackerSheet(rows, []), new Tracked(1, opening, []), bringForward: false, accepted, _euro);
}
