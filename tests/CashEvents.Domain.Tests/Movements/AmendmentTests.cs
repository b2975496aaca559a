using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Movements;

public class AmendmentTests
{
    private static readonly DateOnly _lateAugust = new(2026, 8, 30);
    private static readonly MonthClosed _augustClosed = new(new Month(new DateOnly(2026, 8, 1)), [], "");

    private static AmendLine Amend(long line, IBookEvent written, ICommand replacement, string reason = "wrong") =>
        new(line, written, replacement, reason);

    private static RecordSpend SpendFerry(decimal amount, DateOnly? on = null, string? restFrom = null) =>
        new(Ferry, Holding.Cash, amount, on, null, restFrom);

    private static RecordFill FillFerry(decimal amount, DateOnly? on = null) =>
        new(Ferry, Holding.Cash, amount, on, null);

    [Fact]
    public void The_line_is_undone_and_the_right_one_stands_in_its_stead_on_the_same_day()
    {
        var spend = Spend(Ferry, 8m, Sept(3));
        var asked = Given(Fill(Ferry, 40m, Sept(1)), spend).When(Amend(FirstLine + 1, spend, SpendFerry(8.40m)));

        asked.Then(Reversed(FirstLine + 1, spend),
            Spend(Ferry, 8.40m, Sept(3)) with { Corrects = new Correction(FirstLine + 1) });
        asked.ThenHolds((Cash(Ferry), 31.60m));
    }

    [Fact]
    public void The_right_movement_may_be_of_another_kind_compartment_and_day()
    {
        var fill = Fill(Ferry, 8m, Sept(3));

        Given(Fill(Ferry, 40m, Sept(1)), fill)
            .When(Amend(FirstLine + 1, fill, new RecordTransfer(Cash(Ferry), Bank(Van), 8m, Sept(4), "moved, not new")))
            .Then(Reversed(FirstLine + 1, fill),
                Transfer(Cash(Ferry), Bank(Van), 8m, Sept(4),
                    "moved, not new") with
                { Corrects = new Correction(FirstLine + 1) });
    }

    public static TheoryData<ICommand, IReplacement> Replacements => new()
    {
        { new RecordFill(Van, Holding.Cash, 5m, null, null), Fill(Van, 5m, Sept(3)) },
        { new RecordSpend(Ferry, Holding.Cash, 5m, null, null), Spend(Ferry, 5m, Sept(3)) },
        { new RecordRefund(Van, Holding.Bank, 5m, null, null), Refund(Van, 5m, Sept(3), Holding.Bank) },
        { new RecordTransfer(Cash(Ferry), Cash(Van), 5m, null, null), Transfer(Cash(Ferry), Cash(Van), 5m, Sept(3)) },
        { new RecordSweep(new SweepFrom(Compartments: [Ferry]), Holding.Cash, Cash(Van), 35m, null, null),
            Sweep(Cash(Ferry), Cash(Van), 5m, Sept(3)) },
    };

    [Theory]
    [MemberData(nameof(Replacements))]
    public void Every_kind_of_movement_may_stand_in_the_stead(ICommand replacement, IReplacement expected)
    {
        var spend = Spend(Ferry, 8m, Sept(3));

        Given(Fill(Ferry, 40m, Sept(1)), spend)
            .When(Amend(FirstLine + 1, spend, replacement))
            .Then(Reversed(FirstLine + 1, spend), expected.InSteadOf(new Correction(FirstLine + 1)));
    }

    [Fact]
    public void A_count_or_a_settlement_can_not_stand_in_the_stead_of_a_line()
    {
        var book = Given(Fill(Ferry, 40m));

        var refusal = book.When(Amend(FirstLine, Fill(Ferry, 40m),
            new RecordCount(Ferry, Holding.Cash, 1m, null, null, null, null)))
            .ThenRefused("replacement-unfit", "replacement.kind");
        book.When(Amend(FirstLine, Fill(Ferry, 40m), new SettleCount(4, "agreed", null)))
            .ThenRefused("replacement-unfit", "replacement.kind");

        Assert.Contains(Act.Count.Way(), refusal.Detail);
    }

