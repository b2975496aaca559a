using System.Collections.Immutable;
using CsCheck;
using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Paydays;

public class OutlookTests
{
    private static readonly QuayCalendar _quay = new();
    private static readonly DateOnly _tomorrow = Today.AddDays(1);

    private static IncomeSourceSet Pays(string rule, DateOnly first, decimal? amount,
        string source = "harbour-office") =>
        new(source, source, rule, first, NotBankDay.Previous, amount is { } a ? Eur(a) : null);

    private static StandingPaymentSet Due(DateOnly first, decimal amount) =>
        new("quay-rent", StandingPaymentKind.FixedBill, "Quay rent", "month", first, NotBankDay.Next, Eur(amount));

    private static FillRuleSet Rule(string compartment, FillRuleKind kind, decimal? amount = null, int rank = 1) =>
        new(compartment, kind, amount is { } a ? Eur(a) : null, null, null, Holding.Cash, rank, null);

    private static PlanSet Weekly(string compartment, decimal amount, DateOnly? from = null) =>
        new(from ?? new DateOnly(2026, 8, 31),
            ImmutableSortedDictionary<string, Money>.Empty.Add(compartment, Eur(amount)));

    private static GoalSet Goal(string id, decimal amount, DateOnly due, string? every = null) =>
        new(id, Boat, id, Eur(amount), due, every, ImmutableSortedDictionary<DateOnly, Money>.Empty, Sept(1));

    private static SavingPlanSet Saves(decimal first, decimal growth, int count, DateOnly from, string every = "P1W") =>
        new(Van, new SavingSteps(Eur(first), Eur(growth), count, [], null), from, every);

    private static OutlookRow Row(Outlook outlook, int stretch, string compartment) =>
        outlook.Stretches[stretch].Rows.Single(row => row.Compartment == compartment);

    private static IEnumerable<(DateOnly, ShortOf, string?, decimal)> Shorts(Outlook outlook) =>
        outlook.Shortages.Select(s => (s.On, s.Of, s.Compartment, s.Missing.Minor / 100m));

    [Fact]
    public void From_payday_to_payday_compartments_are_filled_by_rule_and_spent_down_by_plan()
    {
        // Today is Thursday 24 September; paid on the 1st of each month. 7.00 a week is 1.00 a day.
        var book = Given(Pays("month", Sept(1), 100m), Due(Sept(3), 60m), Weekly(Ferry, 7m),
            Rule(Ferry, FillRuleKind.Weekly), Fill(Ferry, 10m), Fill(Ferry, 0.50m, holding: Holding.Bank)).Book;

        var outlook = Outlook.Of(book, Today, new DateOnly(2026, 11, 10), _quay);

        Assert.Equal(
            [(Today, Sept(30)), (new DateOnly(2026, 10, 1), new DateOnly(2026, 10, 29)),
                (new DateOnly(2026, 10, 30), new DateOnly(2026, 11, 10))],
            outlook.Stretches.Select(s => (s.From, s.Until)));
        Assert.Null(outlook.Stretches[0].Run);
        // Six days from tomorrow to the 30th; then October to the 29th, since the 1st of November is a Sunday; then the
        // days to the end of the outlook of 32 that were filled for.
        Assert.Equal((Eur(10.50m), Eur(6m), new Parts(Eur(4m), Eur(0.50m))),
            (Row(outlook, 0, Ferry).Opening.Total, Row(outlook, 0, Ferry).Spent, Row(outlook, 0, Ferry).Lowest));
        Assert.Equal((Eur(29m), Eur(33.50m), Eur(29m), Eur(4.50m)),
            (Row(outlook, 1, Ferry).Filled.Total, Row(outlook, 1, Ferry).Balance.Total, Row(outlook, 1, Ferry).Spent,
                Row(outlook, 1, Ferry).Lowest.Total));
        Assert.Equal((Eur(32m), Eur(12m), Eur(24.50m)),
            (Row(outlook, 2, Ferry).Filled.Total, Row(outlook, 2, Ferry).Spent, Row(outlook, 2, Ferry).Lowest.Total));
        Assert.Equal([Money.Zero, Eur(11m), Eur(19m)], outlook.Stretches.Select(s => s.StayedInBank));
        Assert.Empty(outlook.Shortages);
        Assert.Null(outlook.LastPayday);
    }

