using System.Collections.Immutable;
using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Movements;

public class ReversalTests
{
    public static TheoryData<IBookEvent, MovementKind> Movements => new()
    {
        { Fill(Ferry, 8m, Sept(3)), MovementKind.Fill },
        { Spend(Ferry, 8m, Sept(3)), MovementKind.Spend },
        { Refund(Ferry, 8m, Sept(3)), MovementKind.Refund },
        { Transfer(Cash(Ferry), Bank(Ferry), 8m, Sept(3)), MovementKind.Transfer },
        { Sweep(Cash(Ferry), Cash(Van), 8m, Sept(3)), MovementKind.Sweep },
    };

    [Theory]
    [MemberData(nameof(Movements))]
    public void A_movement_is_undone_on_its_own_day_by_the_opposite_changes(IBookEvent line, MovementKind kind)
    {
        var before = Given(Fill(Ferry, 40m, Sept(1)));
        var asked = Given(Fill(Ferry, 40m, Sept(1)), line).When(Reverse(FirstLine + 1, line, " written twice "));

        var reversed = new Reversed(
            new Correction(FirstLine + 1), kind,
            [.. ((IMovement)line).Postings.Select(p => p with { Amount = -p.Amount })], Sept(3), "written twice");
        var after = asked.Then(reversed).Book;
        Assert.All(before.Book.Compartments.Values,
            c => Assert.Equal((c.Cash, c.Bank), (after.Compartments[c.Id].Cash, after.Compartments[c.Id].Bank)));
        Assert.Equal(Eur(40m), after.BalanceOn(Cash(Ferry), Sept(3)));
    }

    [Fact]
    public void A_line_is_reversed_once_and_the_refusal_names_the_line_that_did_it()
    {
        var spend = Spend(Ferry, 8m);
        var refusal = Given(Fill(Ferry, 40m), spend, Reversed(FirstLine + 1, spend)).When(Reverse(FirstLine + 1, spend))
            .ThenRefused("line-corrected");

        Assert.Equal(RefusalSort.Conflict, refusal.Sort);
        Assert.Contains($"corrected by line {FirstLine + 2}", refusal.Detail);
        Assert.Contains($"amend line {FirstLine + 2}", refusal.Detail);
    }

    [Fact]
    public void A_reversal_is_not_reversed_but_amended()
    {
        var spend = Spend(Ferry, 8m);
        var reversal = Reversed(FirstLine + 1, spend);

        var refusal = Given(Fill(Ferry, 40m), spend, reversal).When(Reverse(FirstLine + 2, reversal))
            .ThenRefused("line-is-reversal");

        Assert.Contains(Act.Amend.Way(FirstLine + 2), refusal.Detail);
    }

    [Theory]
    [InlineData("", "words-missing")]
    [InlineData("   ", "words-missing")]
    [InlineData("two\nlines", "words-unprintable")]
    public void A_reason_is_needed_and_prints(string reason, string code) =>
        Given(Fill(Ferry, 40m)).When(Reverse(FirstLine, Fill(Ferry, 40m), reason)).ThenRefused(code, "reason");

    public static TheoryData<IBookEvent, string> LinesWithoutMoney => new()
    {
        { Count(Ferry, 0m, 0m), "count ferry-fares again" },
        { new CountRoundOpened([Ferry], null, null, false), $"close the round with {Act.CloseCountRound.Way(3)}" },
        { new CountsConfirmed(8, [new ConfirmedCount(Ferry, 9)], "partner"), "count again" },
        { new CountRoundClosed(8, [], ""), "open another round" },
        { new PlanSet(Sept(21), ImmutableSortedDictionary<string, Money>.Empty.Add(Ferry, Eur(5m))),
            "set the plan from 2026-09-21 again" },
        { new CompartmentOpened(Ferry, "Ferry fares", "market-bag", Purpose.Spending),
            Act.ChangeCompartment.Way(Ferry) },
        { new CompartmentRelabelled(Ferry, "Ferry"), Act.ChangeCompartment.Way(Ferry) },
        { new CompartmentMoved(Ferry, "strongbox"), Act.ChangeCompartment.Way(Ferry) },
        { new CompartmentClosed(Ferry), Act.ChangeCompartment.Way(Ferry) },
        { new CompartmentReopened(Ferry), Act.ChangeCompartment.Way(Ferry) },
        { new HouseholdDescribed("Harbour Row", "EUR", "Europe/Dublin", DayOfWeek.Monday),
            Act.DescribeHousehold.Way() },
        { new WalletOpened("market-bag", "Market bag"), Act.ChangeWallet.Way("market-bag") },
        { new KeyIssued("wall display", Role.Viewer, [], "00"), Act.RevokeKey.Way("wall display") },
        { new KeyRevoked("wall display"), Act.IssueKey.Way() },
        { new MonthClosed(Month.Of(Sept(1)), [], ""), "reopen 2026-09" },
        { new MonthReopened(Month.Of(Sept(1)), "late receipt"), "close 2026-09 again" },
    };

