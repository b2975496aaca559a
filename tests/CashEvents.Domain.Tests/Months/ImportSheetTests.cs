using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Months;

/// <summary>A sheet taken into the book: what it writes, what it asks, what it says of rows.</summary>
public class ImportSheetTests
{
    private static SheetRow Row(int number, int day, decimal? amount, decimal? balance = null,
        string words = "Ferry", bool isRefund = false, Holding holding = Holding.Cash) =>
        new(number, Sept(day), words, amount is { } a ? Eur(a) : null, balance is { } b ? Eur(b) : null, holding,
            isRefund);

    private static TrackedLine Line(long line, int day, decimal amount, string words = "Ferry") =>
        new(line, Sept(day), words, Eur(amount), Holding.Cash);

    private static ImportSheet Import(Given given, SheetRow[] rows, bool bringForward = false,
        Accepted? accepted = null, decimal opening = 0m, params TrackedLine[] known) =>
        new(Ferry, Holding.Cash, new TrackerSheet(rows, []), new Tracked(given.Book.Line, Eur(opening), known),
            bringForward, accepted ?? Accepted.Nothing);

    private static SheetImport Look(SheetRow[] rows, decimal opening = 0m, Accepted? accepted = null,
        params TrackedLine[] known) => SheetImport.Of(new TrackerSheet(rows, ["noted"]),
            new Tracked(9, Eur(opening), known), bringForward: false, accepted ?? Accepted.Nothing,
            Currency.Of("EUR"));

    private static Finding One(SheetRow[] rows, decimal opening = 0m) =>
        Assert.Single(Look(rows, opening).Findings);

    private static Accepted All(params Reading[] readings) => new([.. readings], []);

    private static Spent Paid(int day, decimal amount) => Spend(Ferry, amount, Sept(day), description: "Ferry");

    [Fact]
    public void Rows_become_fills_spends_and_refunds_by_their_days()
    {
        var given = Given();

        given.When(Import(given, [Row(2, 1, 20m), Row(3, 3, -8.40m), Row(4, 2, 3m, isRefund: true)],
            accepted: All(Reading.Date))).Then(
            new Filled(Ferry, Holding.Cash, Eur(20m), Sept(1), "Ferry"),
            new Refunded(Ferry, Holding.Cash, Eur(3m), Sept(2), "Ferry"), Paid(3, 8.40m));
    }

    [Fact]
    public void What_the_sheet_begins_with_is_brought_forward_where_that_is_asked()
    {
        var given = Given();

        given.When(Import(given, [Row(2, 3, -8m, 12m)], bringForward: true)).Then(
            new Filled(Ferry, Holding.Cash, Eur(20m), Sept(3), "Brought forward"), Paid(3, 8m));
        var known = Given(Fill(Ferry, 20m, Sept(1)));
        known.When(Import(known, [Row(2, 3, -8m, 12m)], bringForward: true, opening: 20m)).Then(Paid(3, 8m));
    }

    [Fact]
    public void Money_that_somebody_carries_is_taken_from_what_they_carry()
    {
        var given = Given(Fill(Ferry, 20m, Sept(1)), new HandedOver(Ferry, "partner", Eur(15m), Sept(2), ""));
        var spent = Row(2, 3, -12m);

        given.When(Import(given, [spent], opening: 20m)).ThenRefused("carried-by-another", "carried");
        given.When(Import(given, [spent, Row(3, 3, 2m, isRefund: true)], opening: 20m).SignedBy("partner")).Then(
            Paid(3, 12m) with { Carried = new CarriedChange(FirstLine + 1, Eur(-12m)) },
            new Refunded(Ferry, Holding.Cash, Eur(2m), Sept(3), "Ferry")
            { Carried = new CarriedChange(FirstLine + 1, Eur(2m)) });
    }