    [Fact]
    public void A_plan_is_short_on_the_day_that_its_money_does_not_reach_and_waits_for_the_next_fill()
    {
        var book = Given(Pays("month", Sept(1), 100m), Weekly(Ferry, 7m), Rule(Ferry, FillRuleKind.Fixed, 40m),
            Fill(Ferry, 2.50m)).Book;

        var outlook = Outlook.Of(book, Today, new DateOnly(2026, 10, 10), _quay);

        // 1.00 on the 25th and the 26th, and 0.50 is left for the 27th; to the 30th that and three days more are
        // missing.
        Assert.Equal([(Sept(27), ShortOf.Plan, Ferry, 3.50m)], Shorts(outlook));
        Assert.Equal((Eur(2.50m), Money.Zero), (Row(outlook, 0, Ferry).Spent, Row(outlook, 0, Ferry).Lowest.Total));
        Assert.Equal(Eur(30m), Row(outlook, 1, Ferry).Lowest.Total);
    }

    [Fact]
    public void A_bill_is_paid_on_its_due_date_from_cash_first_and_comes_again()
    {
        var book = Given(Pays("month", Sept(1), 100m), Goal("mooring", 30m, Sept(28), "P1M"),
            Rule(Boat, FillRuleKind.Fixed, 30m), Fill(Boat, 20m), Fill(Boat, 15m, holding: Holding.Bank)).Book;

        var outlook = Outlook.Of(book, Today, new DateOnly(2026, 10, 31), _quay);

        Assert.Equal((Eur(30m), new Parts(Money.Zero, Eur(5m))),
            (Row(outlook, 0, Boat).Bills, Row(outlook, 0, Boat).Lowest));
        Assert.Equal((new Parts(Eur(30m), Eur(5m)), Eur(30m), new Parts(Money.Zero, Eur(5m))),
            (Row(outlook, 1, Boat).Balance, Row(outlook, 1, Boat).Bills, Row(outlook, 1, Boat).Lowest));
        Assert.Empty(outlook.Shortages);
    }

    [Fact]
    public void A_bill_that_can_not_be_met_stays_open_with_those_after_it_until_a_fill_covers_them()
    {
        var book = Given(
            Pays("month", Sept(1), 100m), Goal("hull", 50m, Sept(26)), Goal("rig", 10m, Sept(28)),
            Goal("sail", 5m, Sept(10)), Rule(Boat, FillRuleKind.Fixed, 35m), Fill(Boat, 21m)).Book;

        var outlook = Outlook.Of(book, Today, new DateOnly(2026, 12, 10), _quay);

        // 5.00 is overdue and paid at once, 16.00 are there for the hull; with 35.00 in October it is met, and in the
        // second month the rig.
        Assert.Equal([(Sept(26), ShortOf.Bill, Boat, 34m), (Sept(28), ShortOf.Bill, Boat, 10m)], Shorts(outlook));
        Assert.Equal(["hull", "rig"], outlook.Shortages.Select(s => s.Bill!.Goal));
        Assert.Equal([5m, 50m, 10m, 0m], Enumerable.Range(0, 4).Select(n => Row(outlook, n, Boat).Bills.Minor / 100m));
    }

    [Fact]
    public void The_bank_is_short_of_what_neither_the_pay_nor_what_stayed_before_covers()
    {
        var book = Given(Pays("month", Sept(1), 60m), Pays("once", Today, 25m, "net-mending"), Due(Sept(3), 70m),
            Rule(Ferry, FillRuleKind.Fixed, 10m)).Book;

        var outlook = Outlook.Of(book, Today, new DateOnly(2026, 12, 10), _quay);

        // 15.00 stay today, then bills take 10.00 more than each pay: 5.00 are left of it in October, and in the end of
        // that month 5.00 are missing, then 10.00 and 10.00.
        Assert.Equal([15m, 5m, -5m, -15m], outlook.Stretches.Select(s => s.StayedInBank.Minor / 100m));
        Assert.Equal([(new DateOnly(2026, 10, 30), ShortOf.Bank, null, 5m),
            (new DateOnly(2026, 12, 1), ShortOf.Bank, null, 10m)], Shorts(outlook));
    }