    [Theory]
    [MemberData(nameof(LinesWithoutMoney))]
    public void A_line_that_moves_no_money_is_not_reversed_and_the_refusal_says_what_to_do(IBookEvent line, string mend)
    {
        var refusal = Given().When(Reverse(3, line)).ThenRefused("line-moves-nothing");

        Assert.Contains(mend, refusal.Detail);
    }

    [Fact]
    public void A_line_of_a_closed_compartment_waits_until_it_is_open_again()
    {
        var transfer = Transfer(Cash(Ferry), Cash(Van), 40m);
        var book = new IBookEvent[] { Fill(Ferry, 40m), transfer, new CompartmentClosed(Ferry) };

        var refusal = Given(book).When(Reverse(FirstLine + 1, transfer)).ThenRefused("compartment-closed");

        Assert.Contains(Act.ChangeCompartment.Way(Ferry), refusal.Detail);
        Given([.. book, new CompartmentReopened(Ferry)]).When(Reverse(FirstLine + 1, transfer))
            .ThenHolds((Cash(Ferry), 40m), (Cash(Van), 0m));
    }

    [Fact]
    public void What_has_been_spent_since_can_not_be_taken_back_and_the_refusal_names_the_day_and_the_balance_there()
    {
        var fill = Fill(Ferry, 50m, Sept(1));
        var refusal = Given(fill, Spend(Ferry, 48m, Sept(5)), Fill(Ferry, 60m, Sept(8)), Fill(Van, 48m, Sept(1)),
            Fill(Boat, 47.99m, Sept(1)), Fill(Market, 90m, Sept(2)))
            .When(Reverse(FirstLine, fill))
            .ThenRefused("not-enough");

        Assert.StartsWith($"Without line {FirstLine} the cash of 'ferry-fares' would close 2026-09-05 at -48.00 EUR: "
            + $"48.00 EUR is missing.", refusal.Detail);
        Assert.Equal((Cash(Ferry), Eur(-48m), Eur(48m), Sept(5)),
            (refusal.Shortage!.Place, refusal.Shortage!.Available, refusal.Shortage!.Missing, refusal.Shortage!.On));
        // The market's money was not there yet on the day of the fill.
        Assert.Equal([new Giver(Van, Eur(48m))], refusal.Shortage!.CouldGive);
    }

    [Fact]
    public void With_the_cover_that_was_named_it_is_granted()
    {
        var fill = Fill(Ferry, 50m, Sept(1));

        Given(fill, Spend(Ferry, 48m, Sept(5)), Fill(Van, 48m, Sept(1)), Transfer(Cash(Van), Cash(Ferry), 48m, Sept(1)))
            .When(Reverse(FirstLine, fill))
            .ThenHolds((Cash(Ferry), 0m), (Cash(Van), 0m));
    }

    [Fact]
    public void A_bank_part_is_not_left_below_zero_either()
    {
        var paidIn = Transfer(Cash(Boat), Bank(Boat), 40m, Sept(1));

        Given(Fill(Boat, 40m, Sept(1)), paidIn, Spend(Boat, 1m, Sept(2), Holding.Bank))
            .When(Reverse(FirstLine + 1, paidIn)).ThenRefused("not-enough");
    }

    [Fact]
    public void In_a_closed_month_nothing_changes_and_the_reversal_is_posted_today()
    {
        var spend = Spend(Ferry, 8m, new DateOnly(2026, 8, 30));
        var book = Given(Fill(Ferry, 40m, new DateOnly(2026, 8, 1)), spend,
            new MonthClosed(new Month(new DateOnly(2026, 8, 1)), [], ""));

        var after = book.When(Reverse(FirstLine + 1, spend))
            .Then(Reversed(FirstLine + 1, spend, Today, closedDay: new DateOnly(2026, 8, 30)));

        Assert.Equal(Eur(32m), after.Book.BalanceOn(Cash(Ferry), Sept(23)));
        Assert.Equal(Eur(40m), after.Book.BalanceOn(Cash(Ferry), Today));
    }

    [Fact]
    public void A_day_before_the_first_closed_month_is_as_good_as_closed()
    {
        var spend = Spend(Ferry, 8m, new DateOnly(2026, 6, 30));

        Given(Fill(Ferry, 40m, new DateOnly(2026, 6, 1)), spend,
            new MonthClosed(new Month(new DateOnly(2026, 8, 1)), [], ""))
            .When(Reverse(FirstLine + 1, spend))
            .Then(Reversed(FirstLine + 1, spend, Today, closedDay: new DateOnly(2026, 6, 30)));
    }

    [Fact]
    public void What_was_posted_for_a_closed_month_is_undone_for_that_month_on_the_day_of_its_posting()
    {
        var replaced = Spend(Ferry, 9m, Sept(20)) with { Corrects = new Correction(5, new DateOnly(2026, 8, 30)) };

        Given(Fill(Ferry, 40m, Sept(1)), replaced)
            .When(Reverse(FirstLine + 1, replaced))
            .Then(Reversed(FirstLine + 1, replaced, Sept(20), closedDay: new DateOnly(2026, 8, 30)));
    }

