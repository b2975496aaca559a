using static CashEvents.Domain.Tests.Books.HarbourRow;

namespace CashEvents.Domain.Tests.Months;

/// <summary>How a typed sheet is read, what is noted, and what is asked where there are two ways.</summary>
public class SheetReadingTests
{
    private const string YearFirst = "Dates are read year first: they can't be read another way.";

    private static WrittenRow Row(int number, string date = "2026-11-03", string amount = "1", string balance = "",
        string? holding = null, string? kind = null) => new(number, date, "Ferry", amount, balance, holding, kind);

    private static TrackerSheet Read(WrittenRow[] rows, string currency = "EUR", DateOrder? order = null,
        DecimalMark? mark = null) => TrackerSheet.Read(rows, Currency.Of(currency), Holding.Cash, order, mark);

    private static TrackerSheet Dated(DateOrder? order, params string[] dates) =>
        Read([.. dates.Select((date, i) => Row(i + 2, date))], order: order);

    private static TrackerSheet Counted(DecimalMark? mark, params (string Amount, string Balance)[] rows) =>
        Read([.. rows.Select((r, i) => Row(i + 2, amount: r.Amount, balance: r.Balance))], "KWD", mark: mark);

    private static (string, string?, string) Refused(Func<TrackerSheet> read)
    {
        var refusal = Assert.Throws<RefusalException>(read).Refusal;
        return (refusal.Code, refusal.Field, refusal.Detail);
    }

    [Fact]
    public void A_row_says_day_words_amount_balance_and_where_the_money_lies()
    {
        var sheet = Read([Row(2, amount: "-8.40", balance: "31.60", holding: "BANK", kind: "Refund"),
            Row(4, "2026-11-05", "2", holding: "Cash", kind: "spend")]);

        Assert.Equal(
            [
                new SheetRow(2, new DateOnly(2026, 11, 3), "Ferry", Eur(-8.40m), Eur(31.60m), Holding.Bank, true),
                new SheetRow(4, new DateOnly(2026, 11, 5), "Ferry", Eur(2m), null, Holding.Cash, false),
            ], sheet.Rows);
        Assert.Equal((new DateOnly(2026, 11, 3), new DateOnly(2026, 11, 5), Eur(40m)),
            (sheet.First, sheet.Last, sheet.Opening));
    }

    // Back from the first balance that is written: 10.00 less 2.00, less 3.00.
    [Fact]
    public void A_sheet_begins_with_what_its_first_balance_leads_back_to()
    {
        Assert.Equal(Eur(5m), Read([Row(2, amount: "3"), Row(3, amount: "2", balance: "10"), Row(4, amount: "9",
            balance: "1")]).Opening);
        Assert.Equal(Eur(10m), Read([Row(2, amount: "", balance: "10")]).Opening);
        Assert.Null(Read([Row(2)]).Opening);
    }

    [Fact]
    public void A_sheet_has_rows_and_not_too_many()
    {
        Assert.Equal(("sheet-length", "csv",
            "The sheet has no rows: below its heading stands one row for each movement."), Refused(() => Read([])));
        Assert.Equal(("sheet-length", "csv",
            "The sheet has more than 10000 rows, blank ones among them, and no more are taken at once: send it in "
                + "parts, the earliest first."),
            Refused(() => Read([.. Enumerable.Range(2, 10_001).Select(n => Row(n))])));
        Assert.Equal(10_000, Read([.. Enumerable.Range(2, 10_000).Select(n => Row(n))]).Rows.Count);
    }

    [Fact]
    public void What_a_row_lacks_or_says_wrong_is_told_with_its_number()
    {
        Assert.Equal(("amount-missing", "amount",
            "Row 3 has neither an amount nor a balance: write what was paid or came in, out with a minus before it."),
            Refused(() => Read([Row(2), Row(3, amount: "")])));
        Assert.Equal(("amount-missing", "amount",
            "Rows 3 and 4 have neither an amount nor a balance: write what was paid or came in, out with a minus "
                + "before it."), Refused(() => Read([Row(2), Row(3, amount: ""), Row(4, amount: "")])));
        Assert.Equal(("holding-unreadable", "holding",
            "Row 2 has 'purse' under holding: write cash or bank there, or leave the column out."),
            Refused(() => Read([Row(2, holding: "purse")])));
        Assert.Equal(("words-unprintable", "description",
            "Row 7: `description` has a character that does not print (at position 2): write it on one line of plain "
                + "text."), Refused(() => Read([Row(7) with { Description = "a\nb" }])));
        Assert.Equal(("amount-too-large", "amount", "Row 2: One line carries at most 9999999999.99 EUR."),
            Refused(() => Read([Row(2, amount: "10000000000.00")])));
        Assert.Equal(("too-many-decimals", "balance",
            "Row 2: 8.405 has 3 decimals, and EUR has 2: write it with at most 2, and thousands without a mark."),
            Refused(() => Read([Row(2, balance: "8.405", amount: "1.00")], mark: DecimalMark.Point)));
    }

