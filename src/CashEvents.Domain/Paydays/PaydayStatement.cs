namespace CashEvents.Domain.Paydays;

/// <summary>A standing payment due before the next payday.</summary>
/// <param name="Payment">Which.</param>
/// <param name="Date">When it is due, and the bank day on which it is paid.</param>
public sealed record PaymentDue(StandingPayment Payment, BankDate Date);

/// <summary>What the plan puts into a compartment until the next payday.</summary>
/// <param name="Compartment">Which.</param>
/// <param name="Amount">Its weekly amounts, by days.</param>
public sealed record PlannedFill(Compartment Compartment, Money Amount);

/// <summary>
/// Where the pay of a day goes until the next payday: what is due, what is put aside, what is drawn, what stays in the
/// bank.
/// </summary>
/// <param name="Day">The bank day on which it is paid.</param>
/// <param name="Next">The bank day of the next payday.</param>
/// <param name="Paydays">Who pays.</param>
/// <param name="Pay">What is paid.</param>
/// <param name="Due">Standing payments whose bank day is this day or later, and before the next payday; in their
/// order.</param>
/// <param name="Fills">Planned fills of the spending compartments in use, for the days from this one to the one before
/// the next payday.</param>
public sealed record PaydayStatement(DateOnly Day, DateOnly Next, IReadOnlyList<Payday> Paydays, Money Pay,
    IReadOnlyList<PaymentDue> Due, IReadOnlyList<PlannedFill> Fills)
{
    /// <summary>Fixed bills together.</summary>
    public Money Bills => Of(StandingPaymentKind.FixedBill);

    /// <summary>Automatic savings together.</summary>
    public Money Savings => Of(StandingPaymentKind.AutomaticSaving);

    /// <summary>Planned fills together.</summary>
    public Money Filled => Fills.Aggregate(Money.Zero, (sum, fill) => sum + fill.Amount);

    /// <summary>Pay less bills, savings and fills; below zero when the pay does not reach.</summary>
    public Money StaysInBank => Pay - Bills - Savings - Filled;

    /// <summary>What the pay lacks; zero when it reaches.</summary>
    public Money Short => StaysInBank < Money.Zero ? -StaysInBank : Money.Zero;

    /// <summary>The statement of a payday.</summary>
    /// <param name="day">Its bank day.</param>
    /// <param name="pay">What was paid in all, in major units as written; none to go by the amounts of the
    /// sources.</param>
    /// <param name="book">The book, with its plan.</param>
    /// <param name="calendar">The household's calendar.</param>
    /// <exception cref="RefusalException">Nobody pays on that day, or no payday follows within
    /// <see cref="Payday.MostYears"/> years.</exception>
    public static PaydayStatement Of(DateOnly day, decimal? pay, Book book, ICalendar calendar)
    {
        ArgumentNullException.ThrowIfNull(book);
        var paydays = Payday.Between(day, day, book, calendar);
        if (paydays.Count == 0)
        {
            throw Payday.After(day, book, calendar) is { } later
                ? Refusal.NotFound("payday-unknown", $"{day:O} is no payday: the next is {later:O}.", [$"{later:O}"])
                : Refusal.NotFound("payday-unknown",
                    $"{day:O} is no payday, and none follows: set who pays with {Act.SetIncomeSource.Way()}.");
        }

        var next = Payday.After(day, book, calendar)
            ?? throw Refusal.Conflict("payday-last",
                $"No payday follows {day:O} within {Payday.MostYears} years, so nothing says how long its pay has to "
                    + $"last: set who pays next with {Act.SetIncomeSource.Way()}.");
        var last = next.AddDays(-1);
        return new PaydayStatement(
            day, next, paydays,
            pay is { } written
                ? book.Amount(written, "pay")
                : paydays.Aggregate(Money.Zero, (sum, p) => sum + (p.Source.Amount ?? Money.Zero)),
            [
                .. book.StandingPayments.Values
                    .SelectMany(payment => BankDate.Between(day, last, payment.Recurrence, payment.NotBankDay, calendar)
                        .Select(date => new PaymentDue(payment, date)))
                    .OrderBy(due => due.Date.Day).ThenBy(due => due.Payment.Id, StringComparer.Ordinal),
            ],
            [
                .. book.Compartments.Values.Where(c => c is { Closed: false, Purpose: Purpose.Spending })
                    .OrderBy(c => c.Line)
                    .Select(c => new PlannedFill(c, Planned(c.Id)))
                    .Where(fill => fill.Amount > Money.Zero),
            ]);

        Money Planned(string compartment) => WeekSlice.Of(day, last, book.Household!.FirstDayOfWeek)
            .Aggregate(Money.Zero, (sum, slice) =>
                sum + slice.Share(book.Plan.For(compartment, slice.Week.First)?.Amount ?? Money.Zero));
    }

    private Money Of(StandingPaymentKind kind) =>
        Due.Where(due => due.Payment.Kind == kind).Aggregate(Money.Zero, (sum, due) => sum + due.Payment.Amount);
}