    [Fact]
    public void Steps_of_a_saving_plan_are_put_aside_on_their_days_from_what_stays_in_the_bank()
    {
        // 1.00 was due on Sunday the 20th and is put aside today, 2.00 are due on the 27th, then 3.00, 4.00 and 5.00,
        // the last on 18 October.
        var book = Given(Pays("month", Sept(1), 100m), Saves(1m, 1m, 5, Sept(20)), Rule(Ferry, FillRuleKind.Fixed, 94m),
            Rule(Van, FillRuleKind.Fixed, 1m)).Book;

        var outlook = Outlook.Of(book, Today, new DateOnly(2026, 11, 10), _quay);

        Assert.Equal([(0m, 3m), (1m, 12m), (1m, 0m)],
            Enumerable.Range(0, 3).Select(
                n => (Row(outlook, n, Van).Filled.Total.Minor / 100m, Row(outlook, n, Van).Saved.Minor / 100m)));
        Assert.Equal(
            [(new Parts(Money.Zero, Money.Zero), Eur(3m)), (new Parts(Eur(4m), Money.Zero), Eur(16m)),
                (new Parts(Eur(17m), Money.Zero), Eur(17m))],
            Enumerable.Range(0, 3).Select(n => (Row(outlook, n, Van).Lowest, Row(outlook, n, Van).Closing.Total)));
        // 5.00 stay of October's pay: 3.00 on the 4th leave 2.00, so 2.00 of the 4.00 on the 11th are missing and all
        // 5.00 on the 18th. November's 5.00 are not enough to make up for it.
        Assert.Equal([0m, -7m, -2m], outlook.Stretches.Select(s => s.StayedInBank.Minor / 100m));
        Assert.Equal([(new DateOnly(2026, 10, 11), ShortOf.Step, Van, 7m)], Shorts(outlook));
    }

    [Fact]
    public void A_step_that_is_done_is_not_put_aside_again_and_one_that_was_undone_is()
    {
        var done = Given(Saves(1m, 1m, 3, Sept(20)), Fill(Van, 1m) with { Step = new DoneStep(FirstLine, 1) });
        var undone = done.Book.Apply(Reversed(FirstLine + 1, Fill(Van, 1m)) with { Step = new DoneStep(FirstLine, 1) });

        Assert.Equal((Eur(5m), Eur(6m)),
            (Row(Outlook.Of(done.Book, Today, new DateOnly(2026, 10, 4), _quay), 0, Van).Saved,
                Row(Outlook.Of(undone, Today, new DateOnly(2026, 10, 4), _quay), 0, Van).Saved));
        Assert.Equal(Eur(2m), Row(Outlook.Of(done.Book, Today, new DateOnly(2026, 10, 3), _quay), 0, Van).Saved);
    }

    [Fact]
    public void Steps_of_a_closed_compartment_are_left_out()
    {
        var outlook = Outlook.Of(Given(Saves(1m, 1m, 3, Sept(20)), new CompartmentClosed(Van)).Book, Today, Sept(30),
            _quay);

        Assert.Equal(Money.Zero, outlook.Stretches[0].BankNeeded.Steps);
    }