    [Fact]
    public void Amounts_that_cannot_be_read_are_told_with_their_rows()
    {
        Assert.Equal(("amount-unreadable", "amount",
            "The amount of row 2, 'ten', is no amount: write it in figures, like -8.40."),
            Refused(() => Read([Row(2, amount: "ten")])));
        Assert.Equal(("balance-unreadable", "balance",
            "The balance of row 2, '8.40 USD', has 'USD' in it, and the book is kept in EUR: write the amount alone. "
                + "So it is with '$9' in row 3 and '$8' in row 4."),
            Refused(() => Read([Row(2, balance: "8.40 USD"), Row(3, balance: "$9"), Row(4, balance: "$8")])));
        Assert.Equal(("amount-unreadable", "amount",
            "The amount of row 2, '8 40', has spaces that do not stand between thousands: write it like -1234.50."),
            Refused(() => Read([Row(2, amount: "8 40")])));
        Assert.Equal(("amount-unreadable", "amount",
            "The amount of row 2, '1,23,456', has marks that stand neither between thousands nor before decimals: "
                + "write it like -1234.50."), Refused(() => Read([Row(2, amount: "1,23,456")])));
    }

    // Ten cells are named, the rest counted.
    [Fact]
    public void Of_many_rows_ten_are_named()
    {
        Assert.Equal("Rows 2, 3, 4, 5, 6, 7, 8, 9, 10, 11 and 2 more have no date: write one in each, also where it "
            + "is that of the row above.", Refused(() => Dated(null, [.. Enumerable.Repeat("", 12)])).Item3);
        Assert.Equal("Rows 2, 3, 4, 5, 6, 7, 8, 9, 10 and 11 have no date: write one in each, also where it is that "
            + "of the row above.", Refused(() => Dated(null, [.. Enumerable.Repeat("", 10)])).Item3);
    }

    [Fact]
    public void Dates_that_cannot_be_read_are_told_with_their_rows()
    {
        Assert.Equal(("date-unreadable", "date",
            "Row 3 has no date: write one in each, also where it is that of the row above."),
            Refused(() => Dated(null, "2026-11-03", "")));
        Assert.Equal(("date-unreadable", "date",
            "'3 Nov' in row 2 can't be read as a date: write it in figures with the year, like 2026-11-03 or "
                + "3/11/2026."), Refused(() => Dated(null, "3 Nov")));
        Assert.Equal("'11/30/2026' in row 2 can't be read as a date day first: write it in figures with the year, "
            + "like 2026-11-03 or 3/11/2026.", Refused(() => Dated(DateOrder.DayFirst, "11/30/2026")).Item3);
        Assert.Equal("'30/11/2026' in row 2 can't be read as a date month first: write it in figures with the year, "
            + "like 2026-11-03 or 3/11/2026.", Refused(() => Dated(DateOrder.MonthFirst, "30/11/2026")).Item3);
        Assert.Equal("'30/11/2026' in row 2 can't be read as a date year first: write it in figures with the year, "
            + "like 2026-11-03 or 3/11/2026.", Refused(() => Dated(DateOrder.YearFirst, "30/11/2026")).Item3);
        Assert.Equal(("dates-mixed", "date",
            "The dates are written in several orders: no one order fits '11/30/2026' in row 3 and '30/11/2026' in "
                + "row 2. Write all of them in one order, best like 2026-11-03."),
            Refused(() => Dated(null, "30/11/2026", "11/30/2026")));
    }

    [Fact]
    public void Dates_that_can_be_read_in_several_orders_are_asked_about()
    {
        Assert.Equal(("date-order-unclear", "dateOrder",
            "Row 3 says 3/11/2026: that is 2026-11-03 when read day first, 2026-03-11 when read month first. Rows 3 "
                + "and 4 can be read in several ways, and no other date of the sheet settles it: send "
                + "dateOrder=dayFirst or monthFirst."),
            Refused(() => Dated(null, "4/4/2026", "3/11/2026", "3/12/2026")));
        Assert.Equal("Row 2 says 03-04-05: that is 2005-04-03 when read day first, 2005-03-04 when read month first, "
            + "2003-04-05 when read year first. Row 2 can be read in several ways, and no other date of the sheet "
            + "settles it: send dateOrder=dayFirst or monthFirst or yearFirst.",
            Refused(() => Dated(null, "03-04-05")).Item3);
    }

    [Theory]
    [InlineData(null, "30/11/2026", "Dates are read day first: 30/11/2026 in row 2 can't be read another way.")]
    [InlineData(null, "11/30/2026", "Dates are read month first: 11/30/2026 in row 2 can't be read another way.")]
    [InlineData(null, "2026-11-30", YearFirst)]
    [InlineData(DateOrder.DayFirst, "2026-11-30", YearFirst)]
    [InlineData(DateOrder.MonthFirst, "3/11/2026", "Dates are read month first, as asked.")]
    [InlineData(null, "4/4/2026", "Dates are read day first: read another way they would be the same days, or none.")]
    public void What_the_order_of_dates_was_read_from_is_noted(DateOrder? said, string date, string note) =>
        Assert.Equal([note], Dated(said, date).Notes);

