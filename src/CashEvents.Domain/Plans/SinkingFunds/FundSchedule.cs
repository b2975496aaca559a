namespace CashEvents.Domain.Plans;

/// <summary>What happens in a fund on one day.</summary>
/// <param name="On">A payday, a due date, or both.</param>
/// <param name="ToCash">Paid into the cash part.</param>
/// <param name="ToBank">Paid into the bank part.</param>
/// <param name="Interest">What the bank part earned since the last payday, whole minor units of it.</param>
/// <param name="Bills">Bills paid that day, from the cash part as long as there is any, then from the bank.</param>
/// <param name="Cash">What the cash part holds then.</param>
/// <param name="Bank">What the bank part holds then.</param>
public sealed record ScheduleRow(DateOnly On, Money ToCash, Money ToBank, Money Interest, IReadOnlyList<Bill> Bills,
    Money Cash, Money Bank)
{
    /// <summary>Paid in.</summary>
    public Money Contribution => ToCash + ToBank;

    /// <summary>What the fund holds then.</summary>
    public Money Balance => Cash + Bank;
}

/// <summary>
/// How a fund meets its bills: the least contribution that, paid in on each payday, is never short on any due date.
/// Once the bill that asks for that much
/// is met, the contribution steps down to what the later ones ask for; the last payment before each step is smaller by
/// what rounding up paid in too much.
/// </summary>
public sealed class FundSchedule
{
    private readonly SinkingFund _fund;
    private readonly IReadOnlyList<DateOnly> _paydays;
    private readonly DateOnly _today;

    /// <summary>What is due before the first payday, and from each payday to the day before the next.</summary>
    private readonly long[] _due;

    /// <summary>Works it out.</summary>
    /// <param name="fund">The fund as it stands today.</param>
    /// <param name="paydays">The paydays that are still to come, in order, up to the last due date or beyond
    /// it.</param>
    /// <param name="today">The household's today.</param>
    /// <exception cref="OverflowException">The bills add up to more than 64 bits of minor units.</exception>
    public FundSchedule(SinkingFund fund, IReadOnlyList<DateOnly> paydays, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(fund);
        ArgumentNullException.ThrowIfNull(paydays);
        (_fund, _paydays, _today) = (fund, paydays, today);
        _due = new long[paydays.Count + 1];
        var stretch = 0;
        foreach (var bill in fund.Bills)
        {
            while (stretch < paydays.Count && paydays[stretch] <= bill.Due)
            {
                stretch++;
            }

            _due[stretch] = checked(_due[stretch] + bill.Amount.Minor);
        }

        AtOnce = new Money(Math.Max(0, _due[0] - fund.There.Minor));
        Level = new Money(LevelFrom(0, Start().Pay(_due[0])));
    }

    /// <summary>The schedule of a book's fund, counted by paydays to come.</summary>
    /// <param name="fund">The fund, with what it holds.</param>
    /// <param name="book">The book, with the fund's goals and terms.</param>
    /// <param name="next">The first payday to come.</param>
    /// <param name="today">The household's today.</param>
    /// <param name="upTo">The last day asked for.</param>
    /// <param name="paydays">The paydays from one day to another, both counted in.</param>
    public static FundSchedule Of(Compartment fund, Book book, DateOnly next, DateOnly today, DateOnly upTo,
        Func<DateOnly, DateOnly, IReadOnlyList<DateOnly>> paydays)
    {
        ArgumentNullException.ThrowIfNull(paydays);
        var kept = SinkingFund.Of(book, fund, next);
        var last = kept.LastDue > upTo ? kept.LastDue.Value : upTo;
        return new FundSchedule(kept, last < next ? [] : paydays(next, last), today);
    }

    /// <summary>The fund as it stands today.</summary>
    public SinkingFund Fund => _fund;

    /// <summary>The paydays to come.</summary>
    public IReadOnlyList<DateOnly> Paydays => _paydays;

    /// <summary>
    /// What the fund is to get on the first payday: the level contribution, and what is due before and not there.
    /// </summary>
    public Money OnFirstPayday => AtOnce + Level;

    /// <summary>What has to be put in today, since it is due before the first payday and not there.</summary>
    public Money AtOnce { get; }

    /// <summary>
    /// The level contribution: what is paid in on the first payday and each one after it until the bill that asks for
    /// it is met.
    /// </summary>
    public Money Level { get; }

