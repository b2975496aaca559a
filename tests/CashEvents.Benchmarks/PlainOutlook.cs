namespace CashEvents.Benchmarks;

/// <summary>
/// The outlook in the plainest way that is right: day by day over lists, asking on each whether it is a payday, and on
/// a payday the dry run.
/// </summary>
internal sealed class PlainOutlook(Book book, DateOnly today, ICalendar calendar)
{
    private readonly List<Account> _accounts =
        [.. book.Compartments.Values.OrderBy(c => c.Line).Select(c => new Account(c))];
    private readonly List<Goal> _goals = [.. book.Goals.Values];
    private readonly List<(string Goal, DateOnly Due)> _told = [];
    private long _missing;
    private long _stayed;
    private DateOnly? _paidOn;

    private sealed class Account(Compartment compartment)
    {
        public Compartment Compartment => compartment;

        public long Cash { get; set; } = compartment.Cash.Minor;

        public long Bank { get; set; } = compartment.Bank.Minor;

        public void Take(long amount) =>
            (Cash, Bank) = (Cash - Math.Min(Cash, amount), Bank - (amount - Math.Min(Cash, amount)));
    }

    /// <summary>
    /// What each compartment holds at the end of the days before paydays, and of the last; and all that was missing.
    /// </summary>
    public static (List<(DateOnly Day, long Cash, long Bank)> Lowest, long Missing) Of(Book book, DateOnly today,
        DateOnly to, ICalendar calendar)
    {
        var outlook = new PlainOutlook(book, today, calendar);
        var lowest = outlook.Until(to);
        return (lowest, outlook._missing);
    }

    private List<(DateOnly Day, long Cash, long Bank)> Until(DateOnly to)
    {
        var lowest = new List<(DateOnly, long, long)>();
        for (var day = today; day <= to; day = day.AddDays(1))
        {
            if (IsPayday(day))
            {
                Fill(day);
            }

            foreach (var account in _accounts)
            {
                PayBills(account, day);
                Spend(account, day);
            }

            if (day == to || IsPayday(day.AddDays(1)))
            {
                lowest.AddRange(_accounts.Select(a => (day, a.Cash, a.Bank)));
            }
        }

        return lowest;
    }

    private bool IsPayday(DateOnly day) => Payday.Between(day, day, book, calendar).Count > 0;

    private void Fill(DateOnly day)
    {
        foreach (var account in _accounts.Where(
            a => _paidOn is not null && book.FundTerms.ContainsKey(a.Compartment.Id)))
        {
            account.Bank += (long)decimal.Floor(
                account.Bank * (book.FundTerms[account.Compartment.Id].InterestBasisPoints / 10_000m
                    * (day.DayNumber - _paidOn!.Value.DayNumber) / 365m));
        }

        _paidOn = day;
        var before = book;
        foreach (var a in _accounts)
        {
            var held = a.Compartment with { Cash = new(a.Cash), Bank = new(a.Bank) };
            before = before with { Compartments = before.Compartments.SetItem(held.Id, held) };
        }

        _goals.ForEach(g => before = before.With(PlansInBook.Goals, before.Goals.SetItem(g.Id, g)));
        var run = FillRun.Of(day, null, before, calendar);
        foreach (var fill in run.Fills)
        {
            var account = _accounts.First(a => a.Compartment.Id == fill.Compartment);
            (account.Cash, account.Bank) = (account.Cash + fill.Cash.Minor, account.Bank + fill.Bank.Minor);
        }

        _stayed += run.StaysInBank.Minor;
        _missing += Math.Max(0, Math.Min(-run.StaysInBank.Minor, -_stayed));
    }

    private void PayBills(Account account, DateOnly day)
    {
        var there = account.Cash + account.Bank;
        var due = _goals.Where(g => g.Compartment == account.Compartment.Id)
            .SelectMany(g => g.OpenBills().TakeWhile(b => b.Due <= day))
            .OrderBy(b => b.Due).ThenBy(b => b.Goal, StringComparer.Ordinal).ToList();
        foreach (var bill in due)
        {
            if (bill.Amount.Minor <= there)
            {
                account.Take(bill.Amount.Minor);
                there -= bill.Amount.Minor;
                var at = _goals.FindIndex(g => g.Id == bill.Goal);
                _goals[at] = _goals[at] with { Paid = _goals[at].Paid + 1 };
            }
            else
            {
                _missing += _told.Contains((bill.Goal, bill.Due)) ? 0 : bill.Amount.Minor - there;
                _told.Add((bill.Goal, bill.Due));
                there = 0;
            }
        }
    }

    private void Spend(Account account, DateOnly day)
    {
        if (account.Compartment.Purpose == Purpose.Spending && day > today)
        {
            var week = Week.Of(day, book.Household!.FirstDayOfWeek);
            var planned = new WeekSlice(week, day, day)
                .Share(book.Plan.For(account.Compartment.Id, week.First)?.Amount ?? Money.Zero).Minor;
            var spent = Math.Min(planned, account.Cash + account.Bank);
            account.Take(spent);
            _missing += planned - spent;
        }
    }
}
