using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Movements;

/// <summary>What is refused of money that comes, goes or moves, in which words.</summary>
public class RefusedMovementsTests
{
    private static RecordFill Fills(decimal amount, DateOnly? on = null, string compartment = Ferry) =>
        new(compartment, Holding.Cash, amount, on, "");

    private static RecordSpend Spends(decimal amount, string? restFrom = null, string? goal = null,
        DateOnly? on = null, string compartment = Ferry) =>
        new(compartment, Holding.Cash, amount, on, "", restFrom, goal);

    private static RecordSweep Sweeps(SweepFrom from, decimal? leave = null) =>
        new(from, Holding.Cash, Cash(Van), leave, null, "");

    [Fact]
    public void An_amount_or_a_day_that_cannot_be() => Given(new CompartmentClosed(Market),
        new MonthClosed(new Month(new DateOnly(2026, 8, 1)), [], "")).Refuses(
        (Fills(0m), "amount-not-positive", "amount",
            "`amount` is 0: write an amount above zero, and choose the kind of movement for its direction."),
        (Fills(1.005m), "too-many-decimals", "amount", "1.005 has 3 decimals, and EUR has 2: write it with at most 2."),
        (Fills(10_000_000_000m), "amount-too-large", "amount", "One line carries at most 9999999999.99 EUR."),
        (Fills(1m, Sept(25)), "after-today", "occurredOn",
            "2026-09-25 is after the household's today, 2026-09-24: write what has happened, on the day it did."),
        (Fills(1m, new DateOnly(2026, 8, 31)), "month-closed", "occurredOn",
            "2026-08 is closed, and nothing changes in it: date it 2026-09-01 or later, or reopen the month first."),
        (Fills(1m, compartment: "fery-fares"), "compartment-unknown", "compartment",
            "There is no compartment 'fery-fares'. Did you mean 'ferry-fares'?"),
        (Fills(1m, compartment: "oars"), "compartment-unknown", "compartment",
            "There is no compartment 'oars'. <ListCompartments> lists them."),
        (Fills(1m, compartment: Market), "compartment-closed", "compartment",
            "'market-days' is closed: reopen it with <ChangeCompartment market-days> {\"closed\": false}."));

    [Fact]
    public void A_currency_without_decimals_says_so_and_without_a_currency_there_is_no_amount()
    {
        Given(new HouseholdDescribed("Quay", "JPY", "Asia/Tokyo", DayOfWeek.Monday)).Refuses(
            (Fills(1.5m), "too-many-decimals", "amount", "1.5 has decimals, and JPY has none: write a whole number."));
        Given(new HouseholdDescribed("Quay", null, "Asia/Tokyo", DayOfWeek.Monday)).Refuses(
            (Fills(1m), "currency-missing", null,
                "The household has not named its currency: <DescribeHousehold> with name, currency, timeZone and "
                    + "firstDayOfWeek first."));
    }

    [Fact]
    public void A_closed_compartment_with_a_name_nearby_asks_whether_that_was_meant() =>
        Given(new CompartmentOpened("ferry-fare", "Ferry fare", "strongbox", Purpose.Saving),
            new CompartmentClosed("ferry-fare")).Refuses(
            (Fills(1m, compartment: "ferry-fare"), "compartment-closed", "compartment",
                "'ferry-fare' is closed: reopen it with <ChangeCompartment ferry-fare> {\"closed\": false}, or did "
                    + "you mean 'ferry-fares'?"));

