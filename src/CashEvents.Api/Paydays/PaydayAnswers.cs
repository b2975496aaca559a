namespace CashEvents.Api.Paydays;

/// <summary>A payday.</summary>
/// <param name="Day">The bank day on which the pay is there.</param>
/// <param name="Nominal">The day that the source's rule names.</param>
/// <param name="Source">Who pays.</param>
/// <param name="Label">As people call it.</param>
/// <param name="Amount">What is paid; absent when it comes as it comes.</param>
public sealed record PaydayAnswer(DateOnly Day, DateOnly Nominal, string Source, string Label, decimal? Amount)
{
    /// <summary>
    /// Why it moved: the days between the nominal one and the bank day, on which banks are closed; absent when it did
    /// not.
    /// </summary>
    public IReadOnlyList<ClosedDayAnswer>? ClosedDays { get; init; }

    internal static PaydayAnswer Of(Payday payday, Currency? currency) => new(
        payday.Date.Day, payday.Date.Nominal, payday.Source.Id, payday.Source.Label,
        payday.Source.Amount is { } amount ? currency!.ToDecimal(amount) : null)
    { ClosedDays = ClosedDayAnswer.Of(payday.Date) };
}

/// <summary>Paydays of a stretch of days.</summary>
/// <param name="From">Its first day.</param>
/// <param name="To">Its last day.</param>
/// <param name="Country">The country whose bank holidays count; absent when only Saturdays and Sundays are no bank
/// days.</param>
/// <param name="Paydays">In the order of their bank days.</param>
/// <param name="BookLine">The line at which the book stood.</param>
public sealed record PaydaysAnswer(DateOnly From, DateOnly To, string? Country, IReadOnlyList<PaydayAnswer> Paydays,
    long BookLine)
{
    /// <summary>Said where that country's bank holidays were not checked against a published list.</summary>
    public string? CountryNote => BankHolidays.NoteOn(Country);
}

/// <summary>A standing payment due before the next payday.</summary>
/// <param name="Day">The bank day on which it is paid.</param>
/// <param name="Nominal">The day on which it is due.</param>
/// <param name="Payment">Its id.</param>
/// <param name="Label">As people call it.</param>
/// <param name="Amount">How much.</param>
public sealed record PaymentDueAnswer(DateOnly Day, DateOnly Nominal, string Payment, string Label, decimal Amount)
{
    /// <summary>
    /// Why it moved: the days between the nominal one and the bank day, on which banks are closed; absent when it did
    /// not.
    /// </summary>
    public IReadOnlyList<ClosedDayAnswer>? ClosedDays { get; init; }

    internal static PaymentDueAnswer Of(PaymentDue due, Currency currency) =>
        new(due.Date.Day, due.Date.Nominal, due.Payment.Id, due.Payment.Label, currency.ToDecimal(due.Payment.Amount))
        {
            ClosedDays = ClosedDayAnswer.Of(due.Date),
        };
}

/// <summary>What the plan puts into a compartment until the next payday.</summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Amount">Its weekly amounts, by days.</param>
public sealed record PlannedFillAnswer(string Compartment, string Label, decimal Amount);

/// <summary>A statement's sums: pay less the three others is what stays in the bank.</summary>
/// <param name="Pay">What is paid.</param>
/// <param name="FixedBills">The total of fixed bills.</param>
/// <param name="AutomaticSavings">The total of automatic savings.</param>
/// <param name="Fills">The total of planned fills.</param>
/// <param name="StaysInBank">What stays in the bank; below zero when the pay does not reach.</param>
public sealed record StatementSumsAnswer(decimal Pay, decimal FixedBills, decimal AutomaticSavings, decimal Fills,
    decimal StaysInBank);

/// <summary>Where the pay of a day goes until the next payday.</summary>
/// <param name="Day">The bank day on which it is paid.</param>
/// <param name="Until">The last day before the next payday.</param>
/// <param name="NextPayday">The bank day of the next payday.</param>
/// <param name="Paydays">Who pays on that day.</param>
/// <param name="FixedBills">Bills paid by the bank from this day until the last.</param>
/// <param name="AutomaticSavings">What the bank puts aside from this day until the last.</param>
/// <param name="Fills">What is planned for spending compartments from this day until the last.</param>
/// <param name="Sums">The sums.</param>
/// <param name="BookLine">The line at which the book stood.</param>
public sealed record PaydayStatementAnswer(
    DateOnly Day, DateOnly Until, DateOnly NextPayday, IReadOnlyList<PaydayAnswer> Paydays,
    IReadOnlyList<PaymentDueAnswer> FixedBills,
    IReadOnlyList<PaymentDueAnswer> AutomaticSavings, IReadOnlyList<PlannedFillAnswer> Fills, StatementSumsAnswer Sums,
    long BookLine)
{
    /// <summary>What the pay lacks; absent when it reaches.</summary>
    public decimal? Short { get; init; }

    /// <summary>Sources that pay as it comes and whose pay is not counted, since no <c>pay</c> was sent.</summary>
    public IReadOnlyList<string>? NotCounted { get; init; }

    /// <summary>What to look at: pay that does not reach, or is not known.</summary>
    public string? Note { get; init; }

    /// <summary>
    /// Said where the bank holidays of the household's country were not checked against a published list.
    /// </summary>
    public string? CountryNote { get; init; }

    internal static PaydayStatementAnswer Of(PaydayStatement statement, bool isPayKnown, Currency currency,
        long bookLine)
    {
        var until = statement.Next.AddDays(-1);
        var notCounted = isPayKnown
            ? []
            : statement.Paydays.Where(p => p.Source.Amount is null).Select(p => p.Source.Id).ToList();
        return new PaydayStatementAnswer(
            statement.Day, until, statement.Next,
            [.. statement.Paydays.Select(p => PaydayAnswer.Of(p, currency))],
            Due(StandingPaymentKind.FixedBill), Due(StandingPaymentKind.AutomaticSaving),
            [.. statement.Fills.Select(
                f => new PlannedFillAnswer(f.Compartment.Id, f.Compartment.Label, currency.ToDecimal(f.Amount)))],
            new StatementSumsAnswer(currency.ToDecimal(statement.Pay), currency.ToDecimal(statement.Bills),
                currency.ToDecimal(statement.Savings), currency.ToDecimal(statement.Filled),
                currency.ToDecimal(statement.StaysInBank)),
            bookLine)
        {
            Short = statement.Short > Money.Zero ? currency.ToDecimal(statement.Short) : null,
            NotCounted = notCounted.Count > 0 ? notCounted : null,
            Note = string.Join(' ', Notes()) is { Length: > 0 } note ? note : null,
        };

        IReadOnlyList<PaymentDueAnswer> Due(StandingPaymentKind kind) =>
            [.. statement.Due.Where(d => d.Payment.Kind == kind).Select(d => PaymentDueAnswer.Of(d, currency))];

        IEnumerable<string> Notes()
        {
            if (statement.Short > Money.Zero)
            {
                yield return $"Bills, savings and fills until {until:O} come to {currency.Say(statement.Short)} more "
                    + $"than the pay: plan less, or take the rest from what the bank holds already.";
            }

            if (notCounted.Count > 0)
            {
                yield return $"{string.Join(", ", notCounted)} pays as it comes and is not counted: send `pay`, what "
                    + $"was paid in all, to count it.";
            }
        }
    }
}