    [Fact]
    public void A_sheet_that_cannot_be_taken()
    {
        var given = Given(Fill(Ferry, 5m, Sept(1)));
        SheetRow[] broken = [Row(2, 2, 1m, 6m), Row(3, 3, 1m, 9m), Row(4, 4, 1m, 20m), Row(5, 5, 1m, 50m)];
        var begins = Row(2, 2, 1m, 3m);

        given.Refuses(
            (Import(given, [Row(2, 2, 1m)]) with { Known = new Tracked(3, Money.Zero, []) }, "book-moved-on", null,
                $"The book stands at line {given.Book.Line}, not 3: read it again, then decide."),
            (Import(given, [Row(2, 2, 1m)]) with { Compartment = "fery" }, "compartment-unknown", "compartment",
                "There is no compartment 'fery'. <ListCompartments> lists them."),
            (Import(given, [Row(2, 2, -6m)], opening: 5m), "not-enough", "csv",
                "With this sheet the cash of 'ferry-fares' would close 2026-09-02 at -1.00 EUR: 1.00 EUR is missing. "
                    + "No other compartment could give it."),
            (Import(given, [Row(2, 25, 1m)]), "after-today", "date",
                "Row 2: 2026-09-25 is after the household's today, 2026-09-24: write what has happened, on the day "
                    + "it did."),
            (Import(given, [Row(2, 25, 1m, 4m)], bringForward: true), "after-today", "date",
                "Row 2: 2026-09-25 is after the household's today, 2026-09-24: write what has happened, on the day "
                    + "it did."),
            (Import(given, broken[..2], opening: 5m), "sheet-does-not-fit", "accept",
                "Row 3 says 1.00 EUR, and the balance goes from 6.00 EUR to 9.00 EUR, which is 3.00 EUR for this "
                    + "row: a row of 2.00 EUR may have been left out before it, or the balance was added up wrong. "
                    + "Nothing is written: mend the sheet, or say in `accept` what is right in each such row, and "
                    + "send it again."),
            (Import(given, broken[..3], opening: 5m), "sheet-does-not-fit", "accept",
                "Row 3 says 1.00 EUR, and the balance goes from 6.00 EUR to 9.00 EUR, which is 3.00 EUR for this "
                    + "row: a row of 2.00 EUR may have been left out before it, or the balance was added up wrong. "
                    + "1 more place does not fit. Nothing is written: mend the sheet, or say in `accept` what is "
                    + "right in each such row, and send it again."),
            (Import(given, broken, opening: 5m), "sheet-does-not-fit", "accept",
                "Row 3 says 1.00 EUR, and the balance goes from 6.00 EUR to 9.00 EUR, which is 3.00 EUR for this "
                    + "row: a row of 2.00 EUR may have been left out before it, or the balance was added up wrong. "
                    + "2 more places do not fit. Nothing is written: mend the sheet, or say in `accept` what is "
                    + "right in each such row, and send it again."),
            (Import(given, [Row(2, 2, 1m)], bringForward: true), "opening-unknown", "opening",
                "No balance is written on the sheet, so it does not say what was brought forward: write the balance "
                    + "of its first row."),
            (Import(given, [begins], bringForward: true, opening: 5m), "opening-below-book", "opening",
                "The sheet begins with 2.00 EUR and the book has 5.00 EUR there: nothing can be brought forward. Put "
                    + "the book right first, or leave `opening` out."));
    }

    [Fact]
    public void An_amount_that_its_balance_does_not_follow_is_told_with_its_likeliest_slip()
    {
        string Says(decimal amount, decimal balance, decimal opening = 100m) =>
            One([Row(2, 1, 1m, opening + 1m), Row(3, 2, amount, opening + 1m + balance), Row(4, 3, 1m,
                opening + 2m + balance)], opening).Says;

        Assert.Equal("Row 3 says 12.00 EUR, and the balance goes from 101.00 EUR to 122.00 EUR, which is 21.00 EUR "
            + "for this row: two figures of the amount may have changed places.", Says(12m, 21m));
        Assert.EndsWith("which is 1.20 EUR for this row: the point of the amount may have slid.", Says(12m, 1.20m));
        Assert.EndsWith("for this row: the amount may lack its minus, or have one too many.", Says(12m, -12m));
        Assert.EndsWith("which is 6.00 EUR for this row: the amount may have been doubled.", Says(12m, 6m));
        Assert.EndsWith("which is 12.00 EUR for this row: the amount was left out.", Says(0m, 12m));
        Assert.EndsWith("which is 0.00 EUR for this row: the row was not added to the balance, or should not be on "
            + "the sheet.", Says(12m, 0m));
        Assert.EndsWith("which is 24.00 EUR for this row: it may have been added twice, or a second row of the same "
            + "amount was left out.", Says(12m, 24m));
    }

    [Fact]
    public void A_row_that_stands_twice_and_one_without_an_amount_are_told()
    {
        Assert.EndsWith("for this row: the row may stand on the sheet twice.",
            One([Row(2, 1, 5m, 5m), Row(3, 1, 5m, 5m), Row(4, 2, 1m, 6m)]).Says);
        Assert.EndsWith("or should not be on the sheet.",
            One([Row(2, 1, 5m, 5m), Row(3, 1, 5m, 5m, words: "Bus"), Row(4, 2, 1m, 6m)]).Says);
        var bare = One([Row(2, 1, 5m, 5m), Row(3, 2, null, 8m), Row(4, 3, 1m, 9m)]);
        Assert.StartsWith("Row 3 has no amount, and the balance goes from 5.00 EUR to 8.00 EUR, which is 3.00 EUR",
            bare.Says);
        Assert.Equal([Reading.Balance], bare.Readings);
        Assert.Equal((null, Eur(3m)), (bare.Stands, bare.Follows));
    }

