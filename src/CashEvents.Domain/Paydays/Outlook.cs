using System.Collections.Immutable;

namespace CashEvents.Domain.Paydays;

/// <summary>
/// The book looked ahead: on each payday the fill run that the rules give, from then on the plan's spending day by day,
/// each bill on its due date, and each step of a saving plan, drawn from the bank, on its day.
/// Nothing goes below zero. A plan that finds nothing left waits for the next fill; a bill that a fund can't meet stays
/// open, with those after it, until a fill covers it.
/// </summary>
/// <param name="From">The day that it looks from.</param>
/// <param name="To">The last day.</param>
/// <param name="Stretches">From payday to payday.</param>
/// <param name="LastPayday">A payday after which none is known, so that nothing says how long its pay has to last and
/// it is not filled; null when there is none such.</param>
public sealed record Outlook(DateOnly From, DateOnly To, IReadOnlyList<OutlookStretch> Stretches, DateOnly? LastPayday)
{
    /// <summary>The longest, in months.</summary>
    public const int MostMonths = 60;

    /// <summary>
    /// The most work that an outlook takes, in steps: for each payday one for each source, standing payment and bill
    /// that is saved for, a hundred for each compartment, which is a row to answer,
    /// and for each fund that earns interest two for each payday of the five years that its contribution is searched
    /// for.
    /// </summary>
    public const long MostSteps = 2_000_000;

    private const int StepsOfRow = 100;
    private const int StepsOfEarning = 2;

    /// <summary>All that is short, by day.</summary>
    public IEnumerable<OutlookShortage> Shortages => Stretches.SelectMany(stretch => stretch.Shortages);

    /// <summary>The outlook of a book.</summary>
    /// <param name="book">The book, with its plan and what became of its paydays. Pay of a source without an amount is
    /// counted as nothing.</param>
    /// <param name="today">The household's today, whose spending is in the balances; a payday today that is not filled
    /// is.</param>
    /// <param name="to">The last day, today or later.</param>
    /// <param name="calendar">The household's calendar.</param>
    /// <exception cref="RefusalException">It takes more than <see cref="MostSteps"/>; says for how long it does
    /// not.</exception>
    public static Outlook Of(Book book, DateOnly today, DateOnly to, ICalendar calendar) =>
        new Ahead(book, today, to, calendar).Look();

    /// <summary>The book as it is looked ahead, stretch by stretch.</summary>
    private sealed class Ahead(Book book, DateOnly today, DateOnly to, ICalendar calendar)
    {
        private readonly ILookup<string, string> _goals =
            book.Goals.Values.ToLookup(goal => goal.Compartment, goal => goal.Id);
        private readonly IReadOnlyList<string> _compartments =
            [.. book.Compartments.Values.Where(c => !c.Closed).OrderBy(c => c.Line).Select(c => c.Id)];
        private readonly Queue<(DateOnly On, string Compartment, Money Amount)> _steps = new(Steps(book, today));
        private readonly List<OutlookStretch> _stretches = [];
        private readonly List<DateOnly> _paydays = [];
        private DateOnly _paydaysUpTo = today.AddDays(-1);
        private Book _book = book;
        private Money _stayedInBank = Money.Zero;
        private DateOnly? _paidOn;
        private DateOnly? _lastPayday;

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
                    ? Interest(day.DayNumber - before.DayNumber)
                    : ImmutableDictionary<string, Money>.Empty;
                foreach (var (fund, earned) in interest)
                {
                    Hold(_book.Compartments[fund].Post(Holding.Bank, earned));
                }

                var run = FillRun.Of(PaydayStatement.Of(day, null, _book, calendar), _book,
                    fund => FundSchedule.Of(fund, _book, day, day, day, Paydays).OnFirstPayday);
                payday = ToFill(run.Next);
                Add(day, payday, run.Next, run, interest);
            }

