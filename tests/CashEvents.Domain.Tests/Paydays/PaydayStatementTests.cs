using System.Collections.Immutable;
using CsCheck;
using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Paydays;

public class PaydayStatementTests
{
    private static readonly QuayCalendar _quay = new();

    private static DateOnly Oct(int day) => new(2026, 10, day);

    private static IncomeSourceSet Pays(string source, string rule, DateOnly first, decimal? amount,
        NotBankDay notBankDay = NotBankDay.Previous) =>
        new(source, source, rule, first, notBankDay, amount is { } a ? Eur(a) : null);

    private static StandingPaymentSet Due(string payment, string rule, DateOnly first, decimal amount,
        StandingPaymentKind kind = StandingPaymentKind.FixedBill) =>
        new(payment, kind, payment, rule, first, NotBankDay.Next, Eur(amount));

    private static PlanSet Planned(DateOnly from, params (string Compartment, decimal Amount)[] amounts) =>
        new(from, amounts.ToImmutableSortedDictionary(a => a.Compartment, a => Eur(a.Amount), StringComparer.Ordinal));

    [Fact]
    public void Pay_less_bills_savings_and_fills_stays_in_the_bank()
    {
        // Paid on Thursday 1 October and Sunday 1 November, there on Friday 30 October: 29 days, of which 4 end W40, 21
        // are W41 to W43 and 4 begin W44.
        var book = Given(
            Planned(Sept(28), (Ferry, 25m), (Market, 45m)), Planned(Oct(26), (Market, 40m)),
            Pays("harbour-office", "month", Oct(1), 2400m),
            Due("quay-rent", "month", Oct(3), 640m), Due("phone", "14", Oct(1), 18.50m),
            Due("nest-egg", "month", Oct(2), 150m, StandingPaymentKind.AutomaticSaving)).Book;

        var statement = PaydayStatement.Of(Oct(1), null, book, _quay);

        Assert.Equal((Oct(1), Oct(30), Eur(2400m)), (statement.Day, statement.Next, statement.Pay));
        // The rent of Saturday the 3rd is paid on Monday the 5th.
        Assert.Equal([("phone", Oct(1)), ("nest-egg", Oct(2)), ("quay-rent", Oct(5)), ("phone", Oct(15)),
            ("phone", Oct(29))], statement.Due.Select(d => (d.Payment.Id, d.Date.Day)));
        Assert.Equal((Eur(695.50m), Eur(150m)), (statement.Bills, statement.Savings));
        // 25.00 × 4/7 = 14.29, three times 25.00, 14.29; 45.00 × 4/7 = 25.71, three times 45.00, 40.00 × 4/7 = 22.86.
        Assert.Equal([(Ferry, Eur(103.58m)), (Market, Eur(183.57m))],
            statement.Fills.Select(f => (f.Compartment.Id, f.Amount)));
        Assert.Equal((Eur(2400m - 695.50m - 150m - 287.15m), Money.Zero), (statement.StaysInBank, statement.Short));
    }

    [Fact]
    public void What_is_paid_on_the_next_payday_is_paid_from_that_pay()
    {
        var book = Given(Pays("harbour-office", "7", Oct(2), 500m), Due("quay-rent", "month", Oct(9), 640m)).Book;

        Assert.Empty(PaydayStatement.Of(Oct(2), null, book, _quay).Due);
        var short_ = PaydayStatement.Of(Oct(9), null, book, _quay);
        Assert.Equal((Eur(-140m), Eur(140m)), (short_.StaysInBank, short_.Short));
    }

    [Fact]
    public void Sources_that_pay_on_one_day_are_one_pay_and_any_next_one_ends_it()
    {
        var book = Given(Pays("harbour-office", "month", Oct(2), 2400m), Pays("net-mending", "14", Oct(2), 300m),
            Pays("market-stall", "14", Oct(2), null)).Book;

        var statement = PaydayStatement.Of(Oct(2), null, book, _quay);

        Assert.Equal(["harbour-office", "market-stall", "net-mending"], statement.Paydays.Select(p => p.Source.Id));
        Assert.Equal((Eur(2700m), Oct(16)), (statement.Pay, statement.Next));
        Assert.Equal(Eur(2812.40m), PaydayStatement.Of(Oct(2), 2812.40m, book, _quay).Pay);
    }