    [Fact]
    public void What_the_bank_has_to_hold_is_the_bank_parts_and_what_leaves_it_before_the_next_payday()
    {
        // The quay's rent of 60.00 leaves on the 28th, 2.00 are put aside on the 27th; the hull's 15.00 and the ferry's
        // 4.00 lie in the bank.
        var book = Given(
            Pays("month", Sept(1), 100m), Due(Sept(28), 60m), Saves(2m, 0m, 2, Sept(27)),
            Rule(Boat, FillRuleKind.Contribution), new FundTermsSet(Boat, 100, 0),
            Goal("hull", 25m, new DateOnly(2026, 10, 20)),
            Fill(Boat, 15m, holding: Holding.Bank), Fill(Ferry, 4m, holding: Holding.Bank)).Book;

        var outlook = Outlook.Of(book, Today, new DateOnly(2026, 11, 10), _quay);

        Assert.Equal(new BankNeeded(Eur(19m), Eur(60m), Money.Zero, Eur(2m)), outlook.Stretches[0].BankNeeded);
        Assert.Equal(Eur(81m), outlook.Stretches[0].BankNeeded.Total);
        // On the 1st of October 10.00 more are there for the hull, and the rent and 2.00 are to come.
        Assert.Equal(new BankNeeded(Eur(29m), Eur(60m), Money.Zero, Eur(2m)), outlook.Stretches[1].BankNeeded);
        Assert.Equal(new BankNeeded(Eur(4m), Eur(60m), Money.Zero, Money.Zero), outlook.Stretches[2].BankNeeded);
    }

    [Fact]
    public void What_leaves_the_bank_before_the_next_payday_is_needed_though_the_outlook_ends_before()
    {
        // The quay's rent of 60.00 leaves on the 28th; 2.00 are put aside on 27 September and every week.
        var book = Given(Pays("month", Sept(1), 100m), Due(Sept(28), 60m), Saves(2m, 0m, 8, Sept(27))).Book;

        var (september, october) =
            (Outlook.Of(book, Today, Sept(26), _quay), Outlook.Of(book, Today, new DateOnly(2026, 10, 10), _quay));

        Assert.Equal(new BankNeeded(Money.Zero, Eur(60m), Money.Zero, Eur(2m)),
            september.Stretches.Single().BankNeeded);
        Assert.Equal(september.Stretches[0].BankNeeded, october.Stretches[0].BankNeeded);
        // November is paid on Friday the 30th: the steps of 4, 11, 18 and 25 October come before, though only the first
        // is in the outlook.
        Assert.Equal(new BankNeeded(Money.Zero, Eur(60m), Money.Zero, Eur(8m)), october.Stretches[1].BankNeeded);
        Assert.Equal(Eur(2m), Row(october, 1, Van).Saved);
    }

    [Fact]
    public void What_the_bank_pays_today_is_paid()
    {
        var outlook = Outlook.Of(Given(Pays("month", Sept(1), 100m), Due(Today, 60m)).Book, Today, Sept(30), _quay);

        Assert.Equal(Money.Zero, outlook.Stretches.Single().BankNeeded.Total);
    }

    [Fact]
    public void A_payday_today_is_filled_unless_a_run_fills_it_already()
    {
        var book = Given(Pays("7", Today, 100m), Rule(Ferry, FillRuleKind.Fixed, 10m)).Book;
        var filled = book.Decide(new FillPayday(Today, null, null, _ => _quay), Today).After;

        Assert.Equal(Today, Outlook.Of(book, Today, _tomorrow, _quay).Stretches[0].Run!.Payday);
        Assert.Null(Outlook.Of(filled, Today, _tomorrow, _quay).Stretches[0].Run);
        Assert.Equal(Eur(10m), Row(Outlook.Of(filled, Today, _tomorrow, _quay), 0, Ferry).Lowest.Total);
    }

    [Fact]
    public void Pay_that_comes_as_it_comes_is_counted_as_nothing()
    {
        var book = Given(Pays("7", Today, null), Rule(Ferry, FillRuleKind.Fixed, 10m)).Book;

        var stretch = Outlook.Of(book, Today, _tomorrow, _quay).Stretches[0];

        Assert.Equal((Money.Zero, Eur(10m), Money.Zero),
            (stretch.Run!.Pay, stretch.Run.Cut, stretch.Rows[0].Balance.Total));
    }

    [Fact]
    public void A_payday_that_none_follows_is_told_and_not_filled()
    {
        var outlook = Outlook.Of(
            Given(Pays("once", Sept(28), 100m), Rule(Ferry, FillRuleKind.Fixed, 10m), Fill(Ferry, 3m)).Book, Today,
            Sept(30), _quay);

        Assert.Equal((Sept(28), Sept(30)), (outlook.LastPayday, outlook.Stretches.Single().Until));
        Assert.Null(outlook.Stretches[0].Run);
        Assert.Equal(Eur(3m), Row(outlook, 0, Ferry).Lowest.Total);
        Assert.Null(Outlook.Of(Given(Fill(Ferry, 3m)).Book, Today, Sept(30), _quay).LastPayday);
    }