    // Where balances were skipped, the slip may be in any row since the last.
    [Fact]
    public void A_slip_in_a_row_without_a_balance_is_found_over_the_rows_to_the_next()
    {
        var finding = One([Row(2, 1, 5m, 5m), Row(3, 2, 12m), Row(4, 3, 4m, 30m), Row(5, 4, 1m, 31m)]);

        Assert.Equal("Row 3 says 12.00 EUR, and the balance goes from 5.00 EUR to 30.00 EUR over rows 3 to 4, which "
            + "is 21.00 EUR for this row: two figures of the amount may have changed places.", finding.Says);
        Assert.Equal((FindingKind.Amount, Eur(12m), Eur(21m), Eur(21m), SlipKind.Transposition, Reading.Balance),
            (finding.Kind, finding.Stands, finding.Follows, finding.Leads, finding.Slip, finding.Likely));
        Assert.Equal([Reading.Balance, Reading.Amount], finding.Readings);
    }

    [Fact]
    public void A_balance_that_alone_is_wrong_is_told_and_the_next_goes_on_without_it()
    {
        var finding = One([Row(2, 1, 5m, 5m), Row(3, 2, 7m, 21m), Row(4, 3, 1m), Row(5, 4, 1m, 14m)]);

        Assert.Equal("Row 3 has the balance 21.00 EUR, and 12.00 EUR follows, and the next balance goes on from that: "
            + "this one alone is wrong; two figures of the balance may have changed places.", finding.Says);
        Assert.Equal((FindingKind.Balance, Eur(21m), Eur(12m), null, Reading.Amount),
            (finding.Kind, finding.Stands, finding.Follows, finding.Leads, finding.Likely));
        var last = One([Row(2, 1, 5m, 5m), Row(3, 2, 7m, 21m)]);
        Assert.Equal("Row 3 has the balance 21.00 EUR, and 12.00 EUR follows; two figures of the balance may have "
            + "changed places.", last.Says);
        Assert.Equal(Eur(16m), last.Leads);
        Assert.Equal([Reading.Amount, Reading.Balance], last.Readings);
    }

    [Fact]
    public void A_sheet_that_does_not_begin_as_the_book_ends_is_told()
    {
        var more = One([Row(2, 2, 1m, 9m)], opening: 5m);
        Assert.Equal("The sheet begins with 8.00 EUR before row 2, and the book has 5.00 EUR there: money may have "
            + "been brought forward that the book does not know (opening=broughtForward fills 3.00 EUR).", more.Says);
        Assert.Equal((FindingKind.Opening, Eur(8m), Eur(5m), null, null),
            (more.Kind, more.Stands, more.Follows, more.Leads, more.Slip));
        Assert.Equal([Reading.Amount], more.Readings);

        Assert.EndsWith(": the book has lines that are not on the sheet, or the sheet lacks a fill.",
            One([Row(2, 2, 1m, 3m)], opening: 5m).Says);
        var slip = One([Row(2, 2, 12m, 26m)], opening: 5m);
        Assert.EndsWith("(opening=broughtForward fills 9.00 EUR); or two figures of the amount may have changed "
            + "places, and 21.00 EUR belongs in row 2.", slip.Says);
        Assert.Equal((Eur(21m), SlipKind.Transposition), (slip.Leads, slip.Slip));
        Assert.Equal([Reading.Amount, Reading.Balance], slip.Readings);
    }

    [Fact]
    public void Rows_that_changed_places_are_read_as_their_balances_follow()
    {
        var import = Look([Row(2, 1, 5m, 5m), Row(3, 2, 2m, 10m), Row(4, 2, 3m, 8m), Row(5, 3, 1m, 11m)]);

        Assert.Empty(import.Findings);
        Assert.Equal([2, 4, 3, 5], import.Rows.Select(r => r.Row.Number));
        Assert.Equal(["noted", "Rows 3 and 4 changed places: the balances follow when row 4 is read before row 3, "
            + "and so they are."], import.Notes);
        // The first row of the sheet may be one of them; the sheet begins as the book does.
        var first = Look([Row(2, 2, 2m, 10m), Row(3, 2, 3m, 8m), Row(4, 3, 1m, 11m)], opening: 5m);
        Assert.Empty(first.Findings);
        Assert.Equal([3, 2, 4], first.Rows.Select(r => r.Row.Number));
    }

