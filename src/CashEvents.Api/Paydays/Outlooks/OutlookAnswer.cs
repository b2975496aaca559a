namespace CashEvents.Api.Paydays;

/// <summary>Something that will be short.</summary>
/// <param name="On">The first day on which it is.</param>
/// <param name="What">The bank, the steps of a saving plan, a bill, or a compartment's plan.</param>
/// <param name="Missing">How much is missing; for a plan or steps, up to the day before the next payday.</param>
/// <param name="Detail">The same in words.</param>
public sealed record OutlookShortageAnswer(DateOnly On, ShortOf What, decimal Missing, string Detail)
{
    /// <summary>The compartment; absent for the bank.</summary>
    public string? Compartment { get; init; }

    /// <summary>The goal whose bill it is; only for a bill.</summary>
    public string? Goal { get; init; }

    /// <summary>When the bill is due; only for a bill.</summary>
    public DateOnly? Due { get; init; }
}

/// <summary>What a payday comes to: pay less bills, savings and fills is what stays in the bank.</summary>
/// <param name="Payday">Its bank day.</param>
/// <param name="Pay">What is paid.</param>
/// <param name="FixedBills">Fixed bills that the bank pays before the next payday.</param>
/// <param name="AutomaticSavings">Automatic savings until then.</param>
/// <param name="Cash">Fills in cash.</param>
/// <param name="Bank">Fills in the bank parts of compartments.</param>
/// <param name="Fills">The total of both.</param>
/// <param name="Cut">What compartments lack since there is not enough.</param>
/// <param name="StaysInBank">What stays in the bank for no compartment; below zero when bills and savings take more
/// than the pay.</param>
/// <param name="StayedInBank">The same of this payday and all before it in the outlook, less the saving steps since.
/// What the bank holds today for no compartment, the book does not know.</param>
public sealed record OutlookPaydayAnswer(
    DateOnly Payday, decimal Pay, decimal FixedBills, decimal AutomaticSavings, decimal Cash, decimal Bank,
    decimal Fills, decimal Cut, decimal StaysInBank, decimal StayedInBank);

/// <summary>What the bank has to hold, so that nothing is missing until the next payday.</summary>
/// <param name="Compartments">The bank parts of the compartments, once they are filled.</param>
/// <param name="FixedBills">Fixed bills that it pays by itself before the next payday.</param>
/// <param name="AutomaticSavings">Automatic savings until then.</param>
/// <param name="Steps">Steps of saving plans that are drawn until then.</param>
/// <param name="Total">All in total: what its statement has to show on the payday, or today.</param>
public sealed record OutlookBankAnswer(decimal Compartments, decimal FixedBills, decimal AutomaticSavings,
    decimal Steps, decimal Total);

/// <summary>
/// What becomes of a compartment: opening + interest + filled = balance, and balance + saved − spent − bills = closing.
/// </summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Opening">What it holds before, the total of cash and bank.</param>
/// <param name="Interest">What its bank part earned since the payday before.</param>
/// <param name="Filled">What the fill run puts in.</param>
/// <param name="Balance">What it holds then.</param>
/// <param name="BalanceCash">Of which in cash.</param>
/// <param name="BalanceBank">Of which in the bank.</param>
/// <param name="Saved">What the steps of its saving plan put in until the next payday, in cash.</param>
/// <param name="Spent">What its plan spends until then, as far as it lasts.</param>
/// <param name="Bills">What is paid for bills until then.</param>
/// <param name="Closing">What it holds before the next payday.</param>
/// <param name="ClosingCash">Of which in cash.</param>
/// <param name="ClosingBank">Of which in the bank.</param>
/// <param name="Lowest">The least that it holds from the balance to the closing.</param>
public sealed record OutlookRowAnswer(
    string Compartment, string Label, decimal Opening, decimal Interest, decimal Filled, decimal Balance,
    decimal BalanceCash, decimal BalanceBank,
    decimal Saved, decimal Spent, decimal Bills, decimal Closing, decimal ClosingCash, decimal ClosingBank,
    decimal Lowest)
{
    /// <summary>The bills that are paid of it until then, by day; absent where none is.</summary>
    public IReadOnlyList<OutlookBillAnswer>? BillsPaid { get; init; }
}

/// <summary>A bill that is paid as the outlook has it.</summary>
/// <param name="Goal">Its goal.</param>
/// <param name="Label">What it is called.</param>
/// <param name="On">The day.</param>
/// <param name="Amount">How much.</param>
public sealed record OutlookBillAnswer(string Goal, string Label, DateOnly On, decimal Amount);

/// <summary>The days from a payday to the one before the next.</summary>
/// <param name="From">The payday; today for the days before the first.</param>
/// <param name="Until">The last day.</param>
/// <param name="BankNeeded">What the bank has to hold on the first of them.</param>
/// <param name="Compartments">Those in use, in the order in which they were taken into use.</param>
public sealed record OutlookStretchAnswer(DateOnly From, DateOnly Until, OutlookBankAnswer BankNeeded,
    IReadOnlyList<OutlookRowAnswer> Compartments)
{
    /// <summary>What the payday comes to; absent for the days before the first.</summary>
    public OutlookPaydayAnswer? Payday { get; init; }
}

/// <summary>The book looked ahead.</summary>
/// <param name="From">The household's today, whose spending is in the balances.</param>
/// <param name="To">The last day.</param>
/// <param name="Currency">ISO 4217 code.</param>
/// <param name="Shortages">All that will be short, by day.</param>
/// <param name="Stretches">From payday to payday.</param>
/// <param name="BookLine">The line at which the book stood.</param>
public sealed record OutlookAnswer(DateOnly From, DateOnly To, string Currency,
    IReadOnlyList<OutlookShortageAnswer> Shortages, IReadOnlyList<OutlookStretchAnswer> Stretches, long BookLine)
{
    /// <summary>The first of what will be short; absent when nothing is.</summary>
    public OutlookShortageAnswer? FirstShort { get; init; }

    /// <summary>
    /// Sources that pay as they come and are counted as nothing, since <c>pay</c> supposes nothing for them.
    /// </summary>
    public IReadOnlyList<string>? NotCounted { get; init; }

    /// <summary>What the outlook does not know.</summary>
    public string? Note { get; init; }

    /// <summary>An outlook in this API's words.</summary>
    internal static OutlookAnswer Of(Outlook outlook, Book book) => new OutlookInWords(outlook, book).Answer();
}
