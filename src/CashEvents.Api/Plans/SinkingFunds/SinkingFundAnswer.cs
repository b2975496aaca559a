namespace CashEvents.Api.Plans;

/// <summary>The next bill of a goal.</summary>
/// <param name="Goal">Its goal.</param>
/// <param name="Label">What it is called.</param>
/// <param name="Due">When it is due.</param>
/// <param name="Amount">How much.</param>
/// <param name="Paydays">Paydays until then.</param>
/// <param name="Alone">What it alone would ask for each payday if nothing were there; with interest by the sinking fund
/// factor. Absent when no payday is left before it is due.</param>
public sealed record NextBillAnswer(string Goal, string Label, DateOnly Due, decimal Amount, int Paydays,
    decimal? Alone);

/// <summary>What puts a fund that is behind on track again: the one or the other.</summary>
/// <param name="Now">Put in now, with each payday's part as before.</param>
/// <param name="OrEachPayday">Or put in on each payday from the next on: the level contribution.</param>
public sealed record MendAnswer(decimal Now, decimal OrEachPayday);

/// <summary>A bill paid in a schedule.</summary>
/// <param name="Goal">Its goal.</param>
/// <param name="Amount">How much.</param>
public sealed record ScheduledBillAnswer(string Goal, decimal Amount);

/// <summary>What happens in a fund on a payday or due date.</summary>
/// <param name="On">The day.</param>
/// <param name="Contribution">Paid in.</param>
/// <param name="ToCash">Of which in cash.</param>
/// <param name="ToBank">Of which in the bank.</param>
/// <param name="Interest">What the bank part earned since the last payday.</param>
/// <param name="Bills">Bills paid that day, from the cash part as long as there is any, then from the bank.</param>
/// <param name="Cash">What the cash part holds then.</param>
/// <param name="Bank">What the bank part holds then.</param>
/// <param name="Balance">The total of both.</param>
public sealed record ScheduleRowAnswer(
    DateOnly On, decimal Contribution, decimal ToCash, decimal ToBank, decimal Interest,
    IReadOnlyList<ScheduledBillAnswer> Bills, decimal Cash, decimal Bank, decimal Balance);

/// <summary>A sinking fund: what is there, what should be, and what it takes.</summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Cash">What is there in cash.</param>
/// <param name="Bank">What is there in the bank.</param>
/// <param name="There">The total of both.</param>
/// <param name="BankPercent">How much of each contribution goes to the bank.</param>
/// <param name="InterestPercent">What the bank part earns in a year, a nominal rate counted by days (actual/365
/// fixed).</param>
/// <param name="NextBills">The next bill of each goal, by due date.</param>
/// <param name="LevelContribution">The least that, paid in on each payday, is never short on any due date; it steps
/// down once the bill that asks for it is met.</param>
/// <param name="AtOnce">What is due before the next payday and not there: no contribution comes early enough for
/// it.</param>
/// <param name="ShouldBeThere">Each bill in equal parts over the paydays from the bill before it: the parts of the
/// paydays that are gone.</param>
/// <param name="OnTrack">Whether that much is there.</param>
/// <param name="Behind">How much of it is missing.</param>
/// <param name="Mend">The least that mends it; absent when it is on track.</param>
public sealed record SinkingFundAnswer(
    string Compartment, string Label, decimal Cash, decimal Bank, decimal There, int BankPercent,
    decimal InterestPercent, IReadOnlyList<NextBillAnswer> NextBills,
    decimal LevelContribution, decimal AtOnce, decimal ShouldBeThere, bool OnTrack, decimal Behind, MendAnswer? Mend)
{
    /// <summary>By paydays and due dates; absent in the list of funds.</summary>
    public IReadOnlyList<ScheduleRowAnswer>? Schedule { get; init; }

    /// <summary>Said when no payday is known to come; in the list of funds it stands beside the list.</summary>
    public string? Note { get; init; }

    /// <summary>The line at which the book stood; in the list of funds it stands beside the list.</summary>
    public long? BookLine { get; init; }

    /// <summary>A fund in this API's words, with its schedule up to a day if one is given.</summary>
    internal static SinkingFundAnswer Of(Book book, Compartment compartment, FundPaydays paydays, DateOnly today,
        DateOnly? to)
    {
        decimal Say(Money money) => book.Household!.Currency?.ToDecimal(money) ?? 0m;
        var terms = book.FundTerms.GetValueOrDefault(compartment.Id, FundTerms.Cash);
        var schedule = FundSchedule.Of(compartment, book, paydays.Next, today, to ?? today, paydays.Between);
        var fund = schedule.Fund;
        var since = fund.Bills.Count == 0 ? today : fund.Bills.Min(b => b.Since);
        var accrued = fund.Accrued(paydays.Between(since < today ? since : today, fund.LastDue ?? today), paydays.Next);
        var behind = accrued > fund.There ? accrued - fund.There : Money.Zero;
        return new SinkingFundAnswer(
            compartment.Id, compartment.Label, Say(fund.Cash), Say(fund.Bank), Say(fund.There), terms.BankPercent,
            terms.InterestBasisPoints / 100m,
            [.. fund.Bills.DistinctBy(b => b.Goal).Select(NextBill)],
            Say(schedule.Level), Say(schedule.AtOnce), Say(accrued), behind == Money.Zero, Say(behind),
            behind == Money.Zero ? null : new MendAnswer(Say(behind), Say(schedule.Level)))
        {
            Schedule = to is { } horizon ? [.. schedule.Rows(horizon).Select(Row)] : null,
            Note = to is null ? null : paydays.Note,
            BookLine = to is null ? null : book.Line,
        };

        NextBillAnswer NextBill(Bill bill)
        {
            var toCome = schedule.Paydays.TakeWhile(p => p <= bill.Due).ToList();
            return new NextBillAnswer(bill.Goal, book.Goals[bill.Goal].Label, bill.Due, Say(bill.Amount), toCome.Count,
                toCome.Count == 0 ? null : Say(fund.Alone(bill, toCome)));
        }

        ScheduleRowAnswer Row(ScheduleRow row) => new(
            row.On, Say(row.Contribution), Say(row.ToCash), Say(row.ToBank), Say(row.Interest),
            [.. row.Bills.Select(b => new ScheduledBillAnswer(b.Goal, Say(b.Amount)))],
            Say(row.Cash), Say(row.Bank), Say(row.Balance));
    }
}

/// <summary>The household's sinking funds.</summary>
/// <param name="SinkingFunds">Those in use, in the order they were taken into use.</param>
/// <param name="NextPayday">The payday that is to be filled next; contributions begin there.</param>
/// <param name="BookLine">The line at which the book stood.</param>
public sealed record SinkingFundsAnswer(IReadOnlyList<SinkingFundAnswer> SinkingFunds, DateOnly NextPayday,
    long BookLine)
{
    /// <summary>Said when no payday is known to come.</summary>
    public string? Note { get; init; }
}
