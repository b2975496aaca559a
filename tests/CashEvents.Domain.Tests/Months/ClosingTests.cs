using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Months;

public class ClosingTests
{
    private static readonly Month August = Month.Read("2026-08")!.Value;
    private static readonly Month September = August.Next;
    private static readonly Month October = September.Next;
    private static readonly DateOnly FirstOfOctober = new(2026, 10, 1);

    private static CloseMonth Close(Month? month = null, string? reason = null, RecordSweep? sweep = null) =>
        new(month ?? September, sweep, reason);

    private static MonthClosed Closed(Month month, string reason = "",
        params (string Compartment, decimal Cash)[] cash) => new(
        month,
        [
            .. new[] { (Ferry, "market-bag"), (Market, "market-bag"), (Van, "strongbox"),
                (Boat, "strongbox") }.SelectMany(c => new[]
            {
                new ClosingFigure(Cash(c.Item1), c.Item2,
                    Eur(cash.SingleOrDefault(x => x.Compartment == c.Item1).Cash)),
                new ClosingFigure(Bank(c.Item1), c.Item2, Money.Zero),
            }),
        ],
        reason);

    private static Given Counted(params IBookEvent[] more) =>
        Given([Fill(Ferry, 40m, Sept(2)), Spend(Ferry, 15m, Sept(20)), Count(Ferry, 25m, 25m, Sept(30)), .. more]);

    [Fact]
    public void A_month_whose_cash_is_counted_is_closed_with_what_each_place_held()
    {
        var asked = Counted().When(Close(), today: FirstOfOctober);

        var closed = asked.Then(Closed(September, cash: (Ferry, 25m)));
        Assert.Equal(new ClosedMonths(September, September), closed.Book.ClosedMonths);
    }

    [Fact]
    public void The_figures_are_those_of_the_month_s_last_day() =>
        Counted(Fill(Ferry, 60m, FirstOfOctober)).When(Close(), today: FirstOfOctober)
            .Then(Closed(September, cash: (Ferry, 25m)));

    [Fact]
    public void A_month_may_be_closed_on_its_last_day_and_not_before()
    {
        Counted().When(Close(), today: Sept(30)).Then(Closed(September, cash: (Ferry, 25m)));

        Assert.Contains("2026-09-30", Counted().When(Close(), today: Sept(29)).ThenRefused("month-running").Detail);
    }

    [Fact]
    public void Cash_that_moved_and_was_not_counted_since_keeps_the_month_open()
    {
        var refusal = Given(Fill(Ferry, 40m, Sept(2)), Count(Ferry, 40m, 40m, Sept(3)), Spend(Ferry, 15m, Sept(20)),
            Fill(Boat, 9m, Sept(1), Holding.Bank))
            .When(Close(), today: FirstOfOctober).ThenRefused("month-has-open-items", "reason");

        Assert.Equal([new OpenItem(OpenItemKind.NotCounted, Cash(Ferry), Sept(20))], refusal.OpenItems);
    }

    [Fact]
    public void A_line_of_the_count_s_own_day_that_was_written_after_it_is_not_counted() =>
        Given(Fill(Ferry, 40m, Sept(2)), Count(Ferry, 40m, 40m, Sept(20)), Spend(Ferry, 15m, Sept(20)))
            .When(Close(), today: FirstOfOctober).ThenRefused("month-has-open-items", "reason");

    [Fact]
    public void A_count_after_the_month_s_end_counts_too() =>
        Given(Fill(Ferry, 40m, Sept(2)), Spend(Ferry, 5m, FirstOfOctober), Count(Ferry, 35m, 35m, FirstOfOctober))
            .When(Close(), today: FirstOfOctober).Then(Closed(September, cash: (Ferry, 40m)));

    [Fact]
    public void A_count_that_expected_a_correction_of_an_earlier_month_has_counted_cash_that_is_posted_later()
    {
        var wrong = Spend(Ferry, 5m, new DateOnly(2026, 8, 20));
        var undone = Reversed(FirstLine + 1, wrong, on: FirstOfOctober, closedDay: wrong.OccurredOn);
        IBookEvent[] lines = [Fill(Ferry, 40m, new DateOnly(2026, 8, 1)), wrong, Spend(Ferry, 1m, Sept(2))];

        Given([.. lines, undone, Count(Ferry, 39m, 39m, Sept(30))]).When(Close(), today: FirstOfOctober)
            .Then(Closed(September, cash: (Ferry, 34m)));
        Given([.. lines, Count(Ferry, 34m, 39m, Sept(30)), undone]).When(Close(), today: FirstOfOctober)
            .Then(Closed(September, cash: (Ferry, 34m)));
    }

