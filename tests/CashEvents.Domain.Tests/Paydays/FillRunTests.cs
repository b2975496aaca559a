using System.Collections.Immutable;
using CsCheck;
using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Paydays;

public class FillRunTests
{
    private static readonly QuayCalendar _quay = new();

    private static IncomeSourceSet Pays(string rule, DateOnly first, decimal? amount,
        string source = "harbour-office") =>
        new(source, source, rule, first, NotBankDay.Previous, amount is { } a ? Eur(a) : null);

    private static StandingPaymentSet Due(DateOnly first, decimal amount,
        StandingPaymentKind kind = StandingPaymentKind.FixedBill) =>
        new($"{kind}", kind, "Due", "month", first, NotBankDay.Next, Eur(amount));

    private static FillRuleSet Fixed(string compartment, decimal amount, int rank = 1, decimal? ceiling = null,
        Holding holding = Holding.Cash) =>
        new(compartment, FillRuleKind.Fixed, Eur(amount), null, ceiling is { } c ? Eur(c) : null, holding, rank, null);

    private static FillRuleSet Rule(string compartment, FillRuleKind kind, int rank = 1, int? share = null,
        decimal? ceiling = null, decimal? roundTo = null) =>
        new(compartment, kind, null, share, ceiling is { } c ? Eur(c) : null, Holding.Cash, rank,
            roundTo is { } r ? Eur(r) : null);

    private static FillPayday Fill(DateOnly payday, decimal? pay = null) => new(payday, pay, null, _ => _quay);

    private static IEnumerable<(string, decimal, decimal)> Amounts(FillRun run) =>
        run.Fills.Select(f => (f.Compartment, f.Cash.Minor / 100m, f.Bank.Minor / 100m));

    [Fact]
    public void Each_rule_wants_what_its_kind_says()
    {
        // Paid on the 1st of September and of October, 30 days: Monday 31 August to 29 September and so on, of which 6
        // days end W36, 21 are W37 to W39 and 3 begin W40.
        var given = Given(
            Pays("month", Sept(1), 1000m), Due(Sept(3), 300m), Due(Sept(4), 100m, StandingPaymentKind.AutomaticSaving),
            new PlanSet(new DateOnly(2026, 8, 31), ImmutableSortedDictionary<string, Money>.Empty.Add(Ferry, Eur(25m))),
            new GoalSet("hull", Boat, "Hull", Eur(240m), new DateOnly(2026, 12, 15), null,
                ImmutableSortedDictionary<DateOnly, Money>.Empty, Sept(1)), new FundTermsSet(Boat, 60, 0),
            Rule(Boat, FillRuleKind.Contribution), Rule(Ferry, FillRuleKind.Weekly, rank: 2),
            Rule(Market, FillRuleKind.Ceiling, rank: 3, ceiling: 80m),
            Rule(Van, FillRuleKind.Share, rank: 4, share: 5_000),
            HarbourRow.Fill(Market, 30m, Sept(1)), HarbourRow.Fill(Boat, 40m, Sept(1)));

        var run = FillRun.Of(Sept(1), null, given.Book, _quay);

        Assert.Equal((Sept(1), new DateOnly(2026, 10, 1), Eur(1000m), Eur(300m), Eur(100m), Eur(600m)),
            (run.Payday, run.Next, run.Pay, run.Bills, run.Savings, run.ToShare));
        // 240.00 less 40.00 over the paydays of September to December; 25.00 × 6/7 = 21.43, three times 25.00, 25.00 ×
        // 3/7 = 10.71; 80.00 less 30.00; half of 392.86.
        Assert.Equal([(Boat, 20m, 30m), (Ferry, 107.14m, 0m), (Market, 50m, 0m), (Van, 196.43m, 0m)], Amounts(run));
        Assert.Equal((Eur(373.57m), Eur(30m), Eur(403.57m), Eur(196.43m), Money.Zero),
            (run.Cash, run.Bank, run.Filled, run.StaysInBank, run.Cut));
    }

    [Fact]
    public void An_overdue_bill_is_part_of_what_a_fund_wants()
    {
        var given = Given(
            Pays("month", Sept(1), 1000m), Rule(Boat, FillRuleKind.Contribution),
            new GoalSet("hull", Boat, "Hull", Eur(100m), Sept(10), null,
                ImmutableSortedDictionary<DateOnly, Money>.Empty, Sept(1)),
            new GoalSet("rig", Boat, "Rig", Eur(90m), new DateOnly(2026, 12, 15), null,
                ImmutableSortedDictionary<DateOnly, Money>.Empty, Sept(1)));

        Assert.Equal([(Boat, 130m, 0m)], Amounts(FillRun.Of(new DateOnly(2026, 10, 1), null, given.Book, _quay)));
    }