    [Fact]
    public void When_today_is_in_a_closed_month_there_is_nowhere_to_post_it()
    {
        var spend = Spend(Ferry, 8m);

        Given(Fill(Ferry, 40m), spend, new MonthClosed(Month.Of(Today), [], "")).When(Reverse(FirstLine + 1, spend))
            .ThenRefused("month-closed");
    }

    [Fact]
    public void With_its_settlement_undone_a_count_is_open_again()
    {
        var settlement = Settle(FirstLine + 1, Ferry, -3m, Sept(10));
        var book = Given(Fill(Ferry, 40m, Sept(1)), Count(Ferry, 40m, 37m, Sept(10)), settlement);

        book.When(Reverse(FirstLine + 2, settlement))
            .Then(Reversed(FirstLine + 2, settlement) with { Count = FirstLine + 1 })
            .When(new SettleCount(FirstLine + 1, "agreed", Sept(11)))
            .Then(Settle(FirstLine + 1, Ferry, -3m, Sept(11)));
    }

    [Fact]
    public void What_was_learnt_while_a_count_was_settled_counts_when_it_is_open_again()
    {
        var settlement = Settle(FirstLine + 1, Ferry, -3m, Sept(10));
        var book = Given(Fill(Ferry, 40m, Sept(1)), Count(Ferry, 40m, 37m, Sept(10)), settlement,
            Spend(Ferry, 2m, Sept(9)));
        Assert.Equal(Eur(-3m), book.Book.CashCount(Ferry)!.Difference);

        book.When(Reverse(FirstLine + 2, settlement))
            .Then(Reversed(FirstLine + 2, settlement) with { Count = FirstLine + 1 })
            .When(new SettleCount(FirstLine + 1, "agreed", Sept(10)))
            .Then(Settle(FirstLine + 1, Ferry, -1m, Sept(10)));
    }

    [Fact]
    public void A_later_count_is_not_touched_by_undoing_the_settlement_of_an_earlier_one()
    {
        var settlement = Settle(FirstLine + 1, Ferry, -3m, Sept(10));

        var book = Given(Fill(Ferry, 40m, Sept(1)), Count(Ferry, 40m, 37m, Sept(10)), settlement,
            Count(Ferry, 37m, 37m, Sept(12)), Settle(FirstLine + 3, Ferry, 1m, Sept(12)))
            .When(Reverse(FirstLine + 2, settlement))
            .Then(Reversed(FirstLine + 2, settlement) with { Count = FirstLine + 1 });

        Assert.True(book.Book.CashCount(Ferry)!.Settled);
    }

    [Theory]
    [InlineData(9)]
    [InlineData(10)]
    public void A_miscount_that_a_wrong_line_explains_agrees_afterwards(int day)
    {
        var twice = Spend(Ferry, 3m, Sept(day));
        var after = Given(Fill(Ferry, 40m, Sept(1)), Spend(Ferry, 3m, Sept(day)), twice,
            Count(Ferry, 34m, 37m, Sept(10)))
            .When(Reverse(FirstLine + 2, twice))
            .Then(Reversed(FirstLine + 2, twice));

        Assert.Equal((Eur(37m), Money.Zero),
            (after.Book.CashCount(Ferry)!.Expected, after.Book.CashCount(Ferry)!.Difference));
        after.When(new SettleCount(FirstLine + 3, "agreed", null)).ThenRefused("nothing-to-settle");
    }

    [Fact]
    public void So_does_one_that_a_wrong_line_of_a_closed_month_explains_though_it_is_undone_today()
    {
        var twice = Spend(Ferry, 3m, new DateOnly(2026, 8, 30));
        var after = Given(Fill(Ferry, 40m, new DateOnly(2026, 8, 1)), twice,
            new MonthClosed(new Month(new DateOnly(2026, 8, 1)), [], ""), Count(Ferry, 37m, 40m, Sept(10)))
            .When(Reverse(FirstLine + 1, twice))
            .Then(Reversed(FirstLine + 1, twice, Today, closedDay: new DateOnly(2026, 8, 30)));

        Assert.Equal(Money.Zero, after.Book.CashCount(Ferry)!.Difference);
        Assert.Equal(Eur(40m), after.Book.Compartments[Ferry].Cash);
    }

    [Fact]
    public void A_line_written_on_the_day_of_a_count_but_after_it_was_never_expected_and_its_reversal_is_not_either()
    {
        var ticket = Spend(Ferry, 3m, Sept(10));
        var after = Given(Fill(Ferry, 40m, Sept(1)), Count(Ferry, 40m, 40m, Sept(10)), ticket)
            .When(Reverse(FirstLine + 2, ticket))
            .Then(Reversed(FirstLine + 2, ticket));

        Assert.Equal(Eur(40m), after.Book.CashCount(Ferry)!.Expected);
    }

    private static ReverseLine Reverse(long line, IBookEvent written, string reason = "wrong") =>
        new(line, written, reason);
}
