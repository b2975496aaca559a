using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Paydays;

/// <summary>What is refused of pay, standing payments and fill runs, in which words.</summary>
public class RefusedPaydaysTests
{
    private static readonly QuayCalendar _quay = new();

    private static IncomeSourceSet Pays(decimal? amount = 100m, string rule = "month", DateOnly? first = null,
        string source = "office") =>
        new(source, "Office", rule, first ?? Sept(24), NotBankDay.Previous, amount is { } a ? Eur(a) : null);

    private static FillRuleSet Fixed(string compartment, decimal amount) =>
        new(compartment, FillRuleKind.Fixed, Eur(amount), null, null, Holding.Cash, 1, null);

    private static FillPayday Fills(DateOnly payday, decimal? pay = null, DateOnly? on = null,
        params (string Compartment, decimal? Cash, decimal? Bank)[] amounts) => new(payday, pay, null, _ => _quay)
        {
            OccurredOn = on,
            Amounts = amounts.Length == 0 ? null
                : amounts.ToDictionary(a => a.Compartment, a => new FillAmount(a.Cash, a.Bank)),
        };

    private static (string, string?, string)? Refused(Action asked)
    {
        try
        {
            asked();
            return null;
        }
        catch (RefusalException refused)
        {
            return (refused.Refusal.Code, refused.Refusal.Field, refused.Refusal.Detail.Spoken());
        }
    }

    [Fact]
    public void Who_pays_and_is_paid()
    {
        SetIncomeSource Source(string id) => new(id, "Office", new Recurrence("month", Today), NotBankDay.Next, 1m);
        SetStandingPayment Payment(string id) =>
            new(id, StandingPaymentKind.FixedBill, "Rent", new Recurrence("month", Today), NotBankDay.Next, 1m);

        Given(Pays()).Refuses(
            (Source("Office "), "id-unreadable", "id",
                "'Office ' is no id: write small letters and digits with single hyphens between, such as 'office'."),
            (Source("office") with { Amount = 0m }, "amount-not-positive", "amount",
                "`amount` is 0: write an amount above zero, and choose the kind of movement for its direction."),
            (new EndIncomeSource("offce"), "income-source-unknown", null,
                "There is no income source 'offce'. <ListIncomeSources> lists them."),
            (new EndStandingPayment("rent"), "standing-payment-unknown", null,
                "There is no standing payment 'rent'. <ListStandingPayments> lists them."));
        var sources = Given([.. Enumerable.Range(1, 50).Select(n => Pays(source: $"office-{n}"))]);
        sources.Refuses((Source("one-more"), "too-many", null,
            "A household has at most 50 income sources: end one that pays no more."));
        sources.When(Source("office-7")).ThenWritten();
        var payments = Given([.. Enumerable.Range(1, 100).Select(n => new StandingPaymentSet($"rent-{n}",
            StandingPaymentKind.FixedBill, "Rent", "month", Today, NotBankDay.Next, Eur(2m)))]);
        payments.Refuses((Payment("one-more"), "too-many", null,
            "A household has at most 100 standing payments: end one that is paid no more."));
        payments.When(Payment("rent-7")).ThenWritten();
    }

    [Fact]
    public void A_payday_that_cannot_be_filled()
    {
        var given = Given(Pays(), Fixed(Ferry, 30m), Fixed(Van, 20m));

        given.Refuses(
            (Fills(Sept(23)), "payday-unknown", "payday", "2026-09-23 is no payday: the next is 2026-09-24."),
            (Fills(new DateOnly(2009, 12, 31)), "bank-days-unknown", "payday",
                "Bank days are told from 2010-01-01 to 2070-12-31, and 2009-12-31 is not among them."),
            (Fills(Today, on: Sept(23)), "before-payday", "occurredOn",
                "2026-09-23 is before the payday, 2026-09-24: a payday is filled on that day or later."),
            (Fills(new DateOnly(2026, 11, 24)), "after-today", "payday",
                "2026-11-24 is after the household's today, 2026-09-24: <FillPayday> with `dryRun` true tells what "
                    + "it will come to; fill when the pay is there."),
            (Fills(Today, pay: 0m), "amount-not-positive", "pay",
                "`pay` is 0: write an amount above zero, and choose the kind of movement for its direction."),
            (Fills(Today, amounts: (Market, 1m, null)), "fill-rule-unknown", "amounts.market-days",
                "'market-days' has no fill rule, so the run does not fill it: leave it out, or set a rule with "
                    + "<SetFillRule>."),
            (Fills(Today, amounts: (Ferry, -1m, null)), "amount-negative", "amounts.ferry-fares.cash",
                "`amounts.ferry-fares.cash` is -1: a compartment gets zero or more."),
            (Fills(Today, amounts: (Ferry, 100.01m, null)), "fills-above-pay", "amounts.ferry-fares.cash",
                "100.01 EUR is more than there is to share out, 100.00 EUR: write less, or send as `pay` what was "
                    + "paid in all."),
            (Fills(Today, amounts: [(Ferry, 60m, null), (Van, null, 50m)]), "fills-above-pay", "amounts",
                "130.00 EUR is more than there is to share out, 100.00 EUR: write less, or send as `pay` what was "
                    + "paid in all."));
        given.When(Fills(Today)).ThenWritten().Refuses(
            (Fills(Today), "payday-filled", "payday",
                "2026-09-24 was filled by line 11, and a payday is filled once: reverse that line if it was wrong, "
                    + "or record what is missing with <Fill>."));
    }