    [Fact]
    public void It_is_one_line_dated_on_the_payday_and_one_reversal_undoes_it()
    {
        var given = Given(Pays("month", Sept(1), 100m), Fixed(Ferry, 60m),
            Fixed(Boat, 60m, rank: 2, holding: Holding.Bank));
        var line = given.Book.Line + 1;
        var run = FillRun.Of(Sept(1), null, given.Book, _quay);

        var filled = new PaydayFilled(run, Sept(1), "Payday 2026-09-01");
        var after = given.When(Fill(Sept(1))).Then(filled);

        Assert.Equal((Eur(60m), Eur(40m)), (after.Book.Compartments[Ferry].Cash, after.Book.Compartments[Boat].Bank));
        Assert.Equal(new PaydayMark(line, PaydayState.Filled), after.Book.FillRuns[Sept(1)]);
        Assert.Contains($"line {line}", after.When(Fill(Sept(1), 500m)).ThenRefused("payday-filled", "payday").Detail,
            StringComparison.Ordinal);

        var undone = after.When(new ReverseLine(line, filled, "wrong"))
            .Then(Reversed(line, filled) with { Payday = Sept(1) });
        Assert.Equal((Money.Zero, Money.Zero),
            (undone.Book.Compartments[Ferry].Cash, undone.Book.Compartments[Boat].Bank));
        Assert.Equal(new PaydayMark(line, PaydayState.Undone), undone.Book.FillRuns[Sept(1)]);
        undone.When(Fill(Sept(1))).Then(filled);
    }

    [Fact]
    public void It_is_dated_today_when_its_month_is_closed()
    {
        var given = Given(Pays("month", new DateOnly(2026, 8, 3), 100m), Fixed(Ferry, 60m),
            new MonthClosed(Month.Of(new DateOnly(2026, 8, 1)), [], ""));

        given.When(Fill(new DateOnly(2026, 8, 3)))
            .Then(new PaydayFilled(FillRun.Of(new DateOnly(2026, 8, 3), null, given.Book, _quay), Today,
                "Payday 2026-08-03"));
        Given(Pays("month", Sept(1), 100m), Fixed(Ferry, 60m), new MonthClosed(Month.Of(Sept(1)), [], ""))
            .When(Fill(Sept(1))).ThenRefused("month-closed", "payday");
    }

    [Fact]
    public void It_stands_on_the_day_on_which_the_cash_was_drawn_from_the_payday_on()
    {
        var given = Given(Pays("month", Sept(1), 100m), Fixed(Ferry, 60m));
        var run = FillRun.Of(Sept(1), null, given.Book, _quay);

        var filled = given.When(Fill(Sept(1)) with { OccurredOn = Sept(3) })
            .Then(new PaydayFilled(run, Sept(3), "Payday 2026-09-01"));
        Assert.Equal(Money.Zero, filled.Book.BalanceOn(Cash(Ferry), Sept(2)));
        filled.When(Fill(Sept(1))).ThenRefused("payday-filled", "payday");
        given.When(Fill(Sept(1)) with { OccurredOn = Sept(1) })
            .Then(new PaydayFilled(run, Sept(1), "Payday 2026-09-01"));

        given.When(Fill(Sept(1)) with { OccurredOn = new DateOnly(2026, 8, 31) })
            .ThenRefused("before-payday", "occurredOn");
        given.When(Fill(Sept(1)) with { OccurredOn = Sept(25) }).ThenRefused("after-today", "occurredOn");
        // Closed with the payday in it: the day that was named is open, or it is not.
        var closed = Given(Pays("month", new DateOnly(2026, 8, 31), 100m), Fixed(Ferry, 60m),
            new MonthClosed(Month.Of(new DateOnly(2026, 8, 1)), [], ""));
        closed.When(Fill(new DateOnly(2026, 8, 31)) with { OccurredOn = Sept(2) })
            .Then(new PaydayFilled(FillRun.Of(new DateOnly(2026, 8, 31), null, closed.Book, _quay), Sept(2),
                "Payday 2026-08-31"));
        closed.When(Fill(new DateOnly(2026, 8, 31)) with { OccurredOn = new DateOnly(2026, 8, 31) })
            .ThenRefused("month-closed", "occurredOn");
    }