    [Fact]
    public void A_count_that_a_correction_of_an_earlier_month_explains_on_a_later_day_has_counted_the_cash()
    {
        // Four were short on the 28th; on the 29th it turns out that August's spend of 1.00 had been one of 5.00.
        var wrong = Spend(Ferry, 1m, new DateOnly(2026, 8, 20));
        var reversed = Reversed(FirstLine + 1, wrong, on: Sept(29), closedDay: wrong.OccurredOn);
        var right = Spend(Ferry, 5m, Sept(29)) with { Corrects = new Correction(FirstLine + 1, wrong.OccurredOn) };

        Given(Fill(Ferry, 40m, new DateOnly(2026, 8, 1)), wrong, Spend(Ferry, 2m, Sept(2)),
            Count(Ferry, 37m, 33m, Sept(28)), reversed, right)
            .When(Close(), today: FirstOfOctober).Then(Closed(September, cash: (Ferry, 33m)));
    }

    [Fact]
    public void A_count_that_is_settled_after_the_month_s_end_has_counted_the_cash() =>
        Given(Fill(Ferry, 40m, Sept(2)), Count(Ferry, 40m, 38m, Sept(30)),
            Settle(FirstLine + 1, Ferry, -2m, FirstOfOctober)).When(Close(), today: FirstOfOctober)
            .Then(Closed(September, cash: (Ferry, 40m)));

    [Fact]
    public void Cash_that_went_and_came_back_after_a_settled_count_is_not_counted()
    {
        var refusal = Given(Fill(Ferry, 40m, Sept(2)), Count(Ferry, 40m, 38m, Sept(20)),
            Settle(FirstLine + 1, Ferry, -2m, Sept(20)), Spend(Ferry, 5m, Sept(25)), Fill(Ferry, 5m, Sept(26)))
            .When(Close(), today: FirstOfOctober).ThenRefused("month-has-open-items", "reason");

        Assert.Equal([new OpenItem(OpenItemKind.NotCounted, Cash(Ferry), Sept(26))], refusal.OpenItems);
    }

    [Fact]
    public void A_settled_count_has_to_be_taken_again_when_a_correction_of_an_earlier_month_says_what_it_had_found()
    {
        var wrong = Spend(Ferry, 5m, new DateOnly(2026, 8, 20));
        var book = Given(
            Fill(Ferry, 40m, new DateOnly(2026, 8, 1)), wrong, Spend(Ferry, 1m, Sept(2)),
            Count(Ferry, 34m, 39m, Sept(30)), Settle(FirstLine + 3, Ferry, 5m, Sept(30)),
            Reversed(FirstLine + 1, wrong, on: FirstOfOctober, closedDay: wrong.OccurredOn));

        var refusal = book.When(Close(), today: FirstOfOctober).ThenRefused("month-has-open-items", "reason");

        Assert.Equal([new OpenItem(OpenItemKind.CountDisagreesAgain, Cash(Ferry), Sept(30), FirstLine + 3, Eur(-5m))],
            refusal.OpenItems);
        Assert.Equal(Eur(-5m), Assert.Single(Reconciliation.Of(book.Book)).Difference);
        book.When(new RecordCount(Ferry, Holding.Cash, 39m, null, FirstOfOctober, null, null), today: FirstOfOctober)
            .Then(Count(Ferry, 44m, 39m, FirstOfOctober))
            .When(new SettleCount(FirstLine + 6, "agreed", null), today: FirstOfOctober)
            .Then(Settle(FirstLine + 6, Ferry, -5m, FirstOfOctober))
            .When(Close(), today: FirstOfOctober).Then(Closed(September, cash: (Ferry, 39m)));
    }

    [Fact]
    public void A_settled_count_that_a_correction_makes_disagree_again_keeps_every_month_open_in_cash_and_bank()
    {
        var refusal = Given(Fill(Ferry, 40m, new DateOnly(2026, 8, 1), Holding.Bank),
            Count(Ferry, 40m, 38m, new DateOnly(2026, 8, 2), Holding.Bank),
            Settle(FirstLine + 1, Ferry, -2m, new DateOnly(2026, 8, 2), holding: Holding.Bank),
                Spend(Ferry, 2m, new DateOnly(2026, 8, 1), Holding.Bank))
            .When(Close(), today: FirstOfOctober).ThenRefused("month-has-open-items", "reason");

        Assert.Equal([new OpenItem(OpenItemKind.CountDisagreesAgain, Bank(Ferry), new DateOnly(2026, 8, 2),
            FirstLine + 1, Eur(2m))], refusal.OpenItems);
    }