    [Fact]
    public void Money_that_is_not_there() => Given(Fill(Ferry, 5m, Sept(20)), Fill(Market, 7m, Sept(20)),
        Fill(Van, 9m, Sept(22)), Spend(Ferry, 3m, Sept(22))).Refuses(
        (Spends(6m, on: Sept(23)), "not-enough", "amount",
            "The cash of 'ferry-fares' holds 2.00 EUR: 4.00 EUR is missing. 'bakery-van' could give it."),
        (Spends(4m, on: Sept(21)), "not-enough", "amount",
            "The cash of 'ferry-fares' closes 2026-09-22 at 2.00 EUR, so no more than that can be taken on "
                + "2026-09-21: 2.00 EUR is missing. 'market-days' could give it."),
        (Spends(400m), "not-enough", "amount",
            "The cash of 'ferry-fares' holds 2.00 EUR: 398.00 EUR is missing. No other compartment could give it."),
        (new RecordTransfer(Cash(Ferry), Cash(Van), 6m, null, ""), "not-enough", "amount",
            "The cash of 'ferry-fares' holds 2.00 EUR: 4.00 EUR is missing. 'market-days' could give it."),
        (new RecordSpend(Ferry, Holding.Bank, 1m, null, ""), "not-enough", "amount",
            "The bank part of 'ferry-fares' holds 0.00 EUR: 1.00 EUR is missing. No other compartment could give it."),
        (Spends(20m, restFrom: Market), "not-enough", "restFrom",
            "The cash of 'market-days' holds 7.00 EUR: 11.00 EUR is missing. No other compartment could give it."),
        (Spends(1m, restFrom: Ferry), "rest-from-itself", "restFrom",
            "The rest can't come from 'ferry-fares' itself: name another compartment."));

    // Who could give all of it: the richest first, five at most, neither itself nor where it goes.
    [Fact]
    public void Those_who_could_give_what_is_missing_are_named()
    {
        var given = Given([.. Enumerable.Range(1, 7).SelectMany(n => new IBookEvent[]
        {
            new CompartmentOpened($"p{n}", $"P{n}", "strongbox", Purpose.Saving), Fill($"p{n}", n),
        })]);

        Assert.Equal(["p7", "p6", "p5", "p4", "p3"],
            given.When(Spends(3m)).ThenRefused("not-enough", "amount").Shortage!.CouldGive.Select(g => g.Compartment));
        Assert.Equal(["p7", "p6"],
            given.When(Spends(6m)).ThenRefused("not-enough", "amount").Shortage!.CouldGive.Select(g => g.Compartment));
        var missing = given.When(new RecordTransfer(Cash("p5"), Cash("p7"), 6m, null, ""))
            .ThenRefused("not-enough", "amount").Shortage!;
        Assert.Equal(["p6", "p4", "p3", "p2", "p1"], missing.CouldGive.Select(g => g.Compartment));
        Assert.Equal((Cash("p5"), Eur(5m), Eur(1m), Today), (missing.Place, missing.Available, missing.Missing,
            missing.On));
    }

    [Fact]
    public void A_transfer_or_sweep_that_cannot_be() => Given(Fill(Ferry, 5m)).Refuses(
        (new RecordTransfer(Cash(Ferry), Cash(Ferry), 1m, null, ""), "transfer-to-itself", "to",
            "Both places are the cash of 'ferry-fares': name another compartment, or the other holding."),
        (new RecordTransfer(Cash("oars"), Cash(Ferry), 1m, null, ""), "compartment-unknown", "from.compartment",
            "There is no compartment 'oars'. <ListCompartments> lists them."),
        (new RecordTransfer(Cash(Ferry), Cash("oars"), 1m, null, ""), "compartment-unknown", "to.compartment",
            "There is no compartment 'oars'. <ListCompartments> lists them."),
        (Sweeps(new SweepFrom([Ferry, Market, Ferry])), "compartment-twice", "from[2]",
            "'ferry-fares' is in the list twice: name it once."),
        (Sweeps(new SweepFrom([Ferry, Van])), "sweep-into-itself", "from[1]",
            "'bakery-van' can't be swept into itself: leave it out of `from`."),
        (Sweeps(new SweepFrom([Ferry, "oars"])), "compartment-unknown", "from[1]",
            "There is no compartment 'oars'. <ListCompartments> lists them."),
        (Sweeps(new SweepFrom(Wallet: "tin")), "wallet-unknown", "from.wallet",
            "There is no wallet 'tin'. <ListWallets> lists them."),
        (Sweeps(new SweepFrom([Ferry]), leave: -0.01m), "leave-negative", "leave",
            "`leave` is what stays in each compartment: zero or more."),
        (Sweeps(new SweepFrom([Ferry])) with { FreshFrom = Sept(20) }, "fresh-from-not-for-all", "freshFrom",
            "`freshFrom` goes with `take` \"broughtForward\": send that too to leave what was filled from 2026-09-20 "
                + "on, or leave it out."),
        (Sweeps(new SweepFrom([Ferry])) with { FreshFrom = Sept(25), Take = SweepTake.BroughtForward },
            "fresh-from-after-sweep", "freshFrom",
            "2026-09-25 is after the day of the sweep, 2026-09-24: `freshFrom` is the first day whose fills stay "
                + "where they are."));

