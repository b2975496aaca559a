using System.Collections.Immutable;
using CsCheck;
using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Plans;

public class GoalTests
{
    private static readonly DateOnly _april = new(2027, 4, 1);

    private static AddGoal Add(string label = "Hull insurance", decimal amount = 480m, DateOnly? due = null,
        string? every = "P1Y", params (DateOnly Due, decimal Amount)[] amounts) =>
        new(Boat, label, amount, due ?? _april, every, amounts.ToDictionary(a => a.Due, a => a.Amount));

    private static GoalSet Hull(decimal amount = 480m, DateOnly? due = null, string? every = "P1Y",
        DateOnly? since = null, string label = "Hull insurance", params (DateOnly Due, decimal Amount)[] amounts) =>
        new("hull-insurance", Boat, label, Eur(amount), due ?? _april, every,
            amounts.ToImmutableSortedDictionary(a => a.Due, a => Eur(a.Amount)), since ?? Today);

    private static Spent Pay(DateOnly due, decimal amount = 480m) =>
        Spend(Boat, amount) with { Pays = new PaidBill("hull-insurance", due) };

    private static RecordSpend PayHull(decimal amount = 480m, string compartment = Boat,
        string goal = "hull-insurance") =>
        new(compartment, Holding.Cash, amount, null, "", Goal: goal);

    private static IEnumerable<DateOnly> Due(Book book, int bills = 3) =>
        book.Goals["hull-insurance"].OpenBills().Take(bills).Select(b => b.Due);

    [Fact]
    public void A_goal_is_set_with_its_recurrence_and_the_amounts_that_differ()
    {
        var book = Given().When(Add(amounts: (new(2028, 4, 1), 520m)))
            .Then(Hull(amounts: (new(2028, 4, 1), 520m))).Book;

        Assert.Equal(
            [new Bill("hull-insurance", Today, _april, Eur(480m)),
                new("hull-insurance", _april, new(2028, 4, 1), Eur(520m)),
                new("hull-insurance", new(2028, 4, 1), new(2029, 4, 1), Eur(480m))],
            book.Goals["hull-insurance"].OpenBills().Take(3));
    }

    [Fact]
    public void The_goals_of_a_household_come_to_so_many_bills_and_no_more()
    {
        GoalSet Daily(int number, string every = "P1D") =>
            Hull(due: Today, every: every, label: $"Bread {number}") with { Goal = $"bread-{number}" };

        // Each has a bill for every day of five years, and one more.
        var ten = Given([.. Enumerable.Range(1, 10).Select(number => Daily(number))]);

        ten.When(Add("Another", due: Today, every: "P1D")).ThenRefused("too-many", "every");
        ten.When(Add("Another", every: "P1Y")).Then(Hull(label: "Another") with { Goal = "another" });
        Given([.. Enumerable.Range(1, 10).Select(number => Daily(number)), Daily(11, "P1Y")])
            .When(new ChangeGoal("bread-11", null, null, null, "P1D", null)).ThenRefused("too-many", "every");
        Given([.. Enumerable.Range(1, 500).Select(number => Daily(number, "P1Y"))]).When(Add("Another"))
            .ThenRefused("too-many");
    }

    [Fact]
    public void One_that_comes_once_has_one_bill() =>
        Assert.Equal([_april], Due(Given().When(Add(every: null)).Then(Hull(every: null)).Book));

    [Fact]
    public void A_spend_tied_to_a_goal_pays_its_next_bill_and_the_next_occurrence_takes_over()
    {
        var paid = Given(Hull(), Fill(Boat, 600m)).When(PayHull()).Then(Pay(_april));

        Assert.Equal([new DateOnly(2028, 4, 1), new(2029, 4, 1)], Due(paid.Book, 2));
        paid.When(PayHull(100m)).Then(Pay(new(2028, 4, 1), 100m));
    }