    [Fact]
    public void A_compartment_that_is_closed_keeps_the_month_open_as_any_other_does()
    {
        var never = Given(Fill(Ferry, 40m, Sept(2)), Spend(Ferry, 40m, Sept(3)), new CompartmentClosed(Ferry));
        var unsettled = Given(Fill(Ferry, 40m, Sept(2)), Spend(Ferry, 40m, Sept(3)), Count(Ferry, 0m, 2m, Sept(3)),
            new CompartmentClosed(Ferry));

        Assert.Equal([new OpenItem(OpenItemKind.NotCounted, Cash(Ferry), Sept(3))],
            never.When(Close(), today: FirstOfOctober).ThenRefused("month-has-open-items", "reason").OpenItems);
        Assert.Equal(
            [new OpenItem(OpenItemKind.CountUnsettled, Cash(Ferry), Sept(3), FirstLine + 2, Eur(2m))],
            unsettled.When(Close(), today: FirstOfOctober).ThenRefused("month-has-open-items", "reason").OpenItems);
        Assert.Equal(Eur(2m), Assert.Single(Reconciliation.Of(unsettled.Book)).Difference);

        // Opened again, counted, and closed.
        Assert.Empty(OpenItem.At(September,
            Given(Fill(Ferry, 40m, Sept(2)), Spend(Ferry, 40m, Sept(3)), Count(Ferry, 0m, 0m, Sept(3)),
                new CompartmentClosed(Ferry)).Book));
    }

    [Fact]
    public void A_count_of_after_the_month_that_is_not_settled_keeps_it_open_too()
    {
        var refusal = Given(Fill(Ferry, 40m, Sept(2)), Count(Ferry, 40m, 38m, FirstOfOctober))
            .When(Close(), today: FirstOfOctober).ThenRefused("month-has-open-items", "reason");

        Assert.Equal([new OpenItem(OpenItemKind.CountUnsettled, Cash(Ferry), FirstOfOctober, FirstLine + 1, Eur(-2m))],
            refusal.OpenItems);
    }

    [Fact]
    public void A_count_that_is_not_settled_keeps_the_month_open_and_its_settlement_need_not_be_counted()
    {
        var count = FirstLine + 1;
        var book = Given(Fill(Ferry, 40m, Sept(2)), Count(Ferry, 40m, 38m, Sept(20)));

        var refusal = book.When(Close(), today: FirstOfOctober).ThenRefused("month-has-open-items", "reason");

        Assert.Equal([new OpenItem(OpenItemKind.CountUnsettled, Cash(Ferry), Sept(20), count, Eur(-2m))],
            refusal.OpenItems);
        book.When(new SettleCount(count, "lost on the quay", Sept(22)))
            .Then(Settle(count, Ferry, -2m, Sept(22), "lost on the quay"))
            .When(Close(), today: FirstOfOctober).Then(Closed(September, cash: (Ferry, 38m)));
    }

    [Fact]
    public void A_reason_closes_it_all_the_same_and_stands_beside_it() =>
        Given(Fill(Ferry, 40m, Sept(2))).When(Close(reason: " the wallet is at sea "), today: FirstOfOctober)
            .Then(Closed(September, "the wallet is at sea", (Ferry, 40m)));

    [Fact]
    public void Leftovers_are_swept_on_its_last_day_in_the_same_entry() =>
        Counted().When(Close(sweep: new RecordSweep(new SweepFrom([Ferry]), Holding.Cash, Cash(Boat), 5m, null,
            "leftovers")), today: FirstOfOctober)
            .Then(Sweep(Cash(Ferry), Cash(Boat), 20m, Sept(30)) with { Description = "leftovers" },
                Closed(September, "", (Ferry, 5m), (Boat, 20m)));

    [Fact]
    public void Where_payday_comes_before_the_month_s_end_its_notes_are_left_and_counts_of_its_last_day_stay_right()
    {
        // Paid on the 29th with 12.40 and 30.00 left; on the last day what lies there is counted, old and fresh
        // together.
        var given = Given(
            Fill(Ferry, 40m, Sept(1)), Spend(Ferry, 27.60m, Sept(20)), Fill(Market, 30m, Sept(1)),
            Fill(Ferry, 60m, Sept(29)), Fill(Market, 45m, Sept(29)),
            Spend(Ferry, 8.40m, Sept(30)), Count(Ferry, 64m, 64m, Sept(30)), Count(Market, 75m, 75m, Sept(30)));

        var closed = given.When(Close(
            sweep: new RecordSweep(new SweepFrom(Wallet: "market-bag"), Holding.Cash, Cash(Boat), null, null,
                null)
            { Take = SweepTake.BroughtForward }), today: Sept(30)).Then(
            Sweep(Cash(Ferry), Cash(Boat), 4m, Sept(30)), Sweep(Cash(Market), Cash(Boat), 30m, Sept(30)),
            Closed(September, "", (Ferry, 60m), (Market, 45m), (Boat, 34m)));
        Assert.All([Ferry, Market], id => Assert.Equal(Money.Zero, closed.Book.CashCount(id)!.Difference));
        // Counted once more after it, each expects what the sweep left.
        Assert.Equal(Eur(60m), closed.Book.ExpectedOn(Cash(Ferry), Sept(30)));
    }