    [Fact]
    public void What_a_sweep_took_and_left_of_each_place_is_told()
    {
        var given = Given(Fill(Ferry, 5m, Sept(1)), Fill(Market, 1m, Sept(2)));
        var sweep = Sweeps(new SweepFrom(Wallet: "market-bag"), leave: 2m);
        var after = given.When(sweep).ThenWritten();

        Assert.Equal([new SweptPart(Cash(Ferry), Eur(3m), Eur(2m)), new SweptPart(Cash(Market), Money.Zero, Eur(1m))],
            sweep.LeftBy(given.Book, after.Book, Today));
    }

    [Fact]
    public void A_bill_that_cannot_be_paid_so()
    {
        var given = Given(Fill(Boat, 500m, Sept(1)),
            new CompartmentOpened("oars", "Oars", "strongbox", Purpose.SinkingFund), Fill("oars", 50m))
            .When(new AddGoal(Boat, "Hull", 240m, new DateOnly(2026, 12, 15), null, null)).ThenWritten();

        given.Refuses(
            (Spends(1m, goal: "hul", compartment: Boat), "goal-unknown", "goal",
                "There is no goal 'hul'. Did you mean 'hull'?"),
            (Spends(1m, goal: "mast", compartment: Boat), "goal-unknown", "goal",
                "There is no goal 'mast'. <ListGoals> lists them."),
            (Spends(1m, goal: "hull", compartment: "oars"), "goal-of-another-fund", "goal",
                "'hull' is saved for in 'boat-insurance': spend from there, and send `restFrom` if another "
                    + "compartment is to give what is missing."));
        given.When(Spends(240m, goal: "hull", compartment: Boat)).ThenWritten().Refuses(
            (Spends(1m, goal: "hull", compartment: Boat), "goal-paid", "goal",
                "'hull' is paid, and no other bill of it is to come: leave `goal` out."),
            (new ChangeGoal("hull", null, null, null, "P1Y", null), "goal-paid", "every",
                "'hull' is paid, and no bill is left that could come again: send `due` too."));
    }

    // Paid five years ahead, the next is a matter of later.
    [Fact]
    public void A_bill_of_more_than_five_years_ahead_is_not_paid_yet() =>
        Given(Fill(Boat, 500m, Sept(1))).When(new AddGoal(Boat, "Hull", 240m, new DateOnly(2026, 12, 15), "P6Y", null))
            .ThenWritten().When(Spends(240m, goal: "hull", compartment: Boat)).ThenWritten().Refuses(
            (Spends(1m, goal: "hull", compartment: Boat), "goal-paid", "goal",
                "'hull' is paid for the next 5 years; its next bill is due on 2032-12-15: leave `goal` out."));