    [Fact]
    public void What_is_refused_about_the_replacement_names_its_field()
    {
        var book = Given(Fill(Ferry, 40m));

        book.When(Amend(FirstLine, Fill(Ferry, 40m), FillFerry(0.001m)))
            .ThenRefused("too-many-decimals", "replacement.amount");
        book.When(Amend(FirstLine, Fill(Ferry, 40m), FillFerry(1m, Sept(25))))
            .ThenRefused("after-today", "replacement.occurredOn");
        var refusal = book.When(Amend(FirstLine, Fill(Ferry, 40m),
            new RecordFill("fery-fares", Holding.Cash, 1m, null, null)))
            .ThenRefused("compartment-unknown", "replacement.compartment");
        Assert.Equal([Ferry], refusal.Suggestions);
    }

    [Fact]
    public void What_holds_for_a_reversal_holds_for_the_line_that_is_amended()
    {
        var transfer = Transfer(Cash(Ferry), Cash(Van), 40m);

        Given(Fill(Ferry, 40m)).When(Amend(FirstLine, Fill(Ferry, 40m), FillFerry(1m), " "))
            .ThenRefused("words-missing", "reason");
        Given().When(Amend(3, Opening[2], FillFerry(1m))).ThenRefused("line-moves-nothing");
        Given(Fill(Ferry, 40m), transfer, new CompartmentClosed(Ferry))
            .When(Amend(FirstLine + 1, transfer, new RecordFill(Van, Holding.Cash, 1m, null, null)))
            .ThenRefused("compartment-closed");
    }

    [Fact]
    public void Between_the_two_lines_a_balance_may_be_below_zero()
    {
        var fill = Fill(Ferry, 50m, Sept(1));
        Given(fill, Spend(Ferry, 48m, Sept(2))).When(Amend(FirstLine, fill, FillFerry(49m)))
            .ThenHolds((Cash(Ferry), 1m));

        var transfer = Transfer(Cash(Ferry), Cash(Van), 10m, Sept(1));
        Given(Fill(Ferry, 50m, Sept(1)), transfer, Spend(Van, 10m, Sept(2)))
            .When(Amend(FirstLine + 1, transfer, new RecordTransfer(Cash(Ferry), Cash(Van), 12m, null, null)))
            .ThenHolds((Cash(Ferry), 38m), (Cash(Van), 2m));
    }

    [Fact]
    public void At_the_end_of_the_entry_none_may()
    {
        var fill = Fill(Ferry, 50m, Sept(1));
        var book = Given(fill, Spend(Ferry, 48m, Sept(2)), Fill(Ferry, 9m, Sept(3)), Fill(Van, 30m, Sept(1)));

        var refusal = book.When(Amend(FirstLine, fill, FillFerry(47.99m))).ThenRefused("not-enough");

        Assert.StartsWith($"With line {FirstLine} amended the cash of 'ferry-fares' would close 2026-09-02 at -0.01 "
            + $"EUR: 0.01 EUR is missing. 'bakery-van' could give it.", refusal.Detail);
    }

    [Fact]
    public void A_replacement_on_a_later_day_may_leave_the_days_between_short()
    {
        var fill = Fill(Ferry, 50m, Sept(1));

        var refusal = Given(fill, Spend(Ferry, 48m, Sept(2))).When(Amend(FirstLine, fill, FillFerry(50m, Sept(3))))
            .ThenRefused("not-enough");

        Assert.Equal((Sept(2), Eur(-48m)), (refusal.Shortage!.On, refusal.Shortage!.Available));
    }

    [Fact]
    public void A_replacement_that_takes_from_a_place_which_the_line_had_filled_is_refused_with_what_would_be_there()
    {
        var fill = Fill(Ferry, 50m, Sept(1));

        var refusal = Given(fill, Spend(Ferry, 48m, Sept(2))).When(Amend(FirstLine, fill, SpendFerry(1m)))
            .ThenRefused("not-enough", "replacement.amount");

        Assert.StartsWith("Without the line that is corrected the cash of 'ferry-fares' would close 2026-09-02 at "
            + "-48.00 EUR: 49.00 EUR is missing.", refusal.Detail);
    }