    [Fact]
    public void A_sweep_that_the_book_refuses_leaves_the_month_open() =>
        Counted().When(Close(sweep: new RecordSweep(new SweepFrom(["lighthouse"]), Holding.Cash, Cash(Boat), null, null,
            "")), today: FirstOfOctober).ThenRefused("compartment-unknown", "from[0]");

    [Fact]
    public void Nothing_dated_in_a_closed_month_is_written()
    {
        var book = Counted(Closed(September, cash: (Ferry, 25m)));

        var refusal = book.When(new RecordFill(Ferry, Holding.Cash, 1m, Sept(30), ""), today: FirstOfOctober)
            .ThenRefused("month-closed", "occurredOn");

        Assert.Contains("2026-10-01", refusal.Detail);
        book.When(new RecordCount(Ferry, Holding.Cash, 25m, null, Sept(30), "", ""), today: FirstOfOctober)
            .ThenRefused("month-closed", "occurredOn");
        book.When(new RecordFill(Ferry, Holding.Cash, 1m, new DateOnly(2025, 1, 1), ""), today: FirstOfOctober)
            .ThenRefused("month-closed", "occurredOn");
        book.When(new RecordFill(Ferry, Holding.Cash, 1m, null, ""), today: FirstOfOctober)
            .Then(Fill(Ferry, 1m, FirstOfOctober));
    }

    [Fact]
    public void Months_are_closed_one_after_another()
    {
        var book = Given(Closed(August));

        book.When(Close(August), today: FirstOfOctober).ThenRefused("month-closed");
        book.When(Close(August.Previous), today: FirstOfOctober).ThenRefused("month-closed");
        Assert.Contains("2026-09",
            book.When(Close(October), today: new DateOnly(2026, 11, 2)).ThenRefused("month-out-of-order").Detail);
        Assert.Equal(new ClosedMonths(August, September),
            book.When(Close(), today: FirstOfOctober).Then(Closed(September)).Book.ClosedMonths);
    }

    [Fact]
    public void Months_are_reopened_from_the_latest_back_with_a_reason()
    {
        var book = Given(Closed(August), Closed(September));

        book.When(new ReopenMonth(August, "a bill")).ThenRefused("month-not-latest");
        book.When(new ReopenMonth(October, "a bill")).ThenRefused("month-not-closed");
        book.When(new ReopenMonth(September, " ")).ThenRefused("words-missing", "reason");
        var august = book.When(new ReopenMonth(September, "a bill")).Then(new MonthReopened(September, "a bill"));
        august.When(new RecordFill(Ferry, Holding.Cash, 1m, Sept(1), "")).Then(Fill(Ferry, 1m, Sept(1)));
        Assert.Null(august.When(new ReopenMonth(August, "a bill"))
            .Then(new MonthReopened(August, "a bill")).Book.ClosedMonths);
    }

    [Fact]
    public void Without_a_closed_month_none_can_be_reopened() =>
    Given().When(new ReopenMonth(September, "a bill")).ThenRefused("month-not-closed");

    [Fact]
    public void A_statement_of_the_bank_that_disagrees_keeps_the_month_open_until_it_is_settled()
    {
        IBookEvent[] lines =
        [
            Fill(Boat, 400m, Sept(1), Holding.Bank),
            new BankStatementRead(Eur(400m), Eur(401m), [new BankPart(Boat, Eur(400m))], Sept(30), false, ""),
        ];
        var settled = new BankStatementSettled(FirstLine + 1, Boat, Eur(1m), Sept(30), "Interest");
        var close = new CloseMonth(Month.Of(Sept(1)), null, "");

        var refused = Given(lines).When(close, Sept(30)).ThenRefused("month-has-open-items", "reason");
        Assert.Equal([new OpenItem(OpenItemKind.StatementUnsettled, null, Sept(30), Difference: Eur(1m))
            { Statement = FirstLine + 1 }], refused.OpenItems);
        Given([.. lines, settled]).When(close, Sept(30)).ThenWritten();

        // What becomes known later of a day before it has to be agreed on too.
        var again = Given([.. lines, settled, Fill(Boat, 2m, Sept(2), Holding.Bank)]).When(close, Sept(30))
            .ThenRefused("month-has-open-items", "reason");
        Assert.Equal((OpenItemKind.StatementDisagreesAgain, Eur(-2m)),
            (again.OpenItems.Single().Kind, again.OpenItems.Single().Difference!.Value));
    }
}
