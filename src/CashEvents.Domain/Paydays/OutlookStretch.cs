namespace CashEvents.Domain.Paydays;

/// <summary>What a compartment holds, or gets.</summary>
/// <param name="Cash">In notes and coins.</param>
/// <param name="Bank">In the bank.</param>
public readonly record struct Parts(Money Cash, Money Bank)
{
    /// <summary>Both together.</summary>
    public Money Total => Cash + Bank;

    /// <summary>What a compartment holds.</summary>
    public static Parts Of(Compartment compartment)
    {
        ArgumentNullException.ThrowIfNull(compartment);
        return new Parts(compartment.Cash, compartment.Bank);
    }

    /// <summary>What is left when an amount is taken, from cash as long as there is any, then from the bank.</summary>
    /// <param name="amount">At most the total.</param>
    public Parts Less(Money amount) =>
        amount <= Cash ? this with { Cash = Cash - amount } : new Parts(Money.Zero, Bank - (amount - Cash));
}

/// <summary>Money that comes into a compartment or leaves it between two paydays.</summary>
/// <param name="On">The day; for what is spent by the plan, the last day of its week or of the stretch.</param>
/// <param name="Amount">In is positive, out negative.</param>
/// <param name="Bill">The bill that it pays; null for spending and saving steps.</param>
public sealed record OutlookMove(DateOnly On, Money Amount, Bill? Bill = null);

/// <summary>What becomes of a compartment from a payday to the day before the next.</summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Opening">What it holds before.</param>
/// <param name="Interest">What its bank part earned since the payday before.</param>
/// <param name="Filled">What the fill run puts in.</param>
/// <param name="Saved">What the steps of its saving plan put in, in cash.</param>
/// <param name="Spent">What is spent of it by the plan, as far as it lasts.</param>
/// <param name="Bills">What is paid of it for bills.</param>
/// <param name="Closing">What it holds before the next payday.</param>
public sealed record OutlookRow(string Compartment, Parts Opening, Money Interest, Parts Filled, Money Saved,
    Money Spent, Money Bills, Parts Closing)
{
    /// <summary>What leads from its balance to its closing, by day: steps, spending and bills.</summary>
    public IReadOnlyList<OutlookMove> Moves { get; init; } = [];

    /// <summary>What it holds once it is filled.</summary>
    public Parts Balance => new(Opening.Cash + Filled.Cash, Opening.Bank + Interest + Filled.Bank);

    /// <summary>
    /// The least that it holds until the next payday: only saving compartments have steps, and nothing is spent of
    /// those nor paid for bills.
    /// </summary>
    public Parts Lowest => Saved > Money.Zero ? Balance : Closing;
}

/// <summary>
/// What the bank has to hold once a payday is filled (today, where a stretch begins with none), so that nothing is
/// missing until the next.
/// </summary>
/// <param name="Compartments">The bank parts of the compartments.</param>
/// <param name="Bills">Fixed bills that it pays by itself until then.</param>
/// <param name="Savings">Automatic savings until then.</param>
/// <param name="Steps">Steps of saving plans that are drawn until then.</param>
public sealed record BankNeeded(Money Compartments, Money Bills, Money Savings, Money Steps)
{
    /// <summary>All together.</summary>
    public Money Total => Compartments + Bills + Savings + Steps;
}

/// <summary>What is short.</summary>
public enum ShortOf
{
    /// <summary>
    /// The pay, and what stayed of earlier ones, for bills and savings that leave the bank by themselves.
    /// </summary>
    Bank,

    /// <summary>The same, for the steps of a saving plan.</summary>
    Step,

    /// <summary>A sinking fund for a bill that is due.</summary>
    Bill,

    /// <summary>A compartment for what its plan spends.</summary>
    Plan,
}

/// <summary>Something that is short in an outlook.</summary>
/// <param name="On">The first day on which it is.</param>
/// <param name="Of">What is short.</param>
/// <param name="Compartment">Which compartment; null for the bank.</param>
/// <param name="Bill">Which bill; null for the others.</param>
/// <param name="Missing">How much is missing: for a plan or the steps of a saving plan, up to the day before the next
/// payday.</param>
public sealed record OutlookShortage(DateOnly On, ShortOf Of, string? Compartment, Bill? Bill, Money Missing);

/// <summary>
/// The days from a payday to the one before the next; the first may begin today instead, and the last ends with the
/// outlook.
/// </summary>
/// <param name="From">The payday, or today.</param>
/// <param name="Until">The last day.</param>
/// <param name="Run">The fill run of the payday; null where the stretch begins with none.</param>
/// <param name="StayedInBank">What is left in the bank for no compartment, of this pay and all before it in the
/// outlook, once all that it pays and the steps of saving plans have left it; below zero when it has to be there
/// already.</param>
/// <param name="BankNeeded">What the bank has to hold at the beginning.</param>
/// <param name="Rows">The compartments in use, in the order in which they were taken into use.</param>
/// <param name="Shortages">What is short, by day; on one day the bank first, then saving steps, then bills and plans in
/// the order of the compartments.</param>
public sealed record OutlookStretch(DateOnly From, DateOnly Until, FillRun? Run, Money StayedInBank,
    BankNeeded BankNeeded, IReadOnlyList<OutlookRow> Rows, IReadOnlyList<OutlookShortage> Shortages);