    [Fact]
    public void A_run_with_nothing_to_share_or_nobody_to_share_it_among()
    {
        var rent = new StandingPaymentSet("rent", StandingPaymentKind.FixedBill, "Rent", "month", Sept(25),
            NotBankDay.Next, Eur(100m));

        Given(Pays()).Refuses((Fills(Today), "fill-rules-missing", null,
            "No compartment in use has a fill rule: set some with <SetFillRule>."));
        Given(Pays(null), Pays(null, source: "quay"), Fixed(Ferry, 1m)).Refuses(
            (Fills(Today), "pay-missing", "pay",
                "office, quay pays on 2026-09-24 as it comes: send `pay`, what was paid in all."));
        Given(Pays(), Fixed(Ferry, 1m), rent).Refuses((Fills(Today), "nothing-to-fill", null,
            "Bills and automatic savings until 2026-10-23 take all of the pay, 100.00 EUR, so nothing is left to "
                + "fill."));
        Given(Pays(), new FillRuleSet(Ferry, FillRuleKind.Weekly, null, null, null, Holding.Cash, 1, null)).Refuses(
            (Fills(Today), "nothing-to-fill", null,
                "No compartment wants anything: each rule comes to nothing until the next payday, or its ceiling is "
                    + "reached."));
        Given(Fixed(Ferry, 1m)).Refuses((Fills(Today), "payday-unknown", "payday",
            "2026-09-24 is no payday, and none follows: set who pays with <SetIncomeSource>."));
        Given(Pays(rule: "once"), Fixed(Ferry, 1m)).Refuses((Fills(Today), "payday-last", null,
            "No payday follows 2026-09-24 within 10 years, so nothing says how long its pay has to last: set who "
                + "pays next with <SetIncomeSource>."));
        Given(new HouseholdDescribed("Quay", "EUR", "Europe/Dublin", DayOfWeek.Monday) { SmallestNote = Eur(5m) },
            Pays(), Fixed(Ferry, 20m)).Refuses(
            (Fills(Today, amounts: (Ferry, 12m, null)), "amount-not-in-notes", "amounts.ferry-fares.cash",
                "12.00 EUR can't be drawn in notes and coins of 5.00 EUR and more: write 10.00 EUR, or let the "
                    + "household draw smaller ones."));
    }

    [Fact]
    public void A_payday_of_a_closed_month_is_filled_today_if_that_month_is_open()
    {
        var august = new DateOnly(2026, 8, 24);
        IBookEvent[] lines = [Pays(first: august), Fixed(Ferry, 30m),
            new MonthClosed(new Month(new DateOnly(2026, 8, 1)), [], "")];

        var filled = Given(lines).When(Fills(august)).ThenWritten();
        Assert.Equal(Today, filled.Book.LastDayMoved(Cash(Ferry), Today));
        Given([.. lines, new MonthClosed(new Month(Sept(1)), [], "")]).Refuses((Fills(august), "month-closed",
            "payday", "2026-09 is closed too, so there is no open month to fill in: reopen it first."));
    }