    [Fact]
    public void Rows_without_a_balance_and_balances_without_an_amount_are_noted()
    {
        Assert.Equal(["noted", "Row 3 has no balance: the balances are followed from the one before to the one "
            + "after."], Look([Row(2, 1, 5m, 5m), Row(3, 2, 1m), Row(4, 3, 1m, 7m)]).Notes);
        Assert.Equal(["noted", "Rows 2 and 3 have no balance: nothing can be compared on this sheet."],
            Look([Row(2, 1, 5m), Row(3, 2, 1m)]).Notes);
        var bare = Look([Row(2, 1, 5m, 5m), Row(3, 2, null, 5m)]);
        Assert.Equal(["noted", "Row 3 says a balance and no amount, and the balance follows: nothing is written for "
            + "it."], bare.Notes);
        Assert.Equal(RowState.Nothing, bare.Rows[1].State);
    }

    [Fact]
    public void A_row_below_a_later_day_is_asked_about()
    {
        var finding = One([Row(2, 5, 5m, 5m), Row(3, 4, 1m, 6m), Row(4, 4, 1m, 7m)]);

        Assert.Equal((3, FindingKind.Date, "Row 3 of 2026-09-04 stands below row 2 of 2026-09-05: it was written "
            + "late, or one of the two dates is wrong."), (finding.Row, finding.Kind, finding.Says));
        Assert.Equal([Reading.Date], finding.Readings);
    }

    // The sheet's first day may have lines that stood on the page before.
    [Fact]
    public void A_row_that_may_be_in_the_book_already_is_asked_about()
    {
        var other = Assert.Single(Look([Row(2, 2, -4m, 6m)], 10m, null, Line(8, 2, -4m, "Boat")).Findings);
        Assert.Equal("Row 2 is -4.00 EUR on 2026-09-02, 'Ferry', and line 8 of the book is the same in other words, "
            + "'Boat': it may be in the book already.", other.Says);
        Assert.Equal((FindingKind.PerhapsThere, Eur(-4m), 8L), (other.Kind, other.Stands, other.Line));
        Assert.Equal([Reading.There, Reading.New], other.Readings);

        var above = Assert.Single(Look([Row(2, 2, -4m, 2m)], 10m, null, Line(8, 2, -4m)).Findings);
        Assert.Equal("Row 2 is -4.00 EUR on 2026-09-02, 'Ferry', and line 8 of the book is the same above the place "
            + "where this sheet begins: it may be in the book already.", above.Says);
    }

    [Fact]
    public void What_may_be_there_is_there_or_new_as_it_is_said()
    {
        SheetRow[] sheet = [Row(2, 2, -4m, 6m)];
        var line = Line(8, 2, -4m, "Boat");

        Assert.Equal((RowState.Open, null), State(Look(sheet, 10m, null, line)));
        var there = Look(sheet, 10m, All(Reading.There), line);
        Assert.Equal((RowState.There, 8L), State(there));
        Assert.Empty(there.NotOnSheet);
        Assert.Equal((Eur(6m), Eur(6m)), (there.SheetCloses, there.BookCloses));
        var isNew = Look(sheet, 10m, new Accepted([], [(2, Reading.New)]), line);
        Assert.Equal((RowState.New, null), State(isNew));
        Assert.Equal([8L], isNew.NotOnSheet.Select(l => l.Line));
        Assert.Equal(Eur(2m), isNew.BookCloses);
        // What is said of one row goes before what is said of all.
        Assert.Equal((RowState.New, null),
            State(Look(sheet, 10m, new Accepted([Reading.There], [(2, Reading.New)]), line)));
        // A line that is reversed, and the reversal, are no row's.
        Assert.Empty(Look(sheet, 10m, null, line with { ReversedBy = 9 }).Findings);
        Assert.Empty(Look(sheet, 10m, null, line with { Reverses = true }).Findings);
    }

    private static (RowState, long?) State(SheetImport import) => (import.Rows[0].State, import.Rows[0].Line);

    [Fact]
    public void Lines_of_an_earlier_page_on_the_first_day_come_before_the_sheet()
    {
        var import = Look([Row(2, 2, -3m, 4m)], 10m, null, Line(7, 2, -2m, "Bus"), Line(8, 2, -1m, "Tea"));

        Assert.Empty(import.Findings);
        Assert.Equal(RowState.New, import.Rows[0].State);
        // Without a balance, up to the first that may be on the sheet: here a slip of its row.
        var unsaid = Look([Row(2, 2, -21m)], 90m, null, Line(7, 2, -2m, "Bus"), Line(8, 2, -12m));
        Assert.Equal([8L], unsaid.NotOnSheet.Select(l => l.Line));
    }
}