    [Fact]
    public void A_step_that_cannot_be_done()
    {
        var plan = new SavingPlanSet(Van, new SavingSteps(Eur(1m), Eur(1m), 2, [], null), Sept(1), "P1W");
        DoSavingStep Step(int? number = null, Part? from = null, string compartment = Van) =>
            new(compartment, Holding.Cash, null, "") { Number = number, From = from };
        var given = Given(plan, Fill(Ferry, 5m));

        given.Refuses(
            (Step(compartment: Boat), "saving-plan-unknown", null, "There is no saving plan for 'boat-insurance'."),
            (Step(3), "step-unknown", "number",
                "The plan of 'bakery-van' has steps 1 to 2: choose one of those, or leave `number` out for the "
                    + "next."),
            (Step(0), "step-unknown", "number",
                "The plan of 'bakery-van' has steps 1 to 2: choose one of those, or leave `number` out for the "
                    + "next."),
            (Step(from: Bank(Van)), "step-from-itself", "from",
                "What lies in 'bakery-van' is put aside already: name another compartment, or leave `from` out where "
                    + "the money comes from outside the book."),
            (Step(from: Cash("oars")), "compartment-unknown", "from.compartment",
                "There is no compartment 'oars'. <ListCompartments> lists them."));
        var one = given.When(Step(1)).ThenWritten();
        one.Refuses((Step(1), "saving-step-done", "number",
            "Step 1 of 'bakery-van' is done: the next that is open is step 2."));
        one.When(Step(2)).ThenWritten().Refuses((Step(), "saving-plan-done", null,
            "All 2 steps of 'bakery-van' are done: set another plan with <SetSavingPlan bakery-van>."));
    }

    [Fact]
    public void Who_does_a_step_with_cash_that_is_carried_takes_it_from_there() =>
        Given(new SavingPlanSet(Van, new SavingSteps(Eur(4m), Eur(1m), 2, [], null), Sept(1), "P1W"),
            Fill(Ferry, 5m), new HandedOver(Ferry, "partner", Eur(5m), Today, ""))
            .When(new DoSavingStep(Van, Holding.Cash, null, "") { From = Cash(Ferry) }.SignedBy("partner")).Then(
            new Transferred(Cash(Ferry), Cash(Van), Eur(4m), Today, "")
            { Step = new DoneStep(FirstLine, 1), Carried = new CarriedChange(FirstLine + 2, Eur(-4m)) });

    [Fact]
    public void Notes_that_cannot_be_set_aside()
    {
        var taken = new CountTaken(Ferry, Holding.Cash, Eur(25m), Eur(25m),
            [new Pieces(Eur(20m), 1), new Pieces(Eur(5m), 1)], Today, "", "");
        var total = taken with { Pieces = [] };
        var given = Given(Fill(Ferry, 25m, Sept(1)), taken);
        SetAside Aside(decimal value, string to = Van, DateOnly? on = null, long? count = null,
            CountTaken? written = null) => new(count ?? FirstLine + 1, written ?? taken, value, to, on, "");

        given.Refuses(
            (Aside(10m), "denomination-not-counted", "denomination",
                $"Count {FirstLine + 1} found no note or coin of 10.00 EUR. It found 20.00 EUR, 5.00 EUR."),
            (Aside(5m, written: total), "denomination-not-counted", "denomination",
                $"Count {FirstLine + 1} gives a total only: count by denomination first."),
            (Aside(5m, to: Market), "compartment-not-for-saving", "to",
                "'market-days' is not another compartment with the purpose saving."),
            (Aside(5m, on: Sept(23)), "before-count", "occurredOn",
                "The count was taken on 2026-09-24: set its notes aside on that day or later."),
            (Aside(5m, count: 3), "count-replaced", null,
                $"A later count of the cash of 'ferry-fares', count {FirstLine + 1}, stands in the stead of count 3: "
                    + "set its notes aside."));
    }

