namespace CashEvents.Domain.Paydays;

/// <summary>A day on which something is to be done, or happens by itself.</summary>
/// <param name="Id">What it is about, the same however often its day or its words change; unlike every other of the
/// household.</param>
/// <param name="Day">The household's day.</param>
public abstract record DateAhead(string Id, DateOnly Day);

/// <summary>A source pays.</summary>
/// <param name="Id">Made from the source and its nominal day.</param>
/// <param name="Payday">Who pays, and why on this bank day.</param>
/// <param name="State">What became of it; null while nothing did.</param>
/// <param name="ToDraw">What is to be drawn in cash; null where no fill is foreseen, or for those after the first of
/// several sources on one day.</param>
public sealed record PaydayDate(string Id, Payday Payday, PaydayState? State, Money? ToDraw)
    : DateAhead(Id, Payday.Date.Day);

/// <summary>A bill is due.</summary>
/// <param name="Id">Made from its goal and due date.</param>
/// <param name="Bill">The bill.</param>
/// <param name="There">What its fund has for it today: bills are met in order of their due dates.</param>
/// <param name="WillMiss">What will be missing when it is due, as the outlook has it; zero where nothing will.</param>
public sealed record BillDate(string Id, Bill Bill, Money There, Money WillMiss) : DateAhead(Id, Bill.Due);

/// <summary>A step of a saving plan is due.</summary>
/// <param name="Id">Made from the line that set the plan and the step's number.</param>
/// <param name="Plan">The plan.</param>
/// <param name="Step">The step.</param>
public sealed record SavingStepDate(string Id, SavingPlan Plan, SavingStep Step) : DateAhead(Id, Step.Due);

/// <summary>A month ends that is not closed.</summary>
/// <param name="Id">Made from the month.</param>
/// <param name="Month">The month.</param>
public sealed record MonthEndDate(string Id, Month Month) : DateAhead(Id, Month.Last);

/// <summary>A wallet is to be counted.</summary>
/// <param name="Id">Made from the wallet.</param>
/// <param name="Day">When; today where it should have been counted before.</param>
/// <param name="Wallet">Id of the wallet.</param>
/// <param name="LastCounted">The day of the oldest last count of a compartment with cash; null where one was never
/// counted.</param>
public sealed record CountDate(string Id, DateOnly Day, string Wallet, DateOnly? LastCounted) : DateAhead(Id, Day);

/// <summary>The days to note in a calendar: paydays, bills, saving steps, months' ends and counts.</summary>
public static class DatesAhead
{
    /// <summary>Those of a book, by day. What is overdue stands on the day on which it was due; a count stands on
    /// today.</summary>
    /// <param name="book">The book, with what became of its paydays.</param>
    /// <param name="today">The household's today.</param>
    /// <param name="to">The last day. Paydays and months' ends begin with the month before today's.</param>
    /// <param name="countEvery">How often each wallet with cash in it is to be counted.</param>
    /// <param name="outlook">The book looked ahead; null where it can't be.</param>
    /// <param name="calendar">The household's calendar.</param>
    public static IReadOnlyList<DateAhead> Of(Book book, DateOnly today, DateOnly to, Period countEvery,
        Outlook? outlook, ICalendar calendar)
    {
        ArgumentNullException.ThrowIfNull(book);
        var from = Month.Of(today).Previous;
        return
        [
            .. Paydays(book, from.First, to, outlook, calendar)
                .Concat(Bills(book, to, outlook))
                .Concat(Steps(book, to))
                .Concat(MonthEnds(book, from, to))
                .Concat(Counts(book, today, countEvery))
                .OrderBy(date => date.Day).ThenBy(date => date.Id, StringComparer.Ordinal),
        ];
    }

    private static IEnumerable<DateAhead> Paydays(Book book, DateOnly from, DateOnly to, Outlook? outlook,
        ICalendar calendar)
    {
        var draws = outlook?.Stretches.Where(s => s.Run is not null)
            .ToDictionary(s => s.Run!.Payday, s => s.Run!.Cash) ?? [];
        foreach (var payday in Payday.Between(from, to, book, calendar))
        {
            var day = payday.Date.Day;
            yield return new PaydayDate($"payday.{payday.Source.Id}.{payday.Date.Nominal:yyyy-MM-dd}", payday,
                book.FillRuns.TryGetValue(day, out var mark) ? mark.State : null,
                draws.Remove(day, out var cash) ? cash : null);
        }
    }

    private static IEnumerable<DateAhead> Bills(Book book, DateOnly to, Outlook? outlook)
    {
        var missing = outlook?.Shortages.Where(s => s.Bill is not null)
            .ToLookup(s => (s.Bill!.Goal, s.Bill.Due), s => s.Missing);
        foreach (var fund in book.Goals.Values.GroupBy(goal => goal.Compartment))
        {
            var there = Parts.Of(book.Compartments[fund.Key]).Total;
            foreach (var bill in fund.SelectMany(goal => goal.OpenBills().TakeWhile(bill => bill.Due <= to))
                .OrderBy(bill => bill.Due).ThenBy(bill => bill.Goal, StringComparer.Ordinal))
            {
                var has = there < bill.Amount ? there : bill.Amount;
                there -= has;
                yield return new BillDate($"bill.{bill.Goal}.{bill.Due:yyyy-MM-dd}", bill, has,
                    missing?[(bill.Goal, bill.Due)].FirstOrDefault() ?? Money.Zero);
            }
        }
    }

    private static IEnumerable<DateAhead> Steps(Book book, DateOnly to) =>
        from plan in book.SavingPlans.Values
        where !book.Compartments[plan.Compartment].Closed
        from step in plan.All()
        where step.Due <= to && !plan.Done.Contains(step.Number)
        select new SavingStepDate(FormattableString.Invariant($"step.{plan.Compartment}.{plan.Line}.{step.Number}"),
            plan, step);

    private static IEnumerable<DateAhead> MonthEnds(Book book, Month from, DateOnly to) =>
        Month.Through(from, Month.Of(to)).Where(month => month.Last <= to && !book.IsClosed(month.Last))
            .Select(month => new MonthEndDate($"month.{month}", month));

    private static IEnumerable<DateAhead> Counts(Book book, DateOnly today, Period every) =>
        book.CountedWallets.Select(wallet =>
        {
            var due = wallet.Counted is { } day ? every.After(day, 1) : today;
            return new CountDate($"count.{wallet.Wallet}", due < today ? today : due, wallet.Wallet, wallet.Counted);
        });
}