    [Fact]
    public void Cash_is_filled_in_whole_notes_of_the_household_s_smallest()
    {
        FillRun Run(IBookEvent household) => FillRun.Of(Sept(1), null, Given(
            household, Pays("month", Sept(1), 100m), Fixed(Ferry, 31.20m), Rule(Boat, FillRuleKind.Contribution),
            new FundTermsSet(Boat, 50, 0),
            new GoalSet("hull", Boat, "Hull", Eur(35m), Sept(20), null,
                ImmutableSortedDictionary<DateOnly, Money>.Empty, Sept(1))).Book, _quay);
        var described = new HouseholdDescribed("Harbour Row", "EUR", "Europe/Dublin", DayOfWeek.Monday);

        Assert.Equal([(Ferry, 31.20m, 0m), (Boat, 17.50m, 17.50m)], Amounts(Run(described)));
        Assert.Equal([(Ferry, 35m, 0m), (Boat, 20m, 15m)], Amounts(Run(described with { SmallestNote = Eur(5m) })));
        // There is no coin below five centimes.
        Assert.Equal([(Ferry, 31.20m, 0m), (Boat, 17.50m, 17.50m)], Amounts(Run(described with { Currency = "CHF" })));
        Assert.Equal([(Ferry, 40m, 0m), (Boat, 20m, 15m)],
            Amounts(Run(described with { Currency = "CHF", SmallestNote = Eur(20m) })));
    }

    [Fact]
    public void What_can_not_be_filled_is_refused()
    {
        Given(Fixed(Ferry, 60m)).When(Fill(Sept(1))).ThenRefused("payday-unknown", "payday");
        Given(Pays("month", Sept(1), 100m)).When(Fill(Sept(1))).ThenRefused("fill-rules-missing");
        Given(Pays("month", Sept(1), null), Fixed(Ferry, 60m)).When(Fill(Sept(1))).ThenRefused("pay-missing", "pay");
        Given(Pays("month", Sept(1), 100m), Fixed(Ferry, 60m)).When(Fill(new DateOnly(2026, 10, 1)))
            .ThenRefused("after-today", "payday");
        Given(Pays("month", Sept(1), 100m), Due(Sept(3), 100m), Fixed(Ferry, 60m)).When(Fill(Sept(1)))
            .ThenRefused("nothing-to-fill");
        Given(Pays("month", Sept(1), 100m), Fixed(Ferry, 60m, ceiling: 5m), HarbourRow.Fill(Ferry, 5m))
            .When(Fill(Sept(1))).ThenRefused("nothing-to-fill");
        Given(Pays("month", Sept(1), 100m), Fixed(Van, 60m), new CompartmentClosed(Van)).When(Fill(Sept(1)))
            .ThenRefused("fill-rules-missing");
    }

    [Fact]
    public void The_program_fills_what_it_may_and_leaves_what_it_can_not()
    {
        var automatic = new FillPaydayAutomatically(Sept(1), _ => _quay);
        var set = new AutomaticFillsSet(new TimeOnly(6, 30), Sept(1));
        var given = Given(Pays("month", Sept(1), 100m), Fixed(Ferry, 60m), set);

        var filled = given.When(automatic)
            .Then(new PaydayFilled(FillRun.Of(Sept(1), null, given.Book, _quay), Sept(1), "Payday 2026-09-01"));
        filled.When(automatic).ThenNothing();
        Given(Pays("month", Sept(1), 100m), Fixed(Ferry, 60m)).When(automatic).ThenNothing();
        Given(Pays("month", Sept(1), 100m), Fixed(Ferry, 60m), set with { From = Sept(2) }).When(automatic)
            .ThenNothing();
        Given(Pays("month", Sept(2), 100m), Fixed(Ferry, 60m), set).When(automatic).ThenNothing();
        given.When(automatic with { Payday = new DateOnly(2026, 10, 1) }).ThenNothing();

        var left = Given(Pays("month", Sept(1), null), Fixed(Ferry, 60m), set).When(automatic)
            .Then(new PaydayLeft(Sept(1),
                "harbour-office pays on 2026-09-01 as it comes: send `pay`, what was paid in all."));
        left.When(automatic).ThenNothing();
        Assert.Equal(PaydayState.Left, left.Book.FillRuns[Sept(1)].State);
        left.When(Fill(Sept(1), 90m)).ThenHolds((Cash(Ferry), 60m));
    }