    // Of one- and two-figure years and of days and months, the first and the last that there are.
    [Theory]
    [InlineData("29.2.24", 2024, 2, 29)]
    [InlineData("31/1/2026", 2026, 1, 31)]
    [InlineData("31-12-99", 2099, 12, 31)]
    [InlineData("13-1-0100", 100, 1, 13)]
    public void A_day_first_date_is_read(string written, int year, int month, int day) =>
        Assert.Equal(new DateOnly(year, month, day), Dated(DateOrder.DayFirst, written).Rows[0].Date);

    [Theory]
    [InlineData("29.2.25")]
    [InlineData("0/1/2026")]
    [InlineData("32/1/2026")]
    [InlineData("1/13/2026")]
    [InlineData("1/0/2026")]
    [InlineData("1/1/226")]
    [InlineData("1/1/6")]
    [InlineData("123/1/2026")]
    [InlineData("1-1/2026")]
    public void A_day_that_there_is_not_is_not_read(string written) =>
        Assert.Equal("date-unreadable", Refused(() => Dated(DateOrder.DayFirst, written)).Item1);

    [Fact]
    public void A_year_of_two_figures_is_noted()
    {
        const string note = "Years of two figures are read as 20..: 26 is 2026.";

        Assert.Equal(["Dates are read day first: 30/11/32 in row 2 can't be read another way.", note],
            Dated(null, "30/11/32", "2026-11-30").Notes);
        Assert.Equal(note, Dated(DateOrder.YearFirst, "26-11-30").Notes[^1]);
        Assert.Equal(["Dates are read day first, as asked.", note], Dated(DateOrder.DayFirst, "03-04-05").Notes);
    }

    // The dinar has three decimals, so that 1.234 is either one and a bit or a thousand and more.
    [Fact]
    public void A_mark_that_can_be_read_in_two_ways_is_asked_about_unless_something_settles_it()
    {
        Assert.Equal(("decimal-mark-unclear", "decimalMark",
            "'1.234' in row 2 can be read in two ways: 1.234 is 1.234 with the point as decimal mark, 1234 with the "
                + "comma. Nothing else on the sheet settles it: send decimalMark=point or comma."),
            Refused(() => Counted(null, ("1.234", ""))));
        Assert.Equal([YearFirst, "The point is the decimal mark, as asked."],
            Counted(DecimalMark.Point, ("1.234", "")).Notes);
        Assert.Equal([YearFirst, "The comma is the decimal mark, as asked."],
            Counted(DecimalMark.Comma, ("1.234", "")).Notes);
        Assert.Equal([YearFirst, "The point is the decimal mark: 1.25 in row 3 can't be read another way, so 1.234 "
            + "in row 2 is 1.234."], Counted(null, ("1.234", ""), ("1.25", "")).Notes);
        Assert.Equal([YearFirst, "The comma is the decimal mark: 1,25 in row 3 can't be read another way, so 1.234 "
            + "in row 2 is 1234."], Counted(null, ("1.234", ""), ("1,25", "")).Notes);
        Assert.Equal([YearFirst, "The comma is the decimal mark: 1,25 in row 2 can't be read another way."],
            Counted(null, ("1,25", "")).Notes);
        Assert.Equal([YearFirst], Counted(null, ("1.25", "")).Notes);
        Assert.Equal([YearFirst, "The point is the decimal mark, and the comma in '1,5' in row 4: none of these can "
            + "be read another way."], Counted(null, ("1.25", ""), ("1.5", ""), ("1,5", "")).Notes);
        Assert.Equal([YearFirst, "The comma is the decimal mark, and the point in '1.5' in row 2: none of these can "
            + "be read another way."], Counted(null, ("1.5", ""), ("1,5", ""), ("1,25", "")).Notes);
    }

    [Fact]
    public void Balances_that_follow_by_one_mark_alone_settle_it()
    {
        Assert.Equal([YearFirst, "The point is the decimal mark: every balance follows from the one before when "
            + "1.234 in row 3 is 1.234, and not when it is 1234."],
            Counted(null, ("", "5"), ("1.234", "6.234")).Notes.Select(n => n));
        Assert.Equal([YearFirst, "The comma is the decimal mark: every balance follows from the one before when "
            + "1.234 in row 3 is 1234, and not when it is 1.234."],
            Counted(null, ("", "5"), ("1.234", "1239")).Notes);
        Assert.Equal("decimal-mark-unclear", Refused(() => Counted(null, ("", "5"), ("1.234", "7"))).Item1);
        Assert.Equal("decimal-mark-unclear", Refused(() => Counted(null, ("1.234", "5"))).Item1);
    }
}
