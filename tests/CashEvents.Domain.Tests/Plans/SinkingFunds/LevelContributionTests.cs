using System.Collections.Immutable;
using System.Globalization;
using CsCheck;
using Google.OrTools.LinearSolver;
using Microsoft.VisualBasic;
using static CashEvents.Domain.Tests.Books.HarbourRow;

namespace CashEvents.Domain.Tests.Plans;

/// <summary>
/// The least contribution that is never short, against a fund kept by hand, linear programming and the tables.
/// </summary>
public class LevelContributionTests
{
    private static readonly DateOnly[] _firsts =
        [.. Enumerable.Range(0, 90).Select(m => new DateOnly(2026, 10, 1).AddMonths(m))];

    private static SinkingFund Fund(decimal there, params (DateOnly Due, decimal Amount)[] bills) =>
        new(Eur(there), Money.Zero, 0, 0m, [.. bills.Select(b => new Bill("boat", Today, b.Due, Eur(b.Amount)))]);

    private static FundSchedule Schedule(SinkingFund fund) =>
        new(fund, [.. _firsts.TakeWhile(p => p <= fund.LastDue)], Today);

    [Fact]
    public void What_is_missing_is_shared_by_the_paydays_until_it_is_due() =>
        Assert.Equal(Eur(60m), Schedule(Fund(120m, (new(2027, 4, 1), 540m))).Level);

    [Fact]
    public void The_due_date_that_asks_for_most_decides()
    {
        // By 1 December 3 paydays for 150.00, by 1 April 7 for 150.00 + 80.00: the first asks for more.
        Assert.Equal(Eur(50m), Schedule(Fund(0m, (new(2026, 12, 1), 150m), (new(2027, 4, 1), 80m))).Level);
        Assert.Equal(Eur(50m), Schedule(Fund(0m, (new(2026, 12, 1), 80m), (new(2027, 4, 1), 270m))).Level);
    }

    [Fact]
    public void A_bill_due_on_a_payday_counts_that_payday_and_one_due_the_day_before_does_not()
    {
        Assert.Equal(Eur(45m), Schedule(Fund(0m, (new(2026, 11, 1), 90m))).Level);
        Assert.Equal(Eur(90m), Schedule(Fund(0m, (new(2026, 10, 31), 90m))).Level);
    }

    [Fact]
    public void The_last_payment_carries_the_rounding()
    {
        var rows = Schedule(Fund(0m, (new(2026, 12, 1), 100m))).Rows(new(2026, 12, 31));

        Assert.Equal([Eur(33.34m), Eur(33.34m), Eur(33.32m)], rows.Select(r => r.Contribution));
        Assert.Equal(Money.Zero, rows[^1].Balance);
    }

    [Fact]
    public void The_contribution_steps_down_when_the_bill_that_asked_for_it_is_met()
    {
        var rows = Schedule(Fund(0m, (new(2026, 11, 15), 200m), (new(2027, 3, 1), 120m))).Rows(new(2027, 3, 31));

        Assert.Equal([Eur(100m), Eur(100m), Money.Zero, Eur(30m), Eur(30m), Eur(30m), Eur(30m)],
            rows.Select(r => r.Contribution));
        Assert.Equal([new DateOnly(2026, 11, 15)], rows.Where(r => r.Contribution == Money.Zero).Select(r => r.On));
    }

    [Fact]
    public void What_is_due_before_the_first_payday_has_to_be_put_in_at_once()
    {
        var schedule = Schedule(Fund(50m, (new(2026, 9, 28), 80m), (new(2026, 10, 1), 10m)));

        Assert.Equal((Eur(30m), Eur(10m)), (schedule.AtOnce, schedule.Level));
        Assert.Equal((Today, Eur(30m)), (schedule.Rows(_firsts[0])[0].On, schedule.Rows(_firsts[0])[0].Contribution));
    }

