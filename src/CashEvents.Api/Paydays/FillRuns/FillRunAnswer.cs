using System.Globalization;

namespace CashEvents.Api.Paydays;

/// <summary>
/// What a compartment gets on a payday: wanted − over the ceiling + rounding − cut + changed = amount.
/// </summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Rule">The kind of its rule.</param>
/// <param name="Rank">Its rank.</param>
/// <param name="Wanted">What its rule comes to.</param>
/// <param name="Amount">What it gets.</param>
/// <param name="Cash">Of which in cash.</param>
/// <param name="Bank">Of which in the bank.</param>
public sealed record CompartmentFillAnswer(string Compartment, string Label, FillRuleKind Rule, int Rank,
    decimal Wanted, decimal Amount, decimal Cash, decimal Bank)
{
    /// <summary>What of the wanted would be above its ceiling; absent when nothing is.</summary>
    public decimal? OverCeiling { get; init; }

    /// <summary>What rounding to its step gives it more, or, below zero, takes; absent when it does neither.</summary>
    public decimal? Rounding { get; init; }

    /// <summary>What it lacks since there was not enough; absent when it lacks nothing.</summary>
    public decimal? Cut { get; init; }

    /// <summary>What whoever filled gave it more, or, below zero, less; absent where nobody changed it.</summary>
    public decimal? Changed { get; init; }

    /// <summary>Why it gets less than it wants.</summary>
    public string? Why { get; init; }
}

/// <summary>A payday's sums: pay less bills, savings and fills is what stays in the bank.</summary>
/// <param name="Pay">What was paid.</param>
/// <param name="FixedBills">Fixed bills that the bank pays before the next payday.</param>
/// <param name="AutomaticSavings">Automatic savings until then.</param>
/// <param name="ToShare">What there is to fill from; below zero when bills and savings take more than the pay.</param>
/// <param name="Cash">Fills in cash: what is to be drawn.</param>
/// <param name="Bank">Fills in the bank parts of compartments.</param>
/// <param name="Fills">The total of both.</param>
/// <param name="Cut">What compartments lack since there was not enough.</param>
/// <param name="StaysInBank">What stays in the bank for no compartment; below zero when bills and savings take more
/// than the pay.</param>
public sealed record FillRunSumsAnswer(decimal Pay, decimal FixedBills, decimal AutomaticSavings, decimal ToShare,
    decimal Cash, decimal Bank, decimal Fills, decimal Cut, decimal StaysInBank);

/// <summary>A payday shared out among the compartments.</summary>
/// <param name="Payday">Its bank day.</param>
/// <param name="Until">The last day before the next payday.</param>
/// <param name="NextPayday">The bank day of the next payday.</param>
/// <param name="DryRun">True where nothing was written; absent for a run that stands in the book.</param>
/// <param name="Sums">The sums.</param>
/// <param name="Compartments">By rank, within a rank in the order in which they were taken into use.</param>
public sealed record FillRunAnswer(DateOnly Payday, DateOnly Until, DateOnly NextPayday, bool? DryRun,
    FillRunSumsAnswer Sums, IReadOnlyList<CompartmentFillAnswer> Compartments)
{
    /// <summary>The day on which the run stands in the book: the payday, unless its month was closed.</summary>
    public DateOnly? OccurredOn { get; init; }

    /// <summary>The run's line, which <c>POST /api/lines/{n}/reversal</c> undoes.</summary>
    public IReadOnlyList<long>? Lines { get; init; }

    /// <summary>The entry it belongs to.</summary>
    public long? EntryId { get; init; }

    /// <summary>Name of the key that wrote it.</summary>
    public string? By { get; init; }

    /// <summary>The reversal that undoes it.</summary>
    public long? UndoneBy { get; init; }

    /// <summary>What to look at: money that is short, or nothing to fill.</summary>
    public string? Note { get; init; }

    /// <summary>The line at which the book stood.</summary>
    public long? BookLine { get; init; }

    /// <summary>A run in this API's words.</summary>
    internal static FillRunAnswer Of(FillRun run, Book book) =>
        Of(run, book.Currency, compartment => book.Compartments[compartment].Label);

    /// <summary>A run in this API's words.</summary>
    /// <param name="run">The run.</param>
    /// <param name="currency">What its amounts are told in.</param>
    /// <param name="label">What is written on a compartment.</param>
    internal static FillRunAnswer Of(FillRun run, Currency currency, Func<string, string> label)
    {
        return new FillRunAnswer(
            run.Payday, run.Next.AddDays(-1), run.Next, null,
            new FillRunSumsAnswer(Say(run.Pay), Say(run.Bills), Say(run.Savings), Say(run.ToShare), Say(run.Cash),
                Say(run.Bank), Say(run.Filled), Say(run.Cut), Say(run.StaysInBank)),
            [.. run.Fills.Select(Fill)])
        {
            Note = ToLookAt(run, currency),
        };

        decimal Say(Money money) => currency.ToDecimal(money);

        decimal? IfAny(Money money) => money == Money.Zero ? null : Say(money);

        CompartmentFillAnswer Fill(CompartmentFill fill) => new(
            fill.Compartment, label(fill.Compartment), fill.Kind, fill.Rank, Say(fill.Wanted), Say(fill.Amount),
            Say(fill.Cash), Say(fill.Bank))
        {
            OverCeiling = IfAny(fill.OverCeiling),
            Rounding = IfAny(fill.Rounding),
            Cut = IfAny(fill.Cut),
            Changed = fill.Changed is { } changed ? Say(changed) : null,
            Why = string.Join(' ', Why(fill, currency)) is { Length: > 0 } why ? why : null,
        };
    }

    /// <summary>A run that stands in the book.</summary>
    internal static FillRunAnswer Of(BookLine line, Book book)
    {
        var written = (PaydayFilled)line.Event;
        return Of(written.Run, book) with
        {
            OccurredOn = written.OccurredOn,
            Lines = [line.Number],
            EntryId = line.EntryId,
            By = line.By,
            UndoneBy = line.ReversedBy,
        };
    }

    private static IEnumerable<string> Why(CompartmentFill fill, Currency currency)
    {
        if (fill.OverCeiling > Money.Zero)
        {
            yield return $"{currency.Say(fill.OverCeiling)} would be above its ceiling.";
        }

        if (fill.Cut > Money.Zero)
        {
            yield return fill.Amount == Money.Zero
                ? $"Nothing was left for rank {fill.Rank.ToString(CultureInfo.InvariantCulture)}."
                : $"Rank {fill.Rank.ToString(CultureInfo.InvariantCulture)} is short, and its compartments share what "
                    + $"is left in proportion.";
        }
    }

    private static string? ToLookAt(FillRun run, Currency currency) =>
        run.ToShare < Money.Zero ? $"Bills and automatic savings until {run.Next.AddDays(-1):O} take "
            + $"{currency.Say(-run.ToShare)} more than the pay: nothing is left to fill, and the bank has to have that "
            + $"much already."
        : run.Cut > Money.Zero ? $"The pay does not reach: {currency.Say(run.Cut)} of what is wanted is cut."
        : run.Filled == Money.Zero ? "No compartment wants anything."
        : null;
}

/// <summary>Fill runs.</summary>
/// <param name="FillRuns">In the order they were written, undone ones too.</param>
/// <param name="BookLine">The line at which the book stood.</param>
public sealed record FillRunsAnswer(IReadOnlyList<FillRunAnswer> FillRuns, long BookLine);
