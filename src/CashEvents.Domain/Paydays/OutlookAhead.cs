using System.Collections.Immutable;

namespace CashEvents.Domain.Paydays;

/// <summary>A book on its way through an <see cref="Outlook"/>, from payday to payday.</summary>
internal sealed class OutlookAhead(Book book, DateOnly today, DateOnly to, ICalendar calendar)
{
    private const int StepsOfRow = 100;
    private const int StepsOfEarning = 2;

    private readonly ILookup<string, string> _goals =
        book.Goals.Values.ToLookup(goal => goal.Compartment, goal => goal.Id);
    private readonly IReadOnlyList<string> _compartments =
        [.. book.Compartments.Values.Where(c => !c.Closed).OrderBy(c => c.Line).Select(c => c.Id)];
    private readonly Queue<StepAhead> _steps = new(OpenSteps(book, today));
    private readonly PaydaysAhead _paydays = new(book, today, calendar);
    private readonly List<OutlookStretch> _stretches = [];

    // The book as it will stand, and how the bank does.
    private Book _book = book;
    private Money _stayedInBank = Money.Zero;
    private DateOnly? _paidOn;
    private DateOnly? _lastPayday;

    // The stretch that is being looked at.
    private DateOnly _from;
    private DateOnly _until;
    private List<OutlookShortage> _shortages = [];
    private List<(string Compartment, OutlookMove Move)> _moves = [];

    /// <summary>Looks ahead, once.</summary>
    public Outlook Look()
    {
        MustNotTakeTooLong();
        var next = Payday.Next(today, _book, calendar);
        var payday = ToFill(next);
        if (payday != today)
        {
            Add(today, payday, next, run: null, ImmutableDictionary<string, Money>.Empty);
        }

        while (payday is { } day)
        {
            var interest = _paidOn is { } before
                ? Earn(day.DayNumber - before.DayNumber)
                : ImmutableDictionary<string, Money>.Empty;
            var run = FillRun.Of(PaydayStatement.Of(day, null, _book, calendar), _book,
                fund => FundSchedule.Of(fund, _book, day, day, day, _paydays.Between).OnFirstPayday);
            payday = ToFill(run.Next);
            Add(day, payday, run.Next, run, interest);
        }

        return new Outlook(today, to, _stretches, _lastPayday);
    }

    private void MustNotTakeTooLong()
    {
        var inFiveYears = today.AddYears(SinkingFund.YearsAhead);
        var bills = _book.Goals.Values.Sum(goal => goal.OpenBills(savedForBy: inFiveYears).Count());
        var earning = _compartments.Count(
            id => _book.FundTerms.GetValueOrDefault(id) is { InterestBasisPoints: > 0 } && _goals[id].Any());
        var stepsOfPayday = (StepsOfRow * _compartments.Count) + _book.IncomeSources.Count
            + _book.StandingPayments.Count + bills
            + (StepsOfEarning * earning * (long)_paydays.Between(today, inFiveYears).Count);
        if (Fits(to))
        {
            return;
        }

        var months = ((to.Year - today.Year) * 12) + to.Month - today.Month;
        var fewer = Enumerable.Range(1, months).TakeWhile(ahead => Fits(today.AddMonths(ahead))).LastOrDefault();
        throw Refusal.Unfit("months", "outlook-too-long",
            $"{months} months with {_paydays.Between(today, to).Count} paydays, {_compartments.Count} compartments and "
                + $"{bills} bills to save for are more than one outlook works out: "
                + (fewer > 0 ? $"ask for at most {fewer} months." : "keep fewer compartments, bills or paydays."));

        bool Fits(DateOnly last) => _paydays.Between(today, last).Count * stepsOfPayday <= Outlook.MostSteps;
    }

    // The payday, if it lies in the outlook and another follows: else nothing says how long its pay has to last.
    private DateOnly? ToFill(DateOnly? payday)
    {
        if (payday is not { } day || day > to)
        {
            return null;
        }

        if (Payday.After(day, _book, calendar) is not null)
        {
            return day;
        }

        _lastPayday = day;
        return null;
    }

