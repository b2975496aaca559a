using System.Collections.Immutable;
using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Months;

/// <summary>Months that cannot be closed or reopened, in which words; and what a closed month's trail tells.</summary>
public class RefusedMonthsTests
{
    private static readonly Month _july = new(new DateOnly(2026, 7, 1));

    private static CloseMonth Close(Month month, string? reason = null) => new(month, null, reason);

    private static ReopenMonth Reopen(Month month, string? reason = "late") => new(month, reason);

    private static Given Closed(int months) =>
        Given([.. Enumerable.Range(0, months).Select(n => new MonthClosed(_july.Plus(n), [], ""))]);

    [Fact]
    public void A_month_that_cannot_be_closed()
    {
        Given().Refuses((Close(new Month(Sept(1))), "month-running", null,
            "2026-09 runs until 2026-09-30, and today is 2026-09-24: close it on its last day or later."));
        Closed(1).Refuses(
            (Close(_july), "month-closed", null, "2026-07 is closed already."),
            (Close(_july.Previous), "month-closed", null,
                "2026-06 lies before 2026-07, the first month that was closed, and is closed with it."),
            (Close(_july.Plus(2)), "month-out-of-order", null,
                "Months are closed one after another: close 2026-08 first."));
        var august = new DateOnly(2026, 8, 20);
        Given(Fill(Ferry, 1m, august)).Refuses((Close(_july.Next), "month-has-open-items", "reason",
            "2026-08 has something open: count the cash and settle what is listed, or send a `reason` to close it "
                + "all the same."));
        Given(Fill(Ferry, 1m, august), Fill(Van, 1m, august)).Refuses((Close(_july.Next), "month-has-open-items",
            "reason",
            "2026-08 has 2 things open: count the cash and settle what is listed, or send a `reason` to close it all "
                + "the same."));
    }

    [Fact]
    public void A_month_that_cannot_be_reopened()
    {
        Given().Refuses((Reopen(_july), "month-not-closed", null, "2026-07 is not closed."),
            (Reopen(_july, " "), "words-missing", "reason", "`reason` is needed: write a few words."));
        Closed(1).Refuses(
            (Reopen(_july.Next), "month-not-closed", null, "2026-08 is not closed: only 2026-07 is."),
            (Reopen(_july.Previous), "month-not-closed", null, "2026-06 is not closed: only 2026-07 is."));
        Closed(2).Refuses(
            (Reopen(_july.Plus(2)), "month-not-closed", null, "2026-09 is not closed: 2026-07 to 2026-08 are."),
            (Reopen(_july), "month-not-latest", null,
                "Months are reopened from the latest back: reopen 2026-08 first."));
        Closed(2).When(Reopen(_july.Next)).Then(new MonthReopened(_july.Next, "late"));
    }

    private static Trail Draw(MonthClosed? closed, params IBookEvent[] written)
    {
        var book = Given(written).Book;
        var lines = written.Select((l, i) => new BookLine(FirstLine + i, FirstLine + i,
            new DateTimeOffset(Sept(28), new TimeOnly(12, 0), TimeSpan.Zero), "keeper", l))
            .Where(l => l.Event is IDatedEvent).ToList();
        Dictionary<Part, Money> On(DateOnly day) =>
            book.Days.Keys.ToDictionary(part => part, part => book.BalanceOn(part, day));
        return Trail.Of(new Month(Sept(1)), book, On(Sept(1).AddDays(-1)), On(Sept(30)), lines, closed);
    }

    // A wallet a compartment is in today may be another than the one it was in when the month was closed.
    [Fact]
    public void A_closed_months_rows_lie_in_the_wallets_of_its_closing_and_nothing_of_it_is_open()
    {
        var closed = new MonthClosed(new Month(Sept(1)),
            [new ClosingFigure(Cash(Ferry), "strongbox", Eur(5m)), new ClosingFigure(Bank(Ferry), "strongbox",
                Money.Zero)], "");
        var trail = Draw(closed, Fill(Ferry, 5m, Sept(3)));

        Assert.Equal(["strongbox", "market-bag"],
            trail.Rows.Where(r => r.Place.Compartment is Ferry or Market).Select(r => r.Wallet));
        Assert.Empty(trail.Open);
        var open = Draw(null, Fill(Ferry, 5m, Sept(3)));
        Assert.Equal("market-bag", open.Rows[0].Wallet);
        Assert.Equal([OpenItemKind.NotCounted], open.Open.Select(o => o.Kind));
    }

