namespace CashEvents.Domain.Tests.Paydays;

/// <summary>
/// The days to come lived one after another, each fill, bill, saving step and spend written into the book as its line,
/// and the bank's statement kept beside it; what was seen on the way is told as an outlook tells it.
/// </summary>
internal sealed class LivedDayByDay
{
    private readonly ICalendar _calendar;
    private readonly DateOnly _today;
    private readonly HashSet<(string Goal, DateOnly Due)> _told = [];
    private readonly Dictionary<(ShortOf Of, string Compartment), int> _short = [];
    private readonly Dictionary<string, long> _lowest = [];
    private DateOnly? _paidUntil;
    private DateOnly? _paidOn;
    private long _stayed;
    private long _inBank;

    private LivedDayByDay(Book book, DateOnly today, ICalendar calendar, long inBank) =>
        (Book, _today, _calendar, _inBank) = (book, today, calendar, inBank);

    public Book Book { get; private set; }

    /// <summary>What each compartment held once it was filled, by payday and compartment.</summary>
    public List<(DateOnly Payday, string Compartment, long Cash, long Bank)> Filled { get; } = [];

    /// <summary>What it held at the end of the last day before the next payday, or of the last of all.</summary>
    public List<(DateOnly Day, string Compartment, long Cash, long Bank)> Closing { get; } = [];

    /// <summary>The least that it held until that day, once it was filled.</summary>
    public List<(DateOnly Day, string Compartment, long Total)> Lowest { get; } = [];

    /// <summary>
    /// What the bank's statement said at the end of each of those days on which all that its pay was to last for had
    /// left it.
    /// </summary>
    public List<long> InBank { get; } = [];

    public List<(DateOnly On, ShortOf Of, string? Compartment, DateOnly? Due, long Missing)> Shortages { get; } = [];

    /// <summary>
    /// What stayed in the bank of each pay and those before it at the end of the days that it was to last.
    /// </summary>
    public List<long> StayedInBank { get; } = [];

    /// <param name="book">The book.</param>
    /// <param name="today">The first day.</param>
    /// <param name="to">The last.</param>
    /// <param name="calendar">The household's calendar.</param>
    /// <param name="inBank">What the bank holds today, in minor units.</param>
    public static LivedDayByDay Of(Book book, DateOnly today, DateOnly to, ICalendar calendar, long inBank)
    {
        var lived = new LivedDayByDay(book, today, calendar, inBank);
        for (var day = today; day <= to; day = day.AddDays(1))
        {
            lived.Live(day, isLast: day == to);
        }

        return lived;
    }

    private IEnumerable<Compartment> InUse => Book.Compartments.Values.Where(c => !c.Closed).OrderBy(c => c.Line);

    private bool IsToFill(DateOnly day) =>
        Payday.Between(day, day, Book, _calendar).Count > 0
            && !(Book.FillRuns.TryGetValue(day, out var mark) && mark.State == PaydayState.Filled);

    private void Live(DateOnly day, bool isLast)
    {
        if (IsToFill(day))
        {
            Fill(day);
            Filled.AddRange(InUse.Select(c => (day, c.Id, c.Cash.Minor, c.Bank.Minor)));
        }

        if (day > _today || _paidUntil is not null)
        {
            _inBank -= Book.StandingPayments.Values.Sum(
                p => p.Amount.Minor * BankDate.Between(day, day, p.Recurrence, p.NotBankDay, _calendar).Count());
        }

        NoteLowest();
        PutAside(day);
        foreach (var compartment in InUse.ToList())
        {
            PayBills(compartment.Id, day);
            if (compartment.Purpose == Purpose.Spending && day > _today)
            {
                SpendByPlan(compartment.Id, day);
            }
        }

        NoteLowest();
        if (isLast || IsToFill(day.AddDays(1)))
        {
            EndStretch(day);
        }
    }

    private void EndStretch(DateOnly day)
    {
        Closing.AddRange(InUse.Select(c => (day, c.Id, c.Cash.Minor, c.Bank.Minor)));
        Lowest.AddRange(InUse.Select(c => (day, c.Id, _lowest[c.Id])));
        if (_paidOn is not null)
        {
            StayedInBank.Add(_stayed);
        }

        // What the bank held at first was to last until the first payday.
        if (_paidUntil is { } until
            ? until == day.AddDays(1)
            : !(Payday.Next(_today, Book, _calendar) > day.AddDays(1)))
        {
            InBank.Add(_inBank);
        }

        _short.Clear();
        _lowest.Clear();
    }