    [Fact]
    public void The_program_fills_so_many_days_after_the_payday_as_it_is_told()
    {
        var automatic = new FillPaydayAutomatically(Sept(1), _ => _quay);
        var set = new AutomaticFillsSet(new TimeOnly(6, 30), Sept(1)) { DaysAfter = 3 };
        var given = Given(Pays("month", Sept(1), 100m), Fixed(Ferry, 60m), set);

        given.When(automatic, today: Sept(3)).ThenNothing();
        given.When(automatic, today: Sept(4))
            .Then(new PaydayFilled(FillRun.Of(Sept(1), null, given.Book, _quay), Sept(4), "Payday 2026-09-01"));
        // Late, it is dated as it would have been.
        given.When(automatic).Then(
            new PaydayFilled(FillRun.Of(Sept(1), null, given.Book, _quay), Sept(4), "Payday 2026-09-01"));
        var closed = Given(Pays("month", Sept(1), 100m), Fixed(Ferry, 60m), set,
            new MonthClosed(Month.Of(Sept(1)), [], ""));
        closed.When(automatic, today: new DateOnly(2026, 10, 2))
            .Then(new PaydayFilled(FillRun.Of(Sept(1), null, closed.Book, _quay), new DateOnly(2026, 10, 2),
                "Payday 2026-09-01"));

        var at = new SetAutomaticFills(new TimeOnly(6, 30), Today);
        var told = Given().When(at with { DaysAfter = 3 }).Then(set with { From = Today });
        told.When(at with { DaysAfter = 3 }).ThenNothing();
        told.When(at with { DaysAfter = 0 }).Then(set with { From = Today, DaysAfter = null });
        told.When(at with { DaysAfter = -1 }).ThenRefused("days-out-of-range", "daysAfter");
        told.When(at with { DaysAfter = 28 }).ThenRefused("days-out-of-range", "daysAfter");
    }

    [Fact]
    public void Automatic_fills_begin_today_or_later()
    {
        var at = new TimeOnly(6, 30);
        Given().When(new SetAutomaticFills(at, Today)).Then(new AutomaticFillsSet(at, Today))
            .When(new SetAutomaticFills(at, Today)).ThenNothing();
        Given().When(new SetAutomaticFills(at, Today.AddDays(-1))).ThenRefused("before-today", "from");
        // Another time for those that have begun.
        Given(new AutomaticFillsSet(at, Sept(1))).When(new SetAutomaticFills(new TimeOnly(7, 0), Sept(1)))
            .Then(new AutomaticFillsSet(new TimeOnly(7, 0), Sept(1)));
        Given().When(new StopAutomaticFills()).ThenNothing();
        Given(new AutomaticFillsSet(at, Today)).When(new StopAutomaticFills()).Then(new AutomaticFillsStopped());
    }

    private static readonly Gen<FillRuleSet> _rule = Gen.Select(
        Gen.Int[0, 4], Gen.Int[0, 3], Gen.Long[1, 40_000], Gen.Int[1, 10_000], Gen.Long[-20_000, 60_000], Gen.Int[1, 3],
        Gen.Select(Gen.Bool, Gen.Int[0, 3])).Select((kind, place, amount, share, ceiling, rank, more) =>
        {
            var compartment = new[] { Ferry, Market, Van, Boat }[place];
            var of = kind == 0 && place < 2 ? FillRuleKind.Weekly : kind == 0 && place == 3
                ? FillRuleKind.Contribution
                : kind == 1 ? FillRuleKind.Share : kind == 2 ? FillRuleKind.Ceiling : FillRuleKind.Fixed;
            return new FillRuleSet(
                compartment, of, of == FillRuleKind.Fixed ? new Money(amount) : null,
                of == FillRuleKind.Share ? share : null,
                of == FillRuleKind.Ceiling || ceiling > 0 ? new Money(Math.Max(1, Math.Abs(ceiling))) : null,
                of != FillRuleKind.Contribution && more.Item1 ? Holding.Bank : Holding.Cash, rank,
                more.Item2 == 0 ? null : Eur(new[] { 0m, 5m, 10m, 0.01m }[more.Item2]));
        });