    [Fact]
    public void With_enough_there_nothing_is_asked_for() =>
        Assert.Equal(Money.Zero, Schedule(Fund(540m, (new(2027, 4, 1), 540m))).Level);

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void Any_fund_is_never_short_with_it_and_short_with_a_minor_unit_less(bool interest) =>
    PlainFund.Any(interest).Sample(generated =>
    {
        var (fund, paydays) = generated;
        var schedule = new FundSchedule(fund, paydays, Today);
        var (level, atOnce) = (schedule.Level.Minor, schedule.AtOnce.Minor);

        Assert.False(PlainFund.IsShort(fund, paydays, Today, level, atOnce));
        Assert.True(level == 0 || PlainFund.IsShort(fund, paydays, Today, level - 1, atOnce));
        Assert.True(atOnce == 0 || PlainFund.IsShort(fund, paydays, Today, level, atOnce - 1));
    }, iter: GeneratedCases.Of(2_000));

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void Any_schedule_adds_up_never_falls_below_zero_and_never_asks_for_more_than_the_level(bool interest) =>
    PlainFund.Any(interest).Sample(generated =>
    {
        var (fund, paydays) = generated;
        var schedule = new FundSchedule(fund, paydays, Today);
        var rows = schedule.Rows(Today.AddDays(800));

        var (cash, bank) = (fund.Cash, fund.Bank);
        var paidIn = new List<Money>();
        foreach (var row in rows)
        {
            Assert.Equal(cash + bank + row.Contribution + row.Interest
                - row.Bills.Aggregate(Money.Zero, (sum, b) => sum + b.Amount), row.Balance);
            Assert.True(row.Cash >= Money.Zero && row.Bank >= Money.Zero && row.ToCash >= Money.Zero
                && row.ToBank >= Money.Zero && row.Interest >= Money.Zero);
            (cash, bank) = (row.Cash, row.Bank);
            if (paydays.Contains(row.On))
            {
                paidIn.Add(row.On == Today ? row.Contribution - schedule.AtOnce : row.Contribution);
            }
        }

        Assert.Equal(fund.Bills, rows.SelectMany(r => r.Bills));
        Assert.All(paidIn, c => Assert.True(c <= schedule.Level));
        // What is left at the end is what no last payment could carry.
        Assert.True(interest || fund.There > Money.Zero || rows[^1].Balance.Minor < paydays.Count);
    }, iter: GeneratedCases.Of(1_000));

    [Fact]
    public void Any_level_contribution_is_what_linear_programming_finds() =>
    PlainFund.Any(interest: false).Sample(generated =>
    {
        var (fund, paydays) = generated;
        var schedule = new FundSchedule(fund, paydays, Today);
        using var glop = Solver.CreateSolver("GLOP");
        var level = glop.MakeNumVar(0, double.PositiveInfinity, "level");
        foreach (var due in fund.Bills.Select(b => b.Due).Distinct())
        {
            var need = fund.Bills.Where(b => b.Due <= due).Sum(b => b.Amount.Minor) - fund.There.Minor
                - schedule.AtOnce.Minor;
            var before = paydays.Count(p => p <= due);
            if (before > 0)
            {
                glop.Add(level * before >= need);
            }
        }

        glop.Minimize(level);
        Assert.Equal(Solver.ResultStatus.OPTIMAL, glop.Solve());
        Assert.Equal(Math.Ceiling(level.SolutionValue() - 1e-6), schedule.Level.Minor);
    }, iter: GeneratedCases.Of(500));

    /// <summary>
    /// Compound interest tables: Blank &amp; Tarquin, Engineering Economy, table 1 (0.25 %); Fraser, Engineering
    /// Economics, appendix A (0.5 %).
    /// </summary>
    [Theory]
    [InlineData("0.0025", 2, "0.49938")]
    [InlineData("0.0025", 6, "0.16563")]
    [InlineData("0.0025", 10, "0.09888")]
    [InlineData("0.0025", 12, "0.08219")]
    [InlineData("0.0025", 20, "0.04882")]
    [InlineData("0.0025", 24, "0.04048")]
    [InlineData("0.005", 2, "0.49875")]
    [InlineData("0.005", 10, "0.09777")]
    [InlineData("0.005", 12, "0.08107")]
    [InlineData("0.005", 35, "0.02622")]
    [InlineData("0.005", 60, "0.01433")]
    public void The_sinking_fund_factor_is_that_of_the_tables(string interest, int periods, string factor) =>
        Assert.Equal(Number(factor), decimal.Round(SinkingFundFactor.Of(Number(interest), periods), 5));

    /// <summary>The payment function that comes with .NET for Visual Basic, an implementation of its own.</summary>
    [Fact]
    public void The_sinking_fund_factor_is_the_payment_that_a_spreadsheet_computes() =>
    Gen.Select(Gen.Int[0, 500], Gen.Int[1, 200]).Sample((basisPoints, periods) =>
    {
        var factor = (double)SinkingFundFactor.Of(basisPoints / 10_000m, periods);
        Assert.Equal(-Financial.Pmt(basisPoints / 10_000.0, periods, 0, 1), factor, 1e-9);
    });