    [Fact]
    public void A_covered_replacement_is_covered_for_all_that_is_missing_without_the_line()
    {
        // The fill was a spend of 5: without it the 48 spent since are missing too.
        var fill = Fill(Ferry, 50m, Sept(1));
        var asked = Given(fill, Spend(Ferry, 48m, Sept(2)), Fill(Van, 60m, Sept(1)))
            .When(Amend(FirstLine, fill, SpendFerry(5m, restFrom: Van)));

        asked.Then(
            Reversed(FirstLine, fill),
            Transfer(Cash(Van), Cash(Ferry), 53m, Sept(1)) with { Corrects = new Correction(FirstLine) },
            Spend(Ferry, 5m, Sept(1)) with { Corrects = new Correction(FirstLine) });
        asked.ThenHolds((Cash(Ferry), 0m), (Cash(Van), 7m));
    }

    [Fact]
    public void Nothing_is_covered_when_the_line_itself_gives_back_enough()
    {
        var spend = Spend(Ferry, 40m, Sept(2));

        Given(Fill(Ferry, 40m, Sept(1)), spend, Fill(Van, 60m, Sept(1)))
            .When(Amend(FirstLine + 1, spend, SpendFerry(39m, restFrom: Van)))
            .Then(Reversed(FirstLine + 1, spend),
                Spend(Ferry, 39m, Sept(2)) with { Corrects = new Correction(FirstLine + 1) });
    }

    [Fact]
    public void A_sweep_that_finds_nothing_is_no_replacement()
    {
        var fill = Fill(Ferry, 50m);

        Given(fill).When(Amend(FirstLine, fill,
            new RecordSweep(new SweepFrom(Compartments: [Ferry]), Holding.Cash, Cash(Van), null, null, null)))
            .ThenRefused("replacement-empty", "replacement");
    }

    [Fact]
    public void Every_line_of_a_sweep_stands_in_the_stead_and_the_line_is_corrected_once()
    {
        var spend = Spend(Ferry, 8m, Sept(3));
        var corrects = new Correction(FirstLine + 2);
        var book = Given(Fill(Ferry, 40m, Sept(1)), Fill(Market, 5m, Sept(1)), spend)
            .When(Amend(FirstLine + 2, spend,
                new RecordSweep(new SweepFrom(Wallet: "market-bag"), Holding.Cash, Cash(Van), null, null, null)))
            .Then(Reversed(FirstLine + 2, spend),
                Sweep(Cash(Ferry), Cash(Van), 40m, Sept(3)) with { Corrects = corrects },
                Sweep(Cash(Market), Cash(Van), 5m, Sept(3)) with { Corrects = corrects });

        book.When(Amend(FirstLine + 2, spend, FillFerry(1m))).ThenRefused("line-corrected");
        book.When(new ReverseLine(FirstLine + 4, Sweep(Cash(Ferry), Cash(Van), 40m, Sept(3)), "wrong"))
            .ThenHolds((Cash(Ferry), 40m), (Cash(Van), 5m));
    }

    [Fact]
    public void A_wrong_reversal_stays_and_the_movement_is_written_in_its_stead_once()
    {
        var spend = Spend(Ferry, 8m, Sept(3));
        var reversal = Reversed(FirstLine + 1, spend);
        var again = Spend(Ferry, 8m,
            Sept(3)) with
        { Corrects = new Correction(FirstLine + 2) { Reason = "it was no double" } };
        var book = Given(Fill(Ferry, 40m, Sept(1)), spend, reversal)
            .When(Amend(FirstLine + 2, reversal, SpendFerry(8m), "it was no double")).Then(again);

        Assert.Equal(Eur(32m), book.Book.Compartments[Ferry].Cash);
        var refusal = book.When(Amend(FirstLine + 2, reversal, SpendFerry(8m))).ThenRefused("line-corrected");
        Assert.Contains($"amend line {FirstLine + 3}", refusal.Detail);
        book.When(Amend(FirstLine + 2, reversal, SpendFerry(8m), "")).ThenRefused("words-missing", "reason");
    }