    [Fact]
    public void The_clock_that_was_ahead_and_fills_by_themselves()
    {
        Given().Refuses(
            (new SayClockWasAhead(3, 4, Sept(23), "clock"), "clock-differs", "today",
                "This machine's clock says that today is 2026-09-24, not 2026-09-23: set it right first, then send "
                    + "this again."),
            (new SayClockWasAhead(0, 0, Today, "clock"), "clock-not-ahead", null,
                "No line of the book is stamped later than now, beside those that a line tells of already: there is "
                    + "nothing to put right."),
            (new SetAutomaticFills(new TimeOnly(6, 0), Sept(23)), "before-today", "from",
                "2026-09-23 is before the household's today, 2026-09-24: the program fills paydays from today on. "
                    + "Fill earlier ones with <FillPayday>."),
            (new SetAutomaticFills(new TimeOnly(6, 0), new DateOnly(2071, 1, 1)), "bank-days-unknown", "from",
                "Bank days are told from 2010-01-01 to 2070-12-31, and 2071-01-01 is not among them."),
            (new SetAutomaticFills(new TimeOnly(6, 0), Today) { DaysAfter = -1 }, "days-out-of-range", "daysAfter",
                "`daysAfter` is how many days after a payday it is filled, 0 to 27."));
        Given().When(new SetAutomaticFills(new TimeOnly(6, 0), Today) { DaysAfter = 27 }).ThenWritten();
        var told = Given(new ClockWasAhead(3, 4, Today, "clock"));
        told.When(new SayClockWasAhead(4, 5, Today, "clock")).ThenRefused("clock-not-ahead");
        told.When(new SayClockWasAhead(5, 6, Today, "clock")).Then(new ClockWasAhead(5, 6, Today, "clock"));
        Assert.Equal((true, true, false), (new ClockWasAhead(3, 4, Today, "").IsAbout(3),
            new ClockWasAhead(3, 4, Today, "").IsAbout(4), new ClockWasAhead(3, 4, Today, "").IsAbout(5)));
    }

    // Ten years at once, from the first day that bank days are told for to the last.
    [Fact]
    public void A_stretch_of_paydays_that_cannot_be_told()
    {
        var first = new DateOnly(2026, 9, 24);

        Assert.Null(Refused(() => Payday.MustBeStretch(first, first)));
        Assert.Null(Refused(() => Payday.MustBeStretch(first, new DateOnly(2036, 9, 23))));
        Assert.Equal(("stretch-too-long", "to",
            "Paydays are told for at most 10 years at once: ask up to 2036-09-23, then for the rest."),
            Refused(() => Payday.MustBeStretch(first, new DateOnly(2036, 9, 24))));
        Assert.Equal(("to-before-from", "to",
            "`to` is 2026-09-23, before `from`, 2026-09-24: write a later day, or leave it out."),
            Refused(() => Payday.MustBeStretch(first, Sept(23))));
        Assert.Equal(("bank-days-unknown", "to",
            "Bank days are told from 2010-01-01 to 2070-12-31, and 2071-01-01 is not among them."),
            Refused(() => Payday.MustBeStretch(new DateOnly(2065, 1, 1), new DateOnly(2071, 1, 1))));
        Assert.Null(Refused(() => BankDate.MustBeTold(BankDate.FirstTold, "day")));
        Assert.Null(Refused(() => BankDate.MustBeTold(BankDate.LastTold, "day")));
    }

    // A payday every bank day and 230 compartments: each payday takes 23,001 steps of the two million that an outlook
    // may, so that 86 fit. From 24 September there are 66 bank days to 24 December and 87 to 24 January.
    [Fact]
    public void An_outlook_that_would_take_too_long_says_how_far_it_goes()
    {
        var given = Given([.. Enumerable.Range(1, 226).Select(n =>
            new CompartmentOpened($"p{n}", "P", "strongbox", Purpose.Saving)), Pays(rule: "1")]);

        Assert.Equal(("outlook-too-long", "months",
            "6 months with 130 paydays, 230 compartments and 0 bills to save for are more than one outlook works "
                + "out: ask for at most 3 months."),
            Refused(() => Outlook.Of(given.Book, Today, new DateOnly(2027, 3, 24), _quay)) is var (code, field, says)
                ? (code, field, says) : default);
    }

    [Fact]
    public void Supposed_pay_stands_in_the_stead_of_the_sources_own()
    {
        var book = Given(Pays(), Pays(source: "quay")).Book.Supposing("office", 0m, "pay.office");

        Assert.Equal((Money.Zero, Eur(100m)), (book.IncomeSources["office"].Amount, book.IncomeSources["quay"].Amount));
        Assert.Equal(("income-source-unknown", "pay.offce",
            "There is no income source 'offce'. <ListIncomeSources> lists them."),
            Refused(() => book.Supposing("offce", 1m, "pay.offce")));
        Assert.Equal(("too-many-decimals", "pay.office",
            "0.001 has 3 decimals, and EUR has 2: write it with at most 2."),
            Refused(() => book.Supposing("office", 0.001m, "pay.office")));
    }
}