            return new Outlook(today, to, _stretches, _lastPayday);
        }

        private void MustNotTakeTooLong()
        {
            var inFiveYears = Paydays(today, today.AddYears(SinkingFund.YearsAhead)).Count;
            var bills = _book.Goals.Values.Sum(
                goal => goal.OpenBills(savedForBy: today.AddYears(SinkingFund.YearsAhead)).Count());
            var earning = _compartments.Count(
                id => _book.FundTerms.GetValueOrDefault(id) is { InterestBasisPoints: > 0 } && _goals[id].Any());
            var each = (StepsOfRow * _compartments.Count) + _book.IncomeSources.Count + _book.StandingPayments.Count
                + bills + (StepsOfEarning * earning * (long)inFiveYears);
            if (Takes(to) <= MostSteps)
            {
                return;
            }

            var months = ((to.Year - today.Year) * 12) + to.Month - today.Month;
            var fewer = Enumerable.Range(1, months).TakeWhile(ahead => Takes(today.AddMonths(ahead)) <= MostSteps)
                .LastOrDefault();
            throw Refusal.Unfit("months", "outlook-too-long",
                $"{months} months with {Paydays(today, to).Count} paydays, {_compartments.Count} compartments and "
                    + $"{bills} bills to save for are more than one outlook works out: "
                + (fewer > 0 ? $"ask for at most {fewer} months." : "keep fewer compartments, bills or paydays."));

            long Takes(DateOnly last) => Paydays(today, last).Count * each;
        }

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
        /// <param name="next">The next payday; when it lies beyond the outlook's end, what leaves the bank until then
        /// is needed at the beginning too.</param>
        /// <param name="run">What fills it; null when it begins with no payday.</param>
        /// <param name="interest">What each fund's bank part earned.</param>
        private void Add(DateOnly from, DateOnly? filled, DateOnly? next, FillRun? run,
            ImmutableDictionary<string, Money> interest)
        {
            var until = filled?.AddDays(-1) ?? to;
            var shortages = new List<OutlookShortage>();
            if (run is not null)
            {
                _paidOn = from;
                _stayedInBank += run.StaysInBank;
                var missing = _stayedInBank > run.StaysInBank ? -_stayedInBank : -run.StaysInBank;
                if (missing > Money.Zero)
                {
                    shortages.Add(new OutlookShortage(from, ShortOf.Bank, null, null, missing));
                }
            }

            var saved = Saved(until, shortages);
            var fills = run?.Fills.ToDictionary(fill => fill.Compartment, fill => new Parts(fill.Cash, fill.Bank));
            var rows = new List<OutlookRow>();
            foreach (var id in _compartments)
            {
                var held = Parts.Of(_book.Compartments[id]);
                var earned = interest.GetValueOrDefault(id);
                var row = new OutlookRow(id, held with { Bank = held.Bank - earned }, earned,
                    fills?.GetValueOrDefault(id) ?? default, saved.GetValueOrDefault(id), Money.Zero, Money.Zero,
                    default);
                var spent = Spent(_book.Compartments[id], row.Balance.Total, from, until, shortages);
                var bills = Paid(id, row.Balance.Total, from, until, shortages);
                row = row with
                {
                    Spent = spent,
                    Bills = bills,
                    Closing = (row.Balance with { Cash = row.Balance.Cash + row.Saved }).Less(spent + bills)
                };
                rows.Add(row);
                Hold(_book.Compartments[id] with { Cash = row.Closing.Cash, Bank = row.Closing.Bank });
            }

            // What the bank pays today is paid, as today's spending is spent.
            var leavesUntil = next > until ? next.Value.AddDays(-1) : until;
            var needed = new BankNeeded(
                Sum(rows.Select(row => row.Balance.Bank)),
                run?.Bills ?? Pays(StandingPaymentKind.FixedBill, from.AddDays(1), leavesUntil),
                run?.Savings ?? Pays(StandingPaymentKind.AutomaticSaving, from.AddDays(1), leavesUntil),
                Sum(saved.Values) + Sum(_steps.TakeWhile(step => step.On <= leavesUntil).Select(step => step.Amount)));
            _stretches.Add(new OutlookStretch(from, until, run, _stayedInBank, needed, rows,
                [.. shortages.OrderBy(s => s.On)]));
        }

        private static IEnumerable<(DateOnly On, string Compartment, Money Amount)> Steps(Book book, DateOnly today) =>
            book.SavingPlans.Values
            .Where(plan => !book.Compartments[plan.Compartment].Closed)
            .OrderBy(plan => book.Compartments[plan.Compartment].Line)
            .SelectMany(plan => plan.All().Where(step => !plan.Done.Contains(step.Number))
                .Select(step => (On: step.Due > today ? step.Due : today, plan.Compartment, step.Amount)))
            .OrderBy(step => step.On);

        /// <summary>
        /// What the steps up to a day put into each compartment. Who puts them aside before the first payday draws them
        /// from the pay before it.
        /// </summary>
        private Dictionary<string, Money> Saved(DateOnly until, List<OutlookShortage> shortages)
        {
            var saved = new Dictionary<string, Money>(StringComparer.Ordinal);
            var missing = new List<(DateOnly On, string Compartment, Money Amount)>();
            while (_steps.TryPeek(out var step) && step.On <= until)
            {
                _steps.Dequeue();
                saved[step.Compartment] = saved.GetValueOrDefault(step.Compartment) + step.Amount;
                if (_paidOn is not null)
                {
                    _stayedInBank -= step.Amount;
                    missing.Add(step with { Amount = -_stayedInBank < step.Amount ? -_stayedInBank : step.Amount });
                }
            }

            shortages.AddRange(missing.Where(step => step.Amount > Money.Zero).GroupBy(step => step.Compartment)
                .Select(steps => new OutlookShortage(steps.First().On, ShortOf.Step, steps.Key, null,
                    Sum(steps.Select(step => step.Amount)))));
            return saved;
        }

        private Money Pays(StandingPaymentKind kind, DateOnly first, DateOnly last) => first > last ? Money.Zero
            : Sum(_book.StandingPayments.Values.Where(payment => payment.Kind == kind)
                .SelectMany(payment => BankDate.Between(first, last, payment.Recurrence, payment.NotBankDay, calendar)
                    .Select(_ => payment.Amount)));

        private static Money Sum(IEnumerable<Money> amounts) =>
            amounts.Aggregate(Money.Zero, (sum, amount) => sum + amount);

        private Money Spent(Compartment compartment, Money there, DateOnly from, DateOnly until,
            List<OutlookShortage> shortages)
        {
            // What was spent today is spent already.
            var first = from == today ? today.AddDays(1) : from;
            if (compartment.Purpose != Purpose.Spending || first > until)
            {
                return Money.Zero;
            }

            var planned = Money.Zero;
            var runsOut = (DateOnly?)null;
            foreach (var slice in WeekSlice.Of(first, until, _book.Household!.FirstDayOfWeek))
            {
                var weekly = _book.Plan.For(compartment.Id, slice.Week.First)?.Amount ?? Money.Zero;
                var before = planned;
                planned += slice.Share(weekly);
                runsOut ??= planned > there
                    ? Enumerable.Range(0, slice.Days).Select(slice.First.AddDays)
                        .First(day => before + (slice with { Last = day }).Share(weekly) > there)
                    : null;
            }

            if (runsOut is { } on)
            {
                shortages.Add(new OutlookShortage(on, ShortOf.Plan, compartment.Id, null, planned - there));
                return there;
            }

            return planned;
        }

        private Money Paid(string fund, Money there, DateOnly from, DateOnly until, List<OutlookShortage> shortages)
        {
            var paid = Money.Zero;
            var due = _goals[fund].SelectMany(
                goal => _book.Goals[goal].OpenBills().TakeWhile(bill => bill.Due <= until));
            foreach (var bill in due.OrderBy(bill => bill.Due).ThenBy(bill => bill.Goal, StringComparer.Ordinal)
                .ToList())
            {
                if (bill.Amount <= there)
                {
                    (paid, there) = (paid + bill.Amount, there - bill.Amount);
                    _book = _book.WithGoal(bill.Goal, goal => goal.Pay(bill.Due));
                    continue;
                }

                // One that waits was told when it was due.
                if (bill.Due >= from || from == today)
                {
                    shortages.Add(new OutlookShortage(bill.Due > from ? bill.Due : from, ShortOf.Bill, fund, bill,
                        bill.Amount - there));
                }

                // What is there waits with it: bills are paid in their order.
                there = Money.Zero;
            }

            return paid;
        }

        private ImmutableDictionary<string, Money> Interest(int days) => _compartments
            .Where(id => _book.FundTerms.ContainsKey(id))
            .ToImmutableDictionary(id => id,
                id => DailyInterest.On(_book.Compartments[id].Bank, _book.FundTerms[id].Interest, days));

        private void Hold(Compartment compartment) =>
            _book = _book with { Compartments = _book.Compartments.SetItem(compartment.Id, compartment) };

        // Each payday asks for those of years ahead: they are looked up once.
        private IReadOnlyList<DateOnly> Paydays(DateOnly first, DateOnly last)
        {
            if (_paydaysUpTo < last)
            {
                _paydays.AddRange(Payday.DaysBetween(_paydaysUpTo.AddDays(1), last, _book, calendar));
                _paydaysUpTo = last;
            }

            var (from, until) = (At(first), At(last.AddDays(1)));
            return _paydays.GetRange(from, until - from);
        }

        private int At(DateOnly day) => _paydays.BinarySearch(day) is var at && at < 0 ? ~at : at;
    }
}