    private void NoteLowest()
    {
        foreach (var compartment in InUse)
        {
            _lowest[compartment.Id] =
                Math.Min(_lowest.GetValueOrDefault(compartment.Id, long.MaxValue), There(compartment.Id));
        }
    }

    private void Fill(DateOnly day)
    {
        foreach (var fund in InUse.Where(c => _paidOn is not null && Book.FundTerms.ContainsKey(c.Id)).ToList())
        {
            var interest = (long)(fund.Bank.Minor * (Int128)Book.FundTerms[fund.Id].InterestBasisPoints
                * (day.DayNumber - _paidOn!.Value.DayNumber) / (10_000 * 365));
            _inBank += interest;
            Post(interest > 0 ? new Filled(fund.Id, Holding.Bank, new(interest), day, "Interest") : null);
        }

        _paidOn = day;
        var run = new FillPayday(day, null, null, _ => _calendar).WorkOut(Book);
        Post(new PaydayFilled(run, day, ""));
        _paidUntil = run.Next;
        _inBank += run.Pay.Minor - run.Cash.Minor;
        _stayed += run.StaysInBank.Minor;
        if (run.StaysInBank.Minor < 0 && _stayed < 0)
        {
            Shortages.Add((day, ShortOf.Bank, null, null, Math.Min(-_stayed, -run.StaysInBank.Minor)));
        }
    }

    private void PutAside(DateOnly day)
    {
        foreach (var compartment in InUse.Where(c => Book.SavingPlans.ContainsKey(c.Id)).ToList())
        {
            while (Book.SavingPlans[compartment.Id] is var plan
                && plan.All().FirstOrDefault(s => !plan.Done.Contains(s.Number)) is { } next && next.Due <= day)
            {
                var before = Book;
                Book = Book.Decide(new DoSavingStep(compartment.Id, Holding.Cash, day, null), day).After;
                var step = Book.Compartments[compartment.Id].Cash.Minor
                    - before.Compartments[compartment.Id].Cash.Minor;
                _inBank -= step;
                if (_paidOn is not null)
                {
                    _stayed -= step;
                    Lack(ShortOf.Step, compartment.Id, day, Math.Min(step, -_stayed));
                }
            }
        }
    }

    private void Lack(ShortOf of, string compartment, DateOnly day, long missing)
    {
        if (missing <= 0)
        {
            return;
        }

        if (_short.TryAdd((of, compartment), Shortages.Count))
        {
            Shortages.Add((day, of, compartment, null, 0));
        }

        var at = _short[(of, compartment)];
        Shortages[at] = Shortages[at] with { Missing = Shortages[at].Missing + missing };
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
                Shortages.Add((day, ShortOf.Bill, fund, open[i].Due,
                    Math.Min(open[i].Amount.Minor, Reserved(open.Take(i + 1)) - There(fund))));
            }
        }
    }

    private List<Bill> Open(string fund, DateOnly day) =>
        [.. Book.Goals.Values.Where(g => g.Compartment == fund)
            .SelectMany(g => g.OpenBills().TakeWhile(b => b.Due <= day)).OrderBy(b => b.Due)
            .ThenBy(b => b.Goal, StringComparer.Ordinal)];

    private void SpendByPlan(string compartment, DateOnly day)
    {
        var week = Week.Of(day, Book.Household!.FirstDayOfWeek);
        var planned = new WeekSlice(week, day, day)
            .Share(Book.Plan.For(compartment, week.First)?.Amount ?? default).Minor;
        var spent = Math.Min(planned, There(compartment));
        Take(compartment, spent, day, null);
        Lack(ShortOf.Plan, compartment, day, planned - spent);
    }

    private long There(string compartment) =>
        Book.Compartments[compartment].Cash.Minor + Book.Compartments[compartment].Bank.Minor;

    private void Take(string compartment, long amount, DateOnly day, PaidBill? pays)
    {
        var cash = Math.Min(amount, Book.Compartments[compartment].Cash.Minor);
        Post(cash > 0 ? new Spent(compartment, Holding.Cash, new(cash), day, "") { Pays = pays } : null);
        _inBank -= amount - cash;
        Post(amount > cash ? new Spent(compartment, Holding.Bank, new(amount - cash), day,
            "")
        { Pays = cash > 0 ? null : pays } : null);
    }

    private void Post(IBookEvent? line) => Book = line is null ? Book : Book.Apply(line);
}