    [Fact]
    public void A_correction_that_cannot_be()
    {
        var spend = Spend(Ferry, 3m, Sept(20));
        var given = Given(Fill(Ferry, 5m, Sept(20)), spend, Fill(Market, 1m), Spend(Market, 1m),
            new CompartmentClosed(Market), Count(Ferry, 2m, 2m));
        ReverseLine Reverse(int after, IBookEvent line, string reason = "wrong") =>
            new(FirstLine + after, line, reason);
        AmendLine Amend(ICommand replacement, IBookEvent? line = null) =>
            new(FirstLine + 1, line ?? spend, replacement, "wrong");

        given.Refuses(
            (Reverse(0, Fill(Ferry, 5m, Sept(20))), "not-enough", null,
                "Without line 8 the cash of 'ferry-fares' would close 2026-09-20 at -3.00 EUR: 3.00 EUR is missing. "
                    + "No other compartment could give it."),
            (Reverse(3, Spend(Market, 1m)), "compartment-closed", null,
                "Line 11 moved money of 'market-days', which is closed: reopen it with <ChangeCompartment "
                    + "market-days> {\"closed\": false} first."),
            (Reverse(5, Count(Ferry, 2m, 2m)), "line-moves-nothing", null,
                "Line 13 moves no money, so there is nothing to reverse: count ferry-fares again, and the new count "
                    + "stands in its stead."),
            (Reverse(1, spend, " "), "words-missing", "reason", "`reason` is needed: write a few words."),
            (Amend(new RecordCount(Ferry, Holding.Cash, 1m, null, null, "", "")), "replacement-unfit",
                "replacement.kind",
                "A fill, spend, refund, transfer or sweep can stand in the stead of a line. A count is taken anew "
                    + "and then settled: <Count>."),
            (Amend(Sweeps(new SweepFrom([Ferry]), leave: 20m)), "replacement-empty", "replacement",
                "There is nothing for the replacement to sweep: reverse the line instead, or write another "
                    + "replacement."),
            (Amend(Spends(6m)), "not-enough", "replacement.amount",
                "The cash of 'ferry-fares' holds 5.00 EUR: 1.00 EUR is missing. No other compartment could give it."),
            (Amend(Fills(1m, compartment: "oars")), "compartment-unknown", "replacement.compartment",
                "There is no compartment 'oars'. <ListCompartments> lists them."));
        given.When(Reverse(1, spend)).ThenWritten().Refuses(
            (Reverse(1, spend), "line-corrected", null,
                "Line 9 has been corrected by line 14, and a line is corrected once: amend line 14 if it is still "
                    + "not right."),
            (Reverse(6, Reversed(FirstLine + 1, spend)), "line-is-reversal", null,
                "Line 14 is a reversal, and can't be reversed: write the right movement with <Amend 14>."));
        given.When(Amend(Fills(1m))).ThenWritten();
    }

    [Fact]
    public void What_would_lie_below_zero_without_a_line_is_told_of_its_amendment() =>
        Given(Fill(Ferry, 5m, Sept(20)), Spend(Ferry, 3m, Sept(21))).Refuses(
            (new AmendLine(FirstLine, Fill(Ferry, 5m, Sept(20)), Fills(2m), "wrong"), "not-enough", null,
                "With line 8 amended the cash of 'ferry-fares' would close 2026-09-21 at -1.00 EUR: 1.00 EUR is "
                    + "missing. No other compartment could give it."),
            (new AmendLine(FirstLine, Fill(Ferry, 5m, Sept(20)), Spends(2m), "wrong"), "not-enough",
                "replacement.amount",
                "Without the line that is corrected the cash of 'ferry-fares' would close 2026-09-21 at -3.00 EUR: "
                    + "5.00 EUR is missing. No other compartment could give it."));

    [Fact]
    public void In_a_closed_month_nothing_is_posted_and_a_correction_needs_an_open_one() =>
        Given(Fill(Ferry, 5m, Sept(20)), new MonthClosed(new Month(Sept(1)), [], "")).Refuses(
            (new ReverseLine(FirstLine, Fill(Ferry, 5m, Sept(20)), "wrong"), "month-closed", null,
                "2026-09 is closed, so there is no open month to post the correction in: reopen it first."));
}