    [Fact]
    public void Closed_compartments_are_left_out()
    {
        var outlook = Outlook.Of(
            Given(Pays("7", Today, 100m), Rule(Van, FillRuleKind.Fixed, 10m), new CompartmentClosed(Van)).Book, Today,
            _tomorrow, _quay);

        Assert.Equal([Ferry, Market, Boat], outlook.Stretches[0].Rows.Select(row => row.Compartment));
    }

    private static readonly Gen<IBookEvent> _line = Gen.OneOf<IBookEvent>(
        Gen.Select(Gen.Int[0, 3], Gen.Int[0, 4], Gen.Long[1, 30_000], Gen.Int[1, 10_000], Gen.Long[1, 60_000],
            Gen.Int[1, 3], Gen.Int[0, 7]).Select((place, kind, amount, share, ceiling, rank, more) =>
        {
            var of = kind switch
            {
                0 when place < 2 => FillRuleKind.Weekly,
                0 or 4 when place == 3 => FillRuleKind.Contribution,
                1 => FillRuleKind.Share,
                2 => FillRuleKind.Ceiling,
                _ => FillRuleKind.Fixed,
            };
            return (IBookEvent)new FillRuleSet(
                new[] { Ferry, Market, Van, Boat }[place], of, of == FillRuleKind.Fixed ? new Money(amount) : null,
                of == FillRuleKind.Share ? share : null,
                of == FillRuleKind.Ceiling || more % 2 == 0 ? new Money(ceiling) : null,
                of != FillRuleKind.Contribution && more % 3 == 0 ? Holding.Bank : Holding.Cash, rank,
                more < 4 ? null : Eur(5m));
        }),
        Gen.Select(Gen.Int[0, 1], Gen.Int[-3, 12], Gen.Long[0, 15_000])
            .Select((place, week, amount) =>
                (IBookEvent)Weekly(new[] { Ferry, Market }[place], amount / 100m,
                    new DateOnly(2026, 9, 21).AddDays(7 * week))),
        Gen.Select(Gen.Int[0, 3], Gen.Int[-40, 200], Gen.Long[1, 40_000],
            Gen.OneOf(Gen.Const((string?)null), Gen.Const((string?)"P1M"), Gen.Const((string?)"P3M"),
                Gen.Const((string?)"P10D")))
                .Select((goal, due, amount, every) =>
                    (IBookEvent)Goal($"goal-{goal}", amount / 100m, Today.AddDays(due), every)),
        Gen.Select(Gen.Int[0, 3], Gen.Long[1, 30_000], Gen.Bool)
            .Select((place, amount, bank) =>
                (IBookEvent)Fill(new[] { Ferry, Market, Van, Boat }[place], amount / 100m, Today,
                    bank ? Holding.Bank : Holding.Cash)),
        Gen.Select(Gen.Int[0, 100], Gen.Int[0, 3_000])
            .Select((bank, interest) => (IBookEvent)new FundTermsSet(Boat, bank, interest)),
        Gen.Select(Gen.Long[1, 5_000], Gen.Long[0, 1_000], Gen.Int[1, 12], Gen.Int[-40, 60],
            Gen.OneOf(Gen.Const("P1W"), Gen.Const("P3D"), Gen.Const("P1M")))
            .Select((amount, growth, count, from, every) =>
                (IBookEvent)Saves(amount / 100m, growth / 100m, count, Today.AddDays(from), every)),
        Gen.Select(Gen.Int[-40, 30], Gen.Long[1, 60_000])
            .Select((first, amount) => (IBookEvent)Due(Today.AddDays(first), amount / 100m)),
        Gen.Select(Gen.Int[-20, 20], Gen.Int[9, 45], Gen.Long[1, 90_000])
            .Select((first, apart, amount) =>
                (IBookEvent)Pays($"{apart}", Today.AddDays(first), amount / 100m, "net-mending")));