    /// <summary>
    /// Paydays 73 days apart are a fifth of 365: by days the tables of even periods hold to the last digit.
    /// </summary>
    [Fact]
    public void A_fund_in_the_bank_asks_for_the_factor_of_the_tables_but_for_interest_below_a_minor_unit() =>
    Gen.Select(Gen.Int[1, 500], Gen.Int[1, 60], Gen.Int[1_000, 2_000_000]).Sample((basisPoints, periods, amount) =>
    {
        var yearly = basisPoints / 10_000m;
        DateOnly[] paydays = [.. Enumerable.Range(0, periods).Select(n => new DateOnly(2026, 10, 1).AddDays(73 * n))];
        var bill = new Bill("boat", Today, paydays[^1], new Money(amount));
        var fund = new SinkingFund(Money.Zero, Money.Zero, 100, yearly, [bill]);
        var byTable = amount * SinkingFundFactor.Of(yearly / 5, periods);

        var level = new FundSchedule(fund, paydays, Today).Level.Minor;

        // Each of the periods may lose less than a minor unit of interest, and the level is a whole one.
        Assert.InRange(level, decimal.Floor(byTable), byTable + 2);
        Assert.Equal(decimal.Ceiling(decimal.Round(byTable, 9)), fund.Alone(bill, paydays).Minor);
    });

    /// <summary>
    /// The same by the tables' printed figures: 0.25 % a period is 1.25 % a year in fifths, 0.5 % is 2.5 %.
    /// </summary>
    [Theory]
    [InlineData(125, 12, "0.08219")]
    [InlineData(125, 24, "0.04048")]
    [InlineData(250, 10, "0.09777")]
    [InlineData(250, 35, "0.02622")]
    public void Days_that_lie_evenly_apart_have_the_factor_of_the_tables(int basisPoints, int periods, string factor)
    {
        DateOnly[] days = [.. Enumerable.Range(0, periods).Select(n => Today.AddDays(73 * n))];
        Assert.Equal(Number(factor), decimal.Round(SinkingFundFactor.Of(basisPoints / 10_000m, days), 5));
    }

    /// <summary>
    /// Actual/365 (Fixed), 2006 ISDA Definitions, section 4.16(d): days divided by 365, in a leap year too. Worked by
    /// hand.
    /// </summary>
    [Theory]
    [InlineData("1000.00", "0.05", 365, "50.00")]
    [InlineData("1000.00", "0.05", 366, "50.13")]
    [InlineData("10000.00", "0.0365", 1, "1.00")]
    [InlineData("10000.00", "0.026", 28, "19.94")]
    [InlineData("10000.00", "0.026", 35, "24.93")]
    [InlineData("0.01", "1", 364, "0.00")]
    public void Interest_is_that_of_the_days_gone(string bank, string yearly, int days, string earned) =>
        Assert.Equal(Eur(Number(earned)), DailyInterest.On(Eur(Number(bank)), Number(yearly), days));

    [Fact]
    public void How_many_paydays_happen_to_lie_in_the_coming_year_changes_no_interest()
    {
        // Second Fridays, of which thirteen lie between 13 November 2026 and 12 November 2027, both counted in, and
        // twelve in most years.
        var second = Enumerable.Range(0, 70).Select(m => new DateOnly(2026, 11, 1).AddMonths(m))
            .Select(first => first.AddDays(((DayOfWeek.Friday - first.DayOfWeek + 7) % 7) + 7)).ToList();
        Assert.Equal(13, second.Count(p => p >= new DateOnly(2026, 11, 13) && p <= new DateOnly(2027, 11, 12)));
        Assert.Equal(12, second.Count(p => p >= new DateOnly(2026, 12, 1) && p <= new DateOnly(2027, 11, 30)));
        var goal = new Goal("hull", Boat, "Hull", Eur(20_000m), new(2031, 4, 1), null,
            ImmutableSortedDictionary<DateOnly, Money>.Empty, Today, FirstLine);
        IBookEvent[] lines = [.. Opening, new FundTermsSet(Boat, 100, 260), Fill(Boat, 10_000m, holding: Holding.Bank)];
        var book = lines.Aggregate(Book.Empty, (b, line) => b.Apply(line))
            .With(PlansInBook.Goals, ImmutableDictionary<string, Goal>.Empty.Add(goal.Id, goal));

        foreach (var (next, after) in second.Take(24).Zip(second.Skip(1)))
        {
            var schedule = FundSchedule.Of(book.Compartments[Boat], book, next, next, next,
                (from, to) => [.. second.Where(p => p >= from && p <= to)]);
            var held = Eur(10_000m) + schedule.Level;

            // The yearly rate for the days between the two, whatever the year has in paydays.
            Assert.Equal((long)decimal.Floor(held.Minor * 0.026m * (after.DayNumber - next.DayNumber) / 365m),
                schedule.Rows(after)[1].Interest.Minor);
        }
    }

    private static decimal Number(string written) => decimal.Parse(written, CultureInfo.InvariantCulture);
}