    [Fact]
    public void Over_paydays_in_turn_what_is_said_is_what_is_done_and_undoing_it_brings_every_balance_back() =>
        Gen.Select(_rule.Array[1, 5], Gen.Long[1, 200_000], Gen.Long[1, 60_000], Gen.Long[0, 15_000],
            Gen.Long[1, 90_000], Gen.Int[0, 100]).Sample((rules, pay, bill, weekly, goal, bankPercent) =>
        {
            var book = Given(
            [
                Pays("7", Sept(1), pay / 100m), Due(Sept(3), bill / 100m),
                new PlanSet(new DateOnly(2026, 8, 31),
                    ImmutableSortedDictionary<string, Money>.Empty.Add(Ferry, new Money(weekly))
                        .Add(Market, new Money(weekly / 2))),
                new GoalSet("hull", Boat, "Hull", new Money(goal), new DateOnly(2026, 11, 15), null,
                    ImmutableSortedDictionary<DateOnly, Money>.Empty, Sept(1)), new FundTermsSet(Boat, bankPercent, 0),
                HarbourRow.Fill(Boat, 12.34m, Sept(1)), .. rules,
            ]).Book;
            for (var payday = Sept(1); payday <= Today; payday = payday.AddDays(7))
            {
                var said = Fill(payday).WorkOut(book);
                Assert.Equal(said.Pay, said.Bills + said.Savings + said.Filled + said.StaysInBank);
                Assert.True(said.StaysInBank >= Money.Zero
                    || (said.Filled == Money.Zero && said.ToShare == said.StaysInBank));
                if (said.Filled == Money.Zero)
                {
                    continue;
                }

                var (lines, after) = book.Decide(Fill(payday), Today);
                var filled = Assert.IsType<PaydayFilled>(Assert.Single(lines));
                Assert.Equal(Written.Line(new PaydayFilled(said, payday, filled.Description)), Written.Line(filled));
                foreach (var fill in said.Fills)
                {
                    var (had, has) = (book.Compartments[fill.Compartment], after.Compartments[fill.Compartment]);
                    Assert.Equal((had.Cash + fill.Cash, had.Bank + fill.Bank), (has.Cash, has.Bank));
                    Assert.True(fill.Amount == Money.Zero || book.FillRules[fill.Compartment].Ceiling is not { } ceiling
                        || has.Cash + has.Bank <= ceiling);
                }

                var undone = after.Decide(new ReverseLine(after.Line, filled, "wrong"), Today).After;
                Assert.Equal(Balances(book), Balances(undone));
                Assert.Equal(Written.Line(filled), Written.Line(undone.Decide(Fill(payday), Today).Lines[0]));
                book = after;
            }
        });

    private static string Balances(Book book) =>
        string.Join(' ', book.Compartments.Values.OrderBy(c => c.Line)
            .Select(c => $"{c.Id} {c.Cash.Minor} {c.Bank.Minor}"));

    [Fact]
    public void Whoever_fills_may_choose_amounts_and_the_others_stay()
    {
        var book = Given(Pays("month", Sept(1), 500m), Fixed(Ferry, 60m), Fixed(Market, 80m),
            Fixed(Boat, 30m, holding: Holding.Bank)).Book;

        var run = (Fill(Sept(1)) with
        {
            Amounts = new Dictionary<string, FillAmount>
            { [Ferry] = new(75m, null), [Boat] = new(null, 10m), [Market] = new(80m, null) },
        }).WorkOut(book);

        Assert.Equal([(Ferry, 75m, 0m), (Market, 80m, 0m), (Boat, 0m, 10m)], Amounts(run));
        Assert.Equal([Eur(15m), null, Eur(-20m)], run.Fills.Select(fill => fill.Changed));
        Assert.All(run.Fills, fill => Assert.Equal(Money.Zero, fill.Rounding));
        Assert.Equal(Eur(335m), run.StaysInBank);
    }

    [Theory]
    [InlineData(Ferry, "-5", null, "amount-negative", "amounts.ferry-fares.cash")]
    [InlineData(Ferry, null, "0.001", "too-many-decimals", "amounts.ferry-fares.bank")]
    [InlineData(Ferry, "7", null, "amount-not-in-notes", "amounts.ferry-fares.cash")]
    [InlineData(Ferry, "505", null, "fills-above-pay", "amounts.ferry-fares.cash")]
    [InlineData(Ferry, "425", null, "fills-above-pay", "amounts")]
    [InlineData(Market, "5", null, "fill-rule-unknown", "amounts.market-days")]
    [InlineData("lighthouse", "5", null, "compartment-unknown", "amounts.lighthouse")]
    public void An_amount_that_can_not_be_given_is_refused(string compartment, string? cash, string? bank, string code,
        string field)
    {
        var book = Given(new HouseholdDescribed("Harbour Row", "EUR", "Europe/Dublin", DayOfWeek.Monday)
        { SmallestNote = Eur(5m) }, Pays("month", Sept(1), 500m), Fixed(Ferry, 60m), Fixed(Van, 80m)).Book;
        static decimal? Read(string? written) => written is null ? null : decimal.Parse(written);

        var refused = Assert.Throws<RefusalException>(() => (Fill(Sept(1)) with
        { Amounts = new Dictionary<string, FillAmount> { [compartment] = new(Read(cash), Read(bank)) } })
            .WorkOut(book));

        Assert.Equal((code, field), (refused.Refusal.Code, refused.Refusal.Field));
    }
}