    [Fact]
    public void What_the_bank_stated_and_what_was_settled_of_it_are_amounts_of_their_writer()
    {
        IBookEvent[] lines =
        [
            Fill(Van, 5m, Sept(3), Holding.Bank),
            new BankStatementRead(Eur(5m), Eur(7m), [new BankPart(Van, Eur(5m))], Sept(25), true, ""),
            new BankStatementSettled(FirstLine + 1, Van, Eur(2m), Sept(26), "interest"),
        ];

        var trail = Draw(null, lines);
        Assert.Equal([("Filled", 1, Eur(5m)), ("BankStatementRead", 1, Eur(2m)), ("BankStatementSettled", 1, Eur(2m))],
            trail.Writers.Select(w => (w.Line.GetType().Name, w.Lines, w.Amount)));
        Assert.Equal([false, false, false], trail.Lines.Select(l => l.Unsettled));
        Assert.Equal([25, 3, 2], trail.Lines.Select(l => l.DaysLate));
        Assert.Equal([false, true], Draw(null, lines[..2]).Lines.Select(l => l.Unsettled));
        var other = Draw(null, lines[0], lines[1], new BankStatementRead(Eur(5m), Eur(6m), [], Sept(27), true, ""));
        Assert.Equal([false, false, true], other.Lines.Select(l => l.Unsettled));
        Assert.False(Draw(null, lines[0], new BankStatementRead(Eur(5m), Eur(5m), [], Sept(25), true, ""))
            .Lines[1].Unsettled);
    }

    // A count that agrees, one that was settled and one that another replaced need nothing more.
    [Fact]
    public void A_count_that_disagrees_stays_unsettled_until_it_is_settled_or_taken_again()
    {
        var (fill, short1) = (Fill(Ferry, 5m, Sept(3)), Count(Ferry, 5m, 4m, Sept(5)));

        Assert.Equal([false, true], Draw(null, fill, short1).Lines.Select(l => l.Unsettled));
        Assert.Equal([false, false], Draw(null, fill, Count(Ferry, 5m, 5m, Sept(5))).Lines.Select(l => l.Unsettled));
        Assert.Equal([false, false, false],
            Draw(null, fill, short1, Settle(FirstLine + 1, Ferry, -1m, Sept(6))).Lines.Select(l => l.Unsettled));
        Assert.Equal([false, false, true],
            Draw(null, fill, short1, Count(Ferry, 5m, 3m, Sept(6))).Lines.Select(l => l.Unsettled));
    }

    // A place has a row where it had or has money, where anything moved or was said of it, or in use (cash).
    [Fact]
    public void A_place_has_a_row_where_there_is_anything_to_tell_of_it()
    {
        IEnumerable<string> Rows(params IBookEvent[] lines) => Draw(null, lines).Rows.Select(r => r.Place.ToString());
        var august = new DateOnly(2026, 8, 30);
        string[] cash = [.. new[] { Ferry, Market, Van, Boat }.Select(id => $"cash of '{id}'")];

        Assert.Equal(cash, Rows());
        Assert.Equal([.. cash[..3], "bank part of 'bakery-van'", cash[3]], Rows(Fill(Van, 1m, Sept(2), Holding.Bank)));
        Assert.Equal([.. cash[..3], "bank part of 'bakery-van'", cash[3]],
            Rows(Fill(Van, 1m, Sept(2), Holding.Bank), Spend(Van, 1m, Sept(3), Holding.Bank)));
        Assert.Equal([.. cash[..3], "bank part of 'bakery-van'", cash[3]],
            Rows(Count(Van, 0m, 0m, Sept(2), Holding.Bank)));
        Assert.Equal([.. cash[..3], "bank part of 'bakery-van'", cash[3]],
            Rows(new BankStatementRead(Money.Zero, Money.Zero, [new BankPart(Van, Money.Zero)], Sept(2), true, "")));
        Assert.Equal(cash[1..], Rows(new CompartmentClosed(Ferry)));
        Assert.Equal(cash, Rows(Fill(Ferry, 1m, august), Spend(Ferry, 1m, Sept(2)), new CompartmentClosed(Ferry)));
    }

    [Fact]
    public void A_month_closes_with_what_lies_in_cash_and_in_the_bank() =>
        Assert.Equal((Eur(7m), Eur(3m)), new MonthRow(_july, Eur(1m), ImmutableSortedDictionary<Column, Money>.Empty,
            Eur(3m), Eur(4m)) is var row ? (row.Closing, row.ClosingCash) : default);

    [Fact]
    public void Months_rows_open_with_cash_and_bank_and_close_with_what_moved()
    {
        var rows = MonthRow.Of([_july, _july.Next], new ColumnTotals(
            new Dictionary<Part, Money> { [Cash(Ferry)] = Eur(5m), [Bank(Van)] = Eur(20m) },
            [
                new(_july.First, Cash(Ferry), Column.Spent, Eur(-2m)),
                new(_july.First, Cash(Market), Column.Spent, Eur(-1m)),
                new(_july.Next.First, Bank(Van), Column.Filled, Eur(4m)),
            ]));

        Assert.Equal([(Eur(25m), Eur(2m), Eur(20m)), (Eur(22m), Eur(2m), Eur(24m))],
            rows.Select(r => (r.Opening, r.ClosingCash, r.ClosingBank)));
        Assert.Equal((Eur(-3m), Money.Zero, Eur(4m)),
            (rows[0].In(Column.Spent), rows[0].In(Column.Filled), rows[1].In(Column.Filled)));
    }
}