    [Fact]
    public void It_is_what_living_the_days_one_by_one_comes_to() =>
        Gen.Select(_line.Array[1, 18], Gen.Int[-20, 10],
            Gen.OneOf(Gen.Const("month"), Gen.Const("7"), Gen.Const("14"), Gen.Const("20")), Gen.Long[1, 200_000],
            Gen.Enum<DayOfWeek>(), Gen.Int[0, 150], Gen.Bool)
            .Sample((lines, first, rule, pay, startsOn, days, filled) =>
        {
            var book = Given([new HouseholdDescribed("Harbour Row", "EUR", "Europe/Dublin", startsOn),
                Pays(rule, Today.AddDays(first), pay / 100m), Rule(Ferry, FillRuleKind.Weekly), .. lines]).Book;
            if (filled && Payday.Next(Today, book, _quay) == Today)
            {
                book = book.Apply(new PaydayFilled(FillRun.Of(Today, null, book, _quay), Today, ""));
            }

            var outlook = Outlook.Of(book, Today, Today.AddDays(days), _quay);
            // The bank holds today what it needs, and on a payday nothing more than the bank parts.
            var lived = LivedDayByDay.Of(book, Today, Today.AddDays(days), _quay,
                inBank: outlook.Stretches[0].Run is null
                ? outlook.Stretches[0].BankNeeded.Total.Minor
                : book.Compartments.Values.Where(c => !c.Closed).Sum(c => c.Bank.Minor));

            var runs = outlook.Stretches.Where(s => s.Run is not null).ToList();
            Assert.Equal(lived.Filled,
                runs.SelectMany(s => s.Rows.Select(
                    r => (s.From, r.Compartment, r.Balance.Cash.Minor, r.Balance.Bank.Minor))));
            Assert.Equal(lived.Closing,
                outlook.Stretches.SelectMany(
                    s => s.Rows.Select(r => (s.Until, r.Compartment, r.Closing.Cash.Minor, r.Closing.Bank.Minor))));
            Assert.Equal(lived.Lowest,
                outlook.Stretches.SelectMany(s => s.Rows.Select(r => (s.Until, r.Compartment, r.Lowest.Total.Minor))));
            Assert.Equal(lived.StayedInBank, runs.Select(s => s.StayedInBank.Minor));
            Assert.All(lived.InBank.Zip(outlook.Stretches),
                s => Assert.Equal(s.First, s.Second.StayedInBank.Minor + s.Second.Rows.Sum(r => r.Closing.Bank.Minor)));
            Assert.True(lived.InBank.Count >= outlook.Stretches.Count - 1);
            Assert.Equal(lived.Shortages.Order(),
                outlook.Shortages.Select(s => (s.On, s.Of, s.Compartment, s.Bill?.Due, s.Missing.Minor)).Order());
            Assert.Equal(outlook.Shortages.Select(s => s.On).Order(), outlook.Shortages.Select(s => s.On));
            Assert.All(outlook.Stretches.SelectMany(s => s.Rows),
                r => Assert.Equal(r.Opening.Total + r.Interest + r.Filled.Total + r.Saved - r.Spent - r.Bills,
                    r.Closing.Total));
            Assert.All(outlook.Stretches, stretch => Assert.All(stretch.Rows, r =>
            {
                Assert.Equal(r.Closing.Total, r.Moves.Aggregate(r.Balance.Total, (left, move) => left + move.Amount));
                Assert.Equal(r.Bills.Minor,
                    r.Moves.Where(move => move.Bill is not null).Sum(move => -move.Amount.Minor));
                Assert.All(r.Moves, move => Assert.InRange(move.On, stretch.From, stretch.Until));
                Assert.Equal(r.Moves.Select(move => move.On).Order(), r.Moves.Select(move => move.On));
            }));
            if (Payday.Next(Today, book, _quay) == Today)
            {
                Assert.Equal(FillRun.Of(Today, null, book, _quay).Fills.AsEnumerable(),
                    outlook.Stretches[0].Run!.Fills);
            }
        });
}