    [Fact]
    public void Compartments_that_are_closed_or_have_no_plan_get_nothing()
    {
        var book = Given(Planned(Sept(28), (Ferry, 25m), (Market, 0m)), Pays("harbour-office", "7", Oct(2), 500m)).Book;

        Assert.Equal([Ferry], PaydayStatement.Of(Oct(2), null, book, _quay).Fills.Select(f => f.Compartment.Id));
        Assert.Empty(PaydayStatement.Of(Oct(2), null, book.Apply(new CompartmentClosed(Ferry)), _quay).Fills);
    }

    [Fact]
    public void A_day_that_is_no_payday_is_refused_with_the_next()
    {
        var book = Given(Pays("harbour-office", "month", Oct(2), 500m)).Book;

        Assert.Equal(["2026-11-02"],
            Refused("payday-unknown", () => PaydayStatement.Of(Oct(3), null, book, _quay)).Suggestions);
        Refused("payday-unknown", () => PaydayStatement.Of(Oct(3), null, Given().Book, _quay));
        Refused("payday-last", () =>
            PaydayStatement.Of(Oct(2), null, Given(Pays("legacy", "once", Oct(2), 500m)).Book, _quay));
        Refused("amount-not-positive", () => PaydayStatement.Of(Oct(2), 0m, book, _quay));
    }

    [Fact]
    public void No_payday_is_looked_for_where_bank_days_are_told_no_more()
    {
        var book = Given(Pays("harbour-office", "400", BankDate.LastTold.AddDays(-1), 500m)).Book;

        Assert.Equal(BankDate.LastTold.AddDays(-1), Payday.After(BankDate.LastTold.AddDays(-9), book, _quay));
        Refused("payday-last", () => PaydayStatement.Of(BankDate.LastTold.AddDays(-1), null, book, _quay));
    }

    [Fact]
    public void Over_paydays_one_after_another_each_bill_is_paid_once_and_the_plan_filled_whole() =>
        Gen.Select(Gen.Int[1, 60], Gen.Int[1, 60], Gen.Int[1, 60],
            Gen.Long[0, 100_000].Select(minor => new Money(minor)), Gen.Enum<DayOfWeek>())
            .Sample((payEvery, dueEvery, dueFrom, weekly, startsOn) =>
        {
            var household = Given().Book.Household! with { FirstDayOfWeek = startsOn };
            var book = Given(
                new PlanSet(Sept(1), ImmutableSortedDictionary<string, Money>.Empty.Add(Ferry, weekly)),
                Pays("harbour-office", $"{payEvery}", Oct(2), 10m, NotBankDay.Next),
                Due("quay-rent", $"{dueEvery}", Oct(2).AddDays(dueFrom), 1m)).Book with
            { Household = household };
            var statements = new List<PaydayStatement> { PaydayStatement.Of(Oct(2), null, book, _quay) };
            while (statements.Count < 12)
            {
                statements.Add(PaydayStatement.Of(statements[^1].Next, null, book, _quay));
            }

            var last = statements[^1].Next.AddDays(-1);
            Assert.Equal(
                BankDate.Between(Oct(2), last, book.StandingPayments["quay-rent"].Recurrence, NotBankDay.Next, _quay)
                    .Select(d => d.Nominal),
                statements.SelectMany(s => s.Due).Select(d => d.Date.Nominal));
            var days = last.DayNumber - Oct(2).DayNumber + 1;
            Assert.True(decimal.Abs(statements.Sum(s => s.Filled.Minor) - (weekly.Minor * days / 7m)) < 2m);
            Assert.All(statements, s => Assert.Equal(s.Pay, s.Bills + s.Savings + s.Filled + s.StaysInBank));
        });

    private static Refusal Refused(string code, Action ask)
    {
        var refusal = Assert.Throws<RefusalException>(ask).Refusal;
        Assert.Equal(code, refusal.Code);
        return refusal;
    }
}