    [Fact]
    public void The_reversal_inside_an_amendment_has_its_replacement_already()
    {
        var spend = Spend(Ferry, 8m, Sept(3));
        var reversal = Reversed(FirstLine + 1, spend);
        var book = Given(Fill(Ferry, 40m, Sept(1)), spend, reversal,
            Spend(Ferry, 9m, Sept(3)) with { Corrects = new Correction(FirstLine + 1) });

        var refusal = book.When(Amend(FirstLine + 2, reversal, SpendFerry(8m))).ThenRefused("line-corrected");

        Assert.Contains($"amend line {FirstLine + 3}", refusal.Detail);
        Assert.Contains($"amend line {FirstLine + 3}",
            book.When(Amend(FirstLine + 1, spend, SpendFerry(8m))).ThenRefused("line-corrected").Detail);
    }

    [Fact]
    public void A_replacement_is_a_line_like_any_other_and_can_be_amended_in_turn()
    {
        var spend = Spend(Ferry, 8m, Sept(3));
        var second = Spend(Ferry, 9m, Sept(3)) with { Corrects = new Correction(FirstLine + 1) };

        Given(Fill(Ferry, 40m, Sept(1)), spend, Reversed(FirstLine + 1, spend), second)
            .When(Amend(FirstLine + 3, second, SpendFerry(10m)))
            .Then(Reversed(FirstLine + 3, second),
                Spend(Ferry, 10m, Sept(3)) with { Corrects = new Correction(FirstLine + 3) });
    }

    [Fact]
    public void In_a_closed_month_nothing_changes_and_both_lines_are_posted_today()
    {
        var spend = Spend(Ferry, 8m, _lateAugust);
        var corrects = new Correction(FirstLine + 1, _lateAugust);
        var book = Given(Fill(Ferry, 40m, new DateOnly(2026, 8, 1)), spend, _augustClosed);

        book.When(Amend(FirstLine + 1, spend, SpendFerry(9m)))
            .Then(Reversed(FirstLine + 1, spend, Today, _lateAugust),
                Spend(Ferry, 9m, Today) with { Corrects = corrects });
        book.When(Amend(FirstLine + 1, spend, SpendFerry(9m, new DateOnly(2026, 8, 29))))
            .Then(Reversed(FirstLine + 1, spend, Today, _lateAugust),
                Spend(Ferry, 9m, Today) with { Corrects = corrects with { ClosedDay = new DateOnly(2026, 8, 29) } });
        book.When(Amend(FirstLine + 1, spend, SpendFerry(9m, Sept(2))))
            .Then(Reversed(FirstLine + 1, spend, Today, _lateAugust),
                Spend(Ferry, 9m, Sept(2)) with { Corrects = new Correction(FirstLine + 1) });
    }

    [Fact]
    public void A_day_of_a_closed_month_for_a_line_of_the_open_one_is_posted_today_too()
    {
        var spend = Spend(Ferry, 8m, Sept(3));

        Given(Fill(Ferry, 40m, new DateOnly(2026, 8, 1)), spend, _augustClosed)
            .When(Amend(FirstLine + 1, spend, SpendFerry(8m, _lateAugust)))
            .Then(Reversed(FirstLine + 1, spend),
                Spend(Ferry, 8m, Today) with { Corrects = new Correction(FirstLine + 1, _lateAugust) });
    }

    [Fact]
    public void An_amended_line_on_the_day_of_a_count_changes_what_was_expected_however_often_it_is_amended()
    {
        var spend = Spend(Ferry, 8m, Sept(10));
        var count = FirstLine + 2;
        var once = Given(Fill(Ferry, 40m, Sept(1)), spend, Count(Ferry, 32m, 30m, Sept(10)))
            .When(Amend(FirstLine + 1, spend, SpendFerry(9m)))
            .Then(Reversed(FirstLine + 1, spend),
                Spend(Ferry, 9m, Sept(10)) with { Corrects = new Correction(FirstLine + 1) });
        Assert.Equal(Eur(-1m), once.Book.CashCount(Ferry)!.Difference);

        var second = Spend(Ferry, 9m, Sept(10)) with { Corrects = new Correction(FirstLine + 1) };
        var twice = once.When(Amend(count + 2, second, SpendFerry(10m)))
            .Then(Reversed(count + 2, second),
                Spend(Ferry, 10m, Sept(10)) with { Corrects = new Correction(count + 2) });

        Assert.Equal(Money.Zero, twice.Book.CashCount(Ferry)!.Difference);
        twice.When(new SettleCount(count, "agreed", null)).ThenRefused("nothing-to-settle");
    }
}