    /// <summary>Adds the stretch from a day on.</summary>
    /// <param name="from">Its first day.</param>
    /// <param name="filled">The next payday that is filled; null when this stretch is the last.</param>
    /// <param name="next">The next payday; when it lies beyond the outlook's end, what leaves the bank until then is
    /// needed at the beginning too.</param>
    /// <param name="run">What fills it; null when it begins with no payday.</param>
    /// <param name="interest">What each fund's bank part earned.</param>
    private void Add(DateOnly from, DateOnly? filled, DateOnly? next, FillRun? run,
        ImmutableDictionary<string, Money> interest)
    {
        (_from, _until, _shortages, _moves) = (from, filled?.AddDays(-1) ?? to, [], []);
        if (run is not null)
        {
            Pay(run);
        }

        var saved = Save();
        var fills = run?.Fills.ToDictionary(fill => fill.Compartment, fill => new Parts(fill.Cash, fill.Bank));
        var rows = new List<OutlookRow>();
        foreach (var id in _compartments)
        {
            var row = Use(id, interest.GetValueOrDefault(id), fills?.GetValueOrDefault(id) ?? default,
                saved.GetValueOrDefault(id));
            rows.Add(row);
            Hold(_book.Compartments[id] with { Cash = row.Closing.Cash, Bank = row.Closing.Bank });
        }

        var leavesUntil = next > _until ? next.Value.AddDays(-1) : _until;
        _stretches.Add(new OutlookStretch(_from, _until, run, _stayedInBank,
            Needed(run, rows, Sum(saved.Values), leavesUntil), rows, [.. _shortages.OrderBy(s => s.On)]));
    }

    private void Pay(FillRun run)
    {
        _paidOn = _from;
        _stayedInBank += run.StaysInBank;
        var missing = _stayedInBank > run.StaysInBank ? -_stayedInBank : -run.StaysInBank;
        if (missing > Money.Zero)
        {
            _shortages.Add(new OutlookShortage(_from, ShortOf.Bank, null, null, missing));
        }
    }

    /// <summary>
    /// What the steps of the stretch put into each compartment. Who puts them aside before the first payday draws them
    /// from the pay before it.
    /// </summary>
    private Dictionary<string, Money> Save()
    {
        var saved = new Dictionary<string, Money>(StringComparer.Ordinal);
        var missing = new List<StepAhead>();
        while (_steps.TryPeek(out var step) && step.On <= _until)
        {
            _steps.Dequeue();
            saved[step.Compartment] = saved.GetValueOrDefault(step.Compartment) + step.Amount;
            _moves.Add((step.Compartment, new OutlookMove(step.On > _from ? step.On : _from, step.Amount)));
            if (_paidOn is not null)
            {
                _stayedInBank -= step.Amount;
                missing.Add(step with { Amount = -_stayedInBank < step.Amount ? -_stayedInBank : step.Amount });
            }
        }

        _shortages.AddRange(missing.Where(step => step.Amount > Money.Zero).GroupBy(step => step.Compartment)
            .Select(steps => new OutlookShortage(steps.First().On, ShortOf.Step, steps.Key, null,
                Sum(steps.Select(step => step.Amount)))));
        return saved;
    }

    private OutlookRow Use(string id, Money earned, Parts filled, Money saved)
    {
        var compartment = _book.Compartments[id];
        var held = Parts.Of(compartment);
        var row = new OutlookRow(id, held with { Bank = held.Bank - earned }, earned, filled, saved, Money.Zero,
            Money.Zero, default);
        var spent = Spend(compartment, row.Balance.Total);
        var bills = PayBills(id, row.Balance.Total);
        return row with
        {
            Spent = spent,
            Bills = bills,
            Closing = (row.Balance with { Cash = row.Balance.Cash + row.Saved }).Less(spent + bills),
            Moves = [.. _moves.Where(m => m.Compartment == id).Select(m => m.Move).OrderBy(move => move.On)],
        };
    }

    private Money Spend(Compartment compartment, Money there)
    {
        // What was spent today is spent already.
        var first = _from == today ? today.AddDays(1) : _from;
        if (compartment.Purpose != Purpose.Spending || first > _until)
        {
            return Money.Zero;
        }

        var planned = Money.Zero;
        var runsOut = (DateOnly?)null;
        foreach (var slice in WeekSlice.Of(first, _until, _book.Household!.FirstDayOfWeek))
        {
            var weekly = _book.Plan.For(compartment.Id, slice.Week.First)?.Amount ?? Money.Zero;
            var before = planned;
            planned += slice.Share(weekly);
            var spent = (planned < there ? planned : there) - (before < there ? before : there);
            if (spent > Money.Zero)
            {
                _moves.Add((compartment.Id, new OutlookMove(slice.Last, -spent)));
            }

            runsOut ??= planned > there
                ? Enumerable.Range(0, slice.Days).Select(slice.First.AddDays)
                    .First(day => before + (slice with { Last = day }).Share(weekly) > there)
                : null;
        }

        if (runsOut is { } on)
        {
            _shortages.Add(new OutlookShortage(on, ShortOf.Plan, compartment.Id, null, planned - there));
            return there;
        }

        return planned;
    }