    /// <summary>The schedule by paydays and due dates, up to a day.</summary>
    public IReadOnlyList<ScheduleRow> Rows(DateOnly to)
    {
        var part = new Parts(_fund.Cash.Minor, _fund.Bank.Minor);
        var bills = new Queue<Bill>(_fund.Bills);
        var rows = new List<ScheduleRow>();
        var days = _paydays.Concat(_fund.Bills.Select(b => b.Due < _today ? _today : b.Due))
            .Concat(AtOnce > Money.Zero ? [_today] : []).Distinct().Where(d => d <= to).Order();
        var contributions = Contributions();
        var payday = 0;
        foreach (var day in days)
        {
            var paid = new List<Bill>();
            var (toCash, toBank) = Share(rows.Count == 0 ? AtOnce.Minor : 0);
            part = Pay(part.With(toCash, toBank), before: day);
            var interest = 0L;
            if (payday < _paydays.Count && _paydays[payday] == day)
            {
                interest = Interest(payday, part);
                var (cash, bank) = Share(contributions[payday++]);
                part = part.With(cash, interest + bank);
                (toCash, toBank) = (toCash + cash, toBank + bank);
            }

            part = Pay(part, before: day.AddDays(1));
            rows.Add(new ScheduleRow(day, new Money(toCash), new Money(toBank), new Money(interest), paid,
                new Money(part.Cash), new Money(part.Bank)));

            Parts Pay(Parts from, DateOnly before)
            {
                while (bills.TryPeek(out var bill) && bill.Due < before)
                {
                    paid.Add(bills.Dequeue());
                    from = from.Pay(bill.Amount.Minor);
                }

                return from;
            }
        }

        return rows;
    }

    private long[] Contributions()
    {
        var contributions = new long[_paydays.Count];
        var part = Start().Pay(_due[0]);
        for (var from = 0; from < contributions.Length;)
        {
            var level = LevelFrom(from, part);
            if (level == 0)
            {
                break;
            }

            // The last due date that would be short with a minor unit less is the one that asks for this much.
            var until = LastShort(from, part, level - 1);
            Array.Fill(contributions, level, from, until - from);
            var met = Run(from, until, part, contributions);
            contributions[until - 1] -= Math.Min(level, met.Cash + met.Bank);
            part = Run(from, until, part, contributions);
            from = until;
        }

        return contributions;
    }

    private long LevelFrom(int from, Parts part)
    {
        var level = WithoutInterest(from, part);
        if (_fund.Interest == 0m || (_fund.BankPercent == 0 && part.Bank == 0))
        {
            return level;
        }

        // Interest only helps, and what is paid in more is never less later: the least that is never short lies below.
        var low = 0L;
        while (low < level)
        {
            var middle = low + ((level - low) / 2);
            (low, level) = IsShort(from, part, middle) ? (middle + 1, level) : (low, middle);
        }

        return level;
    }

    private long WithoutInterest(int from, Parts part)
    {
        var level = 0L;
        var missing = -(part.Cash + part.Bank);
        for (var payday = from; payday < _paydays.Count; payday++)
        {
            missing = checked(missing + _due[payday + 1]);
            var paydays = payday - from + 1;
            level = missing > 0 ? Math.Max(level, ((missing - 1) / paydays) + 1) : level;
        }

        return level;
    }

    private bool IsShort(int from, Parts part, long level)
    {
        for (var payday = from; payday < _paydays.Count; payday++)
        {
            part = Next(part, payday, level);
            if (part.Cash + part.Bank < 0)
            {
                return true;
            }
        }

        return false;
    }

    /// <summary>How many paydays there were when it was short last; −1 when it never is.</summary>
    private int LastShort(int from, Parts part, long level)
    {
        var last = -1;
        for (var payday = from; payday < _paydays.Count; payday++)
        {
            part = Next(part, payday, level);
            last = part.Cash + part.Bank < 0 ? payday + 1 : last;
        }

        return last;
    }

    private Parts Run(int from, int until, Parts part, long[] contributions)
    {
        for (var payday = from; payday < until; payday++)
        {
            part = Next(part, payday, contributions[payday]);
        }

        return part;
    }

    private Parts Next(Parts part, int payday, long contribution)
    {
        var (toCash, toBank) = Share(contribution);
        return part.With(toCash, Interest(payday, part) + toBank).Pay(_due[payday + 1]);
    }

    private long Interest(int payday, Parts part) => payday == 0 || part.Bank <= 0 ? 0
        : DailyInterest.On(new Money(part.Bank), _fund.Interest,
            _paydays[payday].DayNumber - _paydays[payday - 1].DayNumber).Minor;

    private Parts Start()
    {
        var (toCash, toBank) = Share(AtOnce.Minor);
        return new Parts(_fund.Cash.Minor, _fund.Bank.Minor).With(toCash, toBank);
    }

    private (long ToCash, long ToBank) Share(long contribution)
    {
        var toBank = (long)(contribution * (Int128)_fund.BankPercent / 100);
        return (contribution - toBank, toBank);
    }

    /// <summary>What lies in cash and in the bank, in minor units. A bank part below zero is what is short.</summary>
    private readonly record struct Parts(long Cash, long Bank)
    {
        public Parts With(long toCash, long toBank) => new(Cash + toCash, checked(Bank + toBank));

        public Parts Pay(long amount)
        {
            var fromCash = Math.Min(Cash, amount);
            return new Parts(Cash - fromCash, checked(Bank - (amount - fromCash)));
        }
    }
}
