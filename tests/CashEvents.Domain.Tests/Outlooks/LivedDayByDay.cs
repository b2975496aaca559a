using CashEvents.Domain.Books;
using CashEvents.Domain.Calendars;
using CashEvents.Domain.Compartments;
using CashEvents.Domain.FillRuns;
using CashEvents.Domain.Fills;
using CashEvents.Domain.Outlooks;
using CashEvents.Domain.Paydays;
using CashEvents.Domain.SinkingFunds;
using CashEvents.Domain.Spends;
using CashEvents.Domain.Weeks;

namespace CashEvents.Domain.Tests.Outlooks;

/// <summary>The days to come lived one after another, each fill, bill and spend written into the book as its line; what was seen on the way is told as an outlook tells it.</summary>
internal sealed class LivedDayByDay
{
    private readonly ICalendar _calendar;
    private readonly DateOnly _today;
    private readonly HashSet<(string Goal, DateOnly Due)> _told = [];
    private readonly Dictionary<string, int> _planShort = [];
    private bool _wasPaid;
    private long _stayed;

    private LivedDayByDay(Book book, DateOnly today, ICalendar calendar) => (Book, _today, _calendar) = (book, today, calendar);

    public Book Book { get; private set; }

    /// <summary>What each compartment held once it was filled, by payday and compartment.</summary>
    public List<(DateOnly Payday, string Compartment, long Cash, long Bank)> Filled { get; } = [];

    /// <summary>What it held at the end of the last day before the next payday, or of the last of all.</summary>
    public List<(DateOnly Day, string Compartment, long Cash, long Bank)> Lowest { get; } = [];

    public List<(DateOnly On, ShortOf Of, string? Compartment, DateOnly? Due, long Missing)> Shortages { get; } = [];

    public List<long> StayedInBank { get; } = [];

    public static LivedDayByDay Of(Book book, DateOnly today, DateOnly to, ICalendar calendar)
    {
        var lived = new LivedDayByDay(book, today, calendar);
        for (var day = today; day <= to; day = day.AddDays(1))
        {
            lived.Live(day, isLast: day == to);
        }

        return lived;
    }

    private IEnumerable<Compartment> InUse => Book.Compartments.Values.Where(c => !c.Closed).OrderBy(c => c.Line);

    private bool IsToFill(DateOnly day) => Payday.Between(day, day, Book, _calendar).Count > 0 && !(Book.FillRuns.TryGetValue(day, out var mark) && mark.State == PaydayState.Filled);

    private void Live(DateOnly day, bool isLast)
    {
        if (IsToFill(day))
        {
            Fill(day);
            Filled.AddRange(InUse.Select(c => (day, c.Id, c.Cash.Minor, c.Bank.Minor)));
        }

        foreach (var compartment in InUse.ToList())
        {
            PayBills(compartment.Id, day);
            if (compartment.Purpose == Purpose.Spending && day > _today)
            {
                SpendByPlan(compartment.Id, day);
            }
        }

        if (isLast || IsToFill(day.AddDays(1)))
        {
            Lowest.AddRange(InUse.Select(c => (day, c.Id, c.Cash.Minor, c.Bank.Minor)));
            _planShort.Clear();
        }
    }

    private void Fill(DateOnly day)
    {
        foreach (var fund in InUse.Where(c => _wasPaid && Book.FundTerms.ContainsKey(c.Id)).ToList())
        {
            var paydays = Enumerable.Range(0, day.AddYears(1).DayNumber - day.DayNumber).Count(ahead => Payday.Between(day.AddDays(ahead), day.AddDays(ahead), Book, _calendar).Count > 0);
            var interest = Math.Floor(fund.Bank.Minor * (Book.FundTerms[fund.Id].InterestBasisPoints / 10_000m / paydays));
            Post(interest > 0 ? new Filled(fund.Id, Holding.Bank, new((long)interest), day, "Interest") : null);
        }

        _wasPaid = true;
        var run = new FillPayday(day, null, null, _ => _calendar).WorkOut(Book);
        Post(new PaydayFilled(run, day, ""));
        _stayed += run.StaysInBank.Minor;
        StayedInBank.Add(_stayed);
        if (run.StaysInBank.Minor < 0 && _stayed < 0)
        {
            Shortages.Add((day, ShortOf.Bank, null, null, Math.Min(-_stayed, -run.StaysInBank.Minor)));
        }
    }

    private void PayBills(string fund, DateOnly day)
    {
        long Reserved(IEnumerable<Bill> bills) => bills.Sum(b => b.Amount.Minor);

        while (Open(fund, day) is [var bill, ..] && bill.Amount.Minor <= There(fund))
        {
            Take(fund, bill.Amount.Minor, day, new PaidBill(bill.Goal, bill.Due));
        }

        var open = Open(fund, day);
        for (var i = 0; i < open.Count; i++)
        {
            if (_told.Add((open[i].Goal, open[i].Due)))
            {
                Shortages.Add((day, ShortOf.Bill, fund, open[i].Due, Math.Min(open[i].Amount.Minor, Reserved(open.Take(i + 1)) - There(fund))));
            }
        }
    }

    private List<Bill> Open(string fund, DateOnly day) =>
        [.. Book.Goals.Values.Where(g => g.Compartment == fund).SelectMany(g => g.OpenBills().TakeWhile(b => b.Due <= day)).OrderBy(b => b.Due).ThenBy(b => b.Goal, StringComparer.Ordinal)];

    private void SpendByPlan(string compartment, DateOnly day)
    {
        var week = Week.Of(day, Book.Household!.FirstDayOfWeek);
        var planned = new WeekSlice(week, day, day).Share(Book.Plan.For(compartment, week.First)?.Amount ?? default).Minor;
        var spent = Math.Min(planned, There(compartment));
        Take(compartment, spent, day, null);
        if (planned > spent)
        {
            if (_planShort.TryAdd(compartment, Shortages.Count))
            {
                Shortages.Add((day, ShortOf.Plan, compartment, null, 0));
            }

            var at = _planShort[compartment];
            Shortages[at] = Shortages[at] with { Missing = Shortages[at].Missing + planned - spent };
        }
    }

    private long There(string compartment) => Book.Compartments[compartment].Cash.Minor + Book.Compartments[compartment].Bank.Minor;

    private void Take(string compartment, long amount, DateOnly day, PaidBill? pays)
    {
        var cash = Math.Min(amount, Book.Compartments[compartment].Cash.Minor);
        Post(cash > 0 ? new Spent(compartment, Holding.Cash, new(cash), day, "") { Pays = pays } : null);
        Post(amount > cash ? new Spent(compartment, Holding.Bank, new(amount - cash), day, "") { Pays = cash > 0 ? null : pays } : null);
    }

    private void Post(IBookEvent? line) => Book = line is null ? Book : Book.Apply(line);
}