    [Fact]
    public void A_payment_undone_leaves_its_bill_open_and_later_ones_paid()
    {
        var given = Given(Hull(), Fill(Boat, 600m), Pay(_april, 1m), Pay(new(2028, 4, 1), 1m));
        var undone = given.When(new ReverseLine(FirstLine + 2, Pay(_april, 1m), "wrong"))
            .Then(Reversed(FirstLine + 2, Pay(_april, 1m)) with { Pays = new PaidBill("hull-insurance", _april) });

        Assert.Equal([_april, new(2029, 4, 1)], Due(undone.Book, 2));
        Assert.Equal([new DateOnly(2029, 4, 1)], Due(undone.When(PayHull(1m)).Then(Pay(_april, 1m)).Book, 1));
    }

    [Fact]
    public void An_amended_payment_pays_the_same_bill()
    {
        var amended = Given(Hull(), Fill(Boat, 600m), Pay(_april))
            .When(new AmendLine(FirstLine + 2, Pay(_april), PayHull(470m), "misread"));

        var book = amended.Then(
            Reversed(FirstLine + 2, Pay(_april),
                reason: "misread") with
            { Pays = new PaidBill("hull-insurance", _april) },
            Pay(_april, 470m) with { Corrects = new Correction(FirstLine + 2) }).Book;
        Assert.Equal([new DateOnly(2028, 4, 1)], Due(book, 1));
    }

    [Fact]
    public void Any_payments_undone_in_any_order_leave_open_what_a_list_with_ticks_leaves_open() =>
    Gen.Int[-9, 1].Array[0, 40].Sample(steps =>
    {
        var book = Given(Hull(), Fill(Boat, 600m)).Book;
        var ticked = new SortedDictionary<DateOnly, long>();
        foreach (var step in steps)
        {
            // Pays the next open bill, or undoes one of the payments.
            if (step >= 0 || ticked.Count == 0)
            {
                var next = Due(book, 1).Single();
                Assert.Equal(Enumerable.Range(0, 100).Select(n => _april.AddYears(n))
                    .First(d => !ticked.ContainsKey(d)), next);
                book = book.Apply(Pay(next, 0.01m));
                ticked.Add(next, book.Line);
            }
            else
            {
                var (due, line) = ticked.ElementAt(-step % ticked.Count);
                book = book.Apply(Reversed(line, Pay(due, 0.01m)) with { Pays = new PaidBill("hull-insurance", due) });
                ticked.Remove(due);
            }
        }

        Assert.Equal(Enumerable.Range(0, 100).Select(n => _april.AddYears(n)).Where(d => !ticked.ContainsKey(d))
            .Take(10), Due(book, 10));
    });

    [Fact]
    public void Another_amount_leaves_paid_bills_paid()
    {
        var changed = Given(Hull(), Fill(Boat, 600m), Pay(_april))
            .When(new ChangeGoal("hull-insurance", null, 510m, null, null, null)).Then(Hull(510m));

        Assert.Equal(new Bill("hull-insurance", _april, new(2028, 4, 1), Eur(510m)),
            changed.Book.Goals["hull-insurance"].OpenBills().First());
    }

    [Fact]
    public void Another_due_date_counts_the_bills_anew_from_there()
    {
        var changed = Given(Hull(), Fill(Boat, 600m), Pay(_april))
            .When(new ChangeGoal("hull-insurance", null, null, new(2028, 5, 1), "P6M", null));

        Assert.Equal([new DateOnly(2028, 5, 1), new(2028, 11, 1)],
            Due(changed.Then(Hull(due: new(2028, 5, 1), every: "P6M", since: _april)).Book, 2));
    }

    [Fact]
    public void The_same_again_writes_nothing() =>
        Given(Hull()).When(new ChangeGoal("hull-insurance", "Hull insurance", 480m, _april, "P1Y", null)).ThenNothing();

    [Fact]
    public void A_goal_given_up_may_be_set_again()
    {
        var removed = Given(Hull(), Fill(Boat, 600m), Pay(_april)).When(new RemoveGoal("hull-insurance"))
            .Then(new GoalRemoved("hull-insurance", Boat));

        removed.When(PayHull(1m)).ThenRefused("goal-unknown", "goal");
        Assert.Equal([_april], Due(removed.When(Add()).Then(Hull()).Book, 1));
        removed.When(new ReverseLine(FirstLine + 2, Pay(_april), "wrong")).ThenHolds((Cash(Boat), 600m));
    }

