namespace CashEvents.Benchmarks;

/// <summary>
/// The outlook in the plainest way that is right: day by day over lists, asking on each whether it is a payday, and on
/// a payday the dry run.
/// </summary>
internal static class PlainOutlook
{
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
        var accounts = book.Compartments.Values.OrderBy(c => c.Line).Select(c => new Account(c)).ToList();
        var goals = book.Goals.Values.ToList();
        var told = new List<(string Goal, DateOnly Due)>();
        var lowest = new List<(DateOnly, long, long)>();
        var (missing, stayed) = (0L, 0L);
        DateOnly? paidOn = null;
        for (var day = today; day <= to; day = day.AddDays(1))
        {
            if (Payday.Between(day, day, book, calendar).Count > 0)
            {
                Fill(day);
            }

            foreach (var account in accounts)
            {
                PayBills(account, day);
                Spend(account, day);
            }

            if (day == to || Payday.Between(day.AddDays(1), day.AddDays(1), book, calendar).Count > 0)
            {
                lowest.AddRange(accounts.Select(a => (day, a.Cash, a.Bank)));
            }
        }

        return (lowest, missing);

        void Fill(DateOnly day)
        {
            foreach (var account in accounts.Where(
                a => paidOn is not null && book.FundTerms.ContainsKey(a.Compartment.Id)))
            {
                account.Bank += (long)decimal.Floor(
                    account.Bank * (book.FundTerms[account.Compartment.Id].InterestBasisPoints / 10_000m
                        * (day.DayNumber - paidOn!.Value.DayNumber) / 365m));
            }

            paidOn = day;
            var before = book;
            accounts.ForEach(a => before =
                before with
                {
                    Compartments =
                    before.Compartments.SetItem(a.Compartment.Id,
                        a.Compartment with { Cash = new(a.Cash), Bank = new(a.Bank) })
                });
            goals.ForEach(g => before = before.With(PlansInBook.Goals, before.Goals.SetItem(g.Id, g)));
            var run = FillRun.Of(day, null, before, calendar);
            foreach (var fill in run.Fills)
            {
                var account = accounts.First(a => a.Compartment.Id == fill.Compartment);
                (account.Cash, account.Bank) = (account.Cash + fill.Cash.Minor, account.Bank + fill.Bank.Minor);
            }

            stayed += run.StaysInBank.Minor;
            missing += Math.Max(0, Math.Min(-run.StaysInBank.Minor, -stayed));
        }

        void PayBills(Account account, DateOnly day)
        {
            var there = account.Cash + account.Bank;
            foreach (var bill in goals.Where(g => g.Compartment == account.Compartment.Id)
                .SelectMany(g => g.OpenBills().TakeWhile(b => b.Due <= day)).OrderBy(b => b.Due)
                .ThenBy(b => b.Goal, StringComparer.Ordinal).ToList())
            {
                if (bill.Amount.Minor <= there)
                {
                    account.Take(bill.Amount.Minor);
                    there -= bill.Amount.Minor;
                    var at = goals.FindIndex(g => g.Id == bill.Goal);
                    goals[at] = goals[at] with { Paid = goals[at].Paid + 1 };
                }
                else
                {
                    missing += told.Contains((bill.Goal, bill.Due)) ? 0 : bill.Amount.Minor - there;
                    told.Add((bill.Goal, bill.Due));
                    there = 0;
                }
            }
        }

        void Spend(Account account, DateOnly day)
        {
            if (account.Compartment.Purpose == Purpose.Spending && day > today)
            {
                var week = Week.Of(day, book.Household!.FirstDayOfWeek);
                var planned = new WeekSlice(week, day, day)
                    .Share(book.Plan.For(account.Compartment.Id, week.First)?.Amount ?? Money.Zero).Minor;
                var spent = Math.Min(planned, account.Cash + account.Bank);
                account.Take(spent);
                missing += planned - spent;
            }
        }
    }
}
