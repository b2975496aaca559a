namespace CashEvents.Domain.Plans;

/// <summary>A sinking fund: what is there, how it is kept, and the bills that it has to meet.</summary>
/// <param name="Cash">What is there in cash.</param>
/// <param name="Bank">What is there in the bank.</param>
/// <param name="BankPercent">How much of each contribution goes to the bank, 0 to 100.</param>
/// <param name="Interest">What the bank part earns in a year, a nominal rate as a part of one, by days. It is counted
/// from the first payday on; what earlier days bring is extra.</param>
/// <param name="Bills">Bills that are not paid, in order of their due dates.</param>
public sealed record SinkingFund(Money Cash, Money Bank, int BankPercent, decimal Interest, IReadOnlyList<Bill> Bills)
{
    /// <summary>
    /// How many years ahead bills are met by the level contribution; of each goal at least one bill more.
    /// </summary>
    public const int YearsAhead = 5;

    /// <summary>A fund of a book.</summary>
    /// <param name="book">The book.</param>
    /// <param name="fund">The compartment.</param>
    /// <param name="today">The household's today.</param>
    public static SinkingFund Of(Book book, Compartment fund, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        ArgumentNullException.ThrowIfNull(fund);
        var terms = book.FundTerms.GetValueOrDefault(fund.Id, FundTerms.Cash);
        var horizon = today.AddYears(YearsAhead);
        // The bill after the horizon is saved for within it.
        var bills = book.Goals.Values.Where(g => g.Compartment == fund.Id)
            .SelectMany(g => g.OpenBills(savedForBy: horizon))
            .OrderBy(b => b.Due).ThenBy(b => b.Goal, StringComparer.Ordinal);
        return new SinkingFund(fund.Cash, fund.Bank, terms.BankPercent, terms.Interest, [.. bills]);
    }

    /// <summary>A compartment in use that is a sinking fund.</summary>
    /// <exception cref="RefusalException">Unknown, closed, or for another purpose.</exception>
    internal static Compartment Named(Book book, string written, string field)
    {
        var compartment = book.OpenCompartment(written, field);
        return compartment.Purpose == Purpose.SinkingFund ? compartment
            : throw Refusal.Unfit(field, "compartment-not-a-sinking-fund",
                $"'{written}' has another purpose: bills are saved for in compartments with the purpose sinkingFund.",
                NearNames.Of(written, book.Compartments.Values.Where(
                    c => c is { Closed: false, Purpose: Purpose.SinkingFund }).Select(c => c.Id)));
    }

    /// <summary>The day up to which paydays have to be known.</summary>
    public DateOnly? LastDue => Bills.Count == 0 ? null : Bills[^1].Due;

    /// <summary>What is there in all.</summary>
    public Money There => Cash + Bank;

    /// <summary>
    /// What should be there by now: each bill in equal parts over the paydays from the bill before it to its due date,
    /// rounded down; all of it once no payday is left before it is due. Without interest.
    /// </summary>
    /// <param name="paydays">In order, from the first day that a bill is saved for to the last due date.</param>
    /// <param name="next">The first day whose payday is still to come.</param>
    public Money Accrued(IReadOnlyList<DateOnly> paydays, DateOnly next) => Bills.Aggregate(Money.Zero, (sum, bill) =>
    {
        var toCome = paydays.Count(p => p >= next && p <= bill.Due);
        var ofThis = paydays.Count(p => p > bill.Since && p <= bill.Due);
        var gone = paydays.Count(p => p > bill.Since && p <= bill.Due && p < next);
        return sum + (toCome == 0
            ? bill.Amount
            : new Money(ofThis == 0 ? 0 : (long)(bill.Amount.Minor * (Int128)gone / ofThis)));
    });

    /// <summary>
    /// What this bill alone would ask for each payday if nothing were there: its cash part in equal parts, its bank
    /// part by the sinking fund factor, rounded up.
    /// </summary>
    /// <param name="bill">The bill.</param>
    /// <param name="paydays">The paydays until it is due, in order, at least one.</param>
    public Money Alone(Bill bill, IReadOnlyList<DateOnly> paydays)
    {
        ArgumentNullException.ThrowIfNull(bill);
        ArgumentNullException.ThrowIfNull(paydays);
        var perUnit = (BankPercent * SinkingFundFactor.Of(Interest, paydays) / 100m)
            + ((100 - BankPercent) / 100m / paydays.Count);

        // A part of a minor unit far below any that matters is what the division left.
        return new Money((long)decimal.Ceiling(decimal.Round(bill.Amount.Minor * perUnit, 9)));
    }
}