    private Money PayBills(string fund, Money there)
    {
        var paid = Money.Zero;
        var due = _goals[fund].SelectMany(goal => _book.Goals[goal].OpenBills().TakeWhile(bill => bill.Due <= _until))
            .OrderBy(bill => bill.Due).ThenBy(bill => bill.Goal, StringComparer.Ordinal).ToList();
        foreach (var bill in due)
        {
            if (bill.Amount <= there)
            {
                (paid, there) = (paid + bill.Amount, there - bill.Amount);
                _moves.Add((fund, new OutlookMove(bill.Due > _from ? bill.Due : _from, -bill.Amount, bill)));
                _book = _book.WithGoal(bill.Goal, goal => goal.Pay(bill.Due));
                continue;
            }

            // One that waits was told when it was due.
            if (bill.Due >= _from || _from == today)
            {
                _shortages.Add(new OutlookShortage(bill.Due > _from ? bill.Due : _from, ShortOf.Bill, fund, bill,
                    bill.Amount - there));
            }

            // What is there waits with it: bills are paid in their order.
            there = Money.Zero;
        }

        return paid;
    }

    private BankNeeded Needed(FillRun? run, List<OutlookRow> rows, Money saved, DateOnly leavesUntil)
    {
        var stepsToCome = Sum(_steps.TakeWhile(step => step.On <= leavesUntil).Select(step => step.Amount));
        return new BankNeeded(
            Sum(rows.Select(row => row.Balance.Bank)),
            run?.Bills ?? Pays(StandingPaymentKind.FixedBill, leavesUntil),
            run?.Savings ?? Pays(StandingPaymentKind.AutomaticSaving, leavesUntil),
            saved + stepsToCome);
    }

    // What the bank pays on the first day is paid, as today's spending is spent.
    private Money Pays(StandingPaymentKind kind, DateOnly last)
    {
        var first = _from.AddDays(1);
        return first > last ? Money.Zero : Sum(_book.StandingPayments.Values
            .Where(payment => payment.Kind == kind)
            .SelectMany(payment => BankDate.Between(first, last, payment.Recurrence, payment.NotBankDay, calendar)
                .Select(_ => payment.Amount)));
    }

    private ImmutableDictionary<string, Money> Earn(int days)
    {
        var interest = _compartments.Where(id => _book.FundTerms.ContainsKey(id)).ToImmutableDictionary(id => id,
            id => DailyInterest.On(_book.Compartments[id].Bank, _book.FundTerms[id].Interest, days));
        foreach (var (fund, earned) in interest)
        {
            Hold(_book.Compartments[fund].Post(Holding.Bank, earned));
        }

        return interest;
    }

    private void Hold(Compartment compartment) =>
        _book = _book with { Compartments = _book.Compartments.SetItem(compartment.Id, compartment) };

    private static IEnumerable<StepAhead> OpenSteps(Book book, DateOnly today) => book.SavingPlans.Values
        .Where(plan => !book.Compartments[plan.Compartment].Closed)
        .OrderBy(plan => book.Compartments[plan.Compartment].Line)
        .SelectMany(plan => plan.All().Where(step => !plan.Done.Contains(step.Number))
            .Select(step => new StepAhead(step.Due > today ? step.Due : today, plan.Compartment, step.Amount)))
        .OrderBy(step => step.On);

    private static Money Sum(IEnumerable<Money> amounts) =>
        amounts.Aggregate(Money.Zero, (sum, amount) => sum + amount);

    /// <summary>A step of a saving plan that is still to be done.</summary>
    private readonly record struct StepAhead(DateOnly On, string Compartment, Money Amount);
}

/// <summary>The paydays from a day on. Each payday asks for those of years ahead: they are looked up once.</summary>
internal sealed class PaydaysAhead(Book book, DateOnly today, ICalendar calendar)
{
    private readonly List<DateOnly> _days = [];
    private DateOnly _upTo = today.AddDays(-1);

    /// <summary>Those from the first day, today or later, to the last.</summary>
    public IReadOnlyList<DateOnly> Between(DateOnly first, DateOnly last)
    {
        if (_upTo < last)
        {
            _days.AddRange(Payday.DaysBetween(_upTo.AddDays(1), last, book, calendar));
            _upTo = last;
        }

        var from = At(first);
        return _days.GetRange(from, At(last.AddDays(1)) - from);
    }

    private int At(DateOnly day) => _days.BinarySearch(day) is var at && at < 0 ? ~at : at;
}