    [Fact]
    public void Goals_that_do_not_fit_are_refused()
    {
        Given().When(Add() with { Compartment = Van }).ThenRefused("compartment-not-a-sinking-fund", "compartment");
        Given().When(Add() with { Compartment = "boat" }).ThenRefused("compartment-unknown", "compartment");
        Given(Hull()).When(Add()).ThenRefused("goal-taken", "label");
        Given().When(Add(amount: 0m)).ThenRefused("amount-not-positive", "amount");
        Given().When(Add(due: Sept(23))).ThenRefused("due-before-today", "due");
        Given().When(Add(due: new(2056, 9, 25))).ThenRefused("due-too-late", "due");
        Given().When(Add(every: "yearly")).ThenRefused("period-unreadable", "every");
        Given().When(Add(amounts: (new(2028, 4, 2), 1m))).ThenRefused("not-due", "amounts.2028-04-02");
        Given().When(Add(amounts: (new(2028, 4, 1), -1m))).ThenRefused("amount-not-positive", "amounts.2028-04-01");
        Given().When(Add(every: null, amounts: (new(2028, 4, 1), 1m))).ThenRefused("not-due", "amounts.2028-04-01");
        Given().When(new ChangeGoal("hull", null, 1m, null, null, null)).ThenRefused("goal-unknown");
        Given().When(new RemoveGoal("hull")).ThenRefused("goal-unknown");
    }

    [Fact]
    public void Payments_that_do_not_fit_are_refused()
    {
        Given(Hull(), Fill(Boat, 600m)).When(PayHull(goal: "hull")).ThenRefused("goal-unknown", "goal");
        Given(Hull(), Fill(Ferry, 600m)).When(PayHull(compartment: Ferry)).ThenRefused("goal-of-another-fund", "goal");
        Given(Hull(every: null), Fill(Boat, 600m), Pay(_april, 1m)).When(PayHull(1m)).ThenRefused("goal-paid", "goal");
        Given(Hull(every: "P5Y"), Fill(Boat, 600m), Pay(_april, 1m)).When(PayHull(1m)).ThenRefused("goal-paid", "goal");
    }

    [Fact]
    public void How_a_fund_is_kept_is_said_once()
    {
        var given = Given().When(new SetFundTerms(Boat, 60, 2.75m)).Then(new FundTermsSet(Boat, 60, 275));

        given.When(new SetFundTerms(Boat, 60, 2.75m)).ThenNothing();
        given.When(new SetFundTerms(Boat, 101, 0m)).ThenRefused("percent-out-of-range", "bankPercent");
        given.When(new SetFundTerms(Boat, 0, 0.001m)).ThenRefused("percent-out-of-range", "interestPercent");
        given.When(new SetFundTerms(Van, 0, 0m)).ThenRefused("compartment-not-a-sinking-fund", "compartment");
        var fund = SinkingFund.Of(given.Book, given.Book.Compartments[Boat], Today);
        Assert.Equal((60, 0.0275m), (fund.BankPercent, fund.Interest));
    }

    [Fact]
    public void What_should_be_there_grows_in_equal_parts_from_payday_to_payday()
    {
        var book = Given(Hull(due: new(2027, 3, 1), since: new(2026, 9, 1)), Fill(Boat, 70m)).Book;
        var fund = SinkingFund.Of(book, book.Compartments[Boat], Today);
        DateOnly[] paydays = [.. Enumerable.Range(0, 90).Select(m => new DateOnly(2026, 9, 15).AddMonths(m))];

        // Six paydays from 15 September to 15 February; two gone by 20 October, all gone on 20 February.
        Assert.Equal(Eur(160m), fund.Accrued(paydays, new(2026, 10, 20)));
        Assert.Equal(Eur(480m), fund.Accrued(paydays, new(2027, 2, 20)));
        Assert.Equal(Money.Zero, fund.Accrued(paydays, new(2026, 9, 15)));
    }
}
