using System.Collections.Immutable;
using System.Globalization;

namespace CashEvents.Domain.Paydays;

/// <summary>A payday shared out among the compartments by their fill rules.</summary>
/// <param name="Payday">Its bank day.</param>
/// <param name="Next">The bank day of the next payday.</param>
/// <param name="Pay">What was paid.</param>
/// <param name="Bills">Fixed bills that the bank pays before the next payday.</param>
/// <param name="Savings">Automatic savings until then.</param>
/// <param name="Fills">What each compartment that has a rule gets: by rank, within a rank in the order in which they
/// were taken into use.</param>
public sealed record FillRun(DateOnly Payday, DateOnly Next, Money Pay, Money Bills, Money Savings,
    ImmutableArray<CompartmentFill> Fills)
{
    /// <summary>What there is to share out; below zero when bills and savings take more than the pay.</summary>
    public Money ToShare => Pay - Bills - Savings;

    /// <summary>What is to be drawn.</summary>
    public Money Cash => Sum(fill => fill.Cash);

    /// <summary>What each compartment gets in cash, of those that are open still, in major units.</summary>
    /// <exception cref="RefusalException">None does, or more do than are packed at a time.</exception>
    public IReadOnlyDictionary<string, decimal> CashToDraw(Book book)
    {
        ArgumentNullException.ThrowIfNull(book);
        var amounts = Fills
            .Where(fill => fill.Cash > Money.Zero && !book.Compartments[fill.Compartment].Closed)
            .ToDictionary(fill => fill.Compartment, fill => book.Currency.ToDecimal(fill.Cash));
        return amounts.Count switch
        {
            0 => throw Refusal.Conflict("nothing-to-draw",
                $"No compartment gets cash on {Payday:O}, so there is nothing to draw."),
            > PackingTask.MostTargets => throw Refusal.Conflict("too-many",
                $"{amounts.Count} compartments get cash, and a draw slip is packed for at most "
                    + $"{PackingTask.MostTargets}: send them in two parts to {Act.Draw.Way()}."),
            _ => amounts,
        };
    }

    /// <summary>What is left in the bank for compartments.</summary>
    public Money Bank => Sum(fill => fill.Bank);

    /// <summary>Fills together.</summary>
    public Money Filled => Cash + Bank;

    /// <summary>What compartments lack since there was not enough.</summary>
    public Money Cut => Sum(fill => fill.Cut);

    /// <summary>
    /// What stays in the bank for no compartment: pay less bills, savings and fills; below zero when bills and savings
    /// take more than the pay.
    /// </summary>
    public Money StaysInBank => ToShare - Filled;

    /// <summary>The run of a payday as the book stands.</summary>
    /// <param name="payday">Its bank day.</param>
    /// <param name="pay">What was paid in all, in major units as written; none to go by the amounts of the
    /// sources.</param>
    /// <param name="book">The book, with its plan.</param>
    /// <param name="calendar">The household's calendar.</param>
    /// <exception cref="RefusalException">It is no payday, none follows it, no compartment has a rule, or what was paid
    /// is not known.</exception>
    public static FillRun Of(DateOnly payday, decimal? pay, Book book, ICalendar calendar)
    {
        ArgumentNullException.ThrowIfNull(book);
        BankDate.MustBeTold(payday, "payday");
        var statement = PaydayStatement.Of(payday, pay, book, calendar);
        if (pay is null && statement.Paydays.Where(p => p.Source.Amount is null).Select(p => p.Source.Id)
            .ToList() is { Count: > 0 } asItComes)
        {
            throw Refusal.Unfit("pay", "pay-missing",
                $"{string.Join(", ", asItComes)} pays on {payday:O} as it comes: send `pay`, what was paid in all.");
        }

        if (!book.FillRules.Keys.Any(id => !book.Compartments[id].Closed))
        {
            throw Refusal.Conflict("fill-rules-missing",
                $"No compartment in use has a fill rule: set some with {Act.SetFillRule.Way()}.");
        }

        return Of(statement, book,
            fund => FundSchedule.Of(fund, book, payday, payday, payday,
                (first, last) => Paydays.Payday.DaysBetween(first, last, book, calendar)).OnFirstPayday);
    }

    /// <summary>The run of a payday.</summary>
    /// <param name="statement">Its statement: what is paid, what is due and what is planned.</param>
    /// <param name="book">The fill rules, the compartments with what they hold, and how the sinking funds are
    /// kept.</param>
    /// <param name="contribution">What a sinking fund is to get on that payday.</param>
    public static FillRun Of(PaydayStatement statement, Book book, Func<Compartment, Money> contribution)
    {
        ArgumentNullException.ThrowIfNull(statement);
        ArgumentNullException.ThrowIfNull(book);
        ArgumentNullException.ThrowIfNull(contribution);
        var planned = statement.Fills.ToDictionary(fill => fill.Compartment.Id, fill => fill.Amount);
        var wants = book.FillRules.Values
            .Select(rule => (Rule: rule, Compartment: book.Compartments[rule.Compartment]))
            .Where(r => !r.Compartment.Closed)
            .OrderBy(r => r.Compartment.Line)
            .Select(r => new Want(r.Rule, Wanted(r.Rule, r.Compartment), r.Compartment.Cash + r.Compartment.Bank,
                BankPercent(r.Rule)));
        return new FillRun(
            statement.Day, statement.Next, statement.Pay, statement.Bills, statement.Savings,
            [.. FillShares.Of(statement.Pay - statement.Bills - statement.Savings, wants,
                book.Household!.SmallestDrawn)]);

        Money Wanted(FillRule rule, Compartment compartment) => rule.Kind switch
        {
            FillRuleKind.Weekly => planned.GetValueOrDefault(compartment.Id),
            FillRuleKind.Contribution => contribution(compartment),
            FillRuleKind.Fixed => rule.Amount!.Value,
            FillRuleKind.Ceiling => rule.Ceiling!.Value - compartment.Cash - compartment.Bank is var missing
                && missing > Money.Zero ? missing : Money.Zero,
            _ => Money.Zero,
        };

        int BankPercent(FillRule rule) =>
            rule.Kind == FillRuleKind.Contribution
                ? book.FundTerms.GetValueOrDefault(rule.Compartment, FundTerms.Cash).BankPercent
            : rule.Holding == Holding.Bank ? 100 : 0;
    }

    /// <summary>The same with amounts that somebody chose for some compartments.</summary>
    /// <exception cref="RefusalException">A compartment is not filled by the run, an amount can't be given, or all of
    /// it is more than there is to share out.</exception>
    internal FillRun With(IReadOnlyDictionary<string, FillAmount> amounts, Book book)
    {
        var fills = Fills.ToBuilder();
        foreach (var (id, amount) in amounts)
        {
            var field = $"amounts.{id}";
            var at = Fills.Select(fill => fill.Compartment).ToList().IndexOf(book.OpenCompartment(id, field).Id);
            if (at < 0)
            {
                throw Refusal.Unfit(field, "fill-rule-unknown",
                    $"'{id}' has no fill rule, so the run does not fill it: leave it out, or set a rule with "
                        + $"{Act.SetFillRule.Way()}.", NearNames.Of(id, Fills.Select(fill => fill.Compartment)));
            }

            fills[at] = Fills[at].With(
                amount.Cash is { } cash ? Chosen(cash, $"{field}.cash", book, book.Household!.SmallestDrawn)
                    : Fills[at].Cash,
                amount.Bank is { } bank ? Chosen(bank, $"{field}.bank", book, new Money(1)) : Fills[at].Bank);
        }

        var changed = this with { Fills = fills.ToImmutable() };
        return changed.Filled <= There ? changed : throw TooMuch("amounts", changed.Filled, book);
    }

    private Money There => ToShare > Money.Zero ? ToShare : Money.Zero;

    private Money Chosen(decimal written, string field, Book book, Money step)
    {
        var amount = book.Currency.Exactly(written, field);
        return amount < Money.Zero
            ? throw Refusal.Unfit(field, "amount-negative",
                $"`{field}` is {written.ToString(CultureInfo.InvariantCulture)}: a compartment gets zero or more.")
            : amount > There ? throw TooMuch(field, amount, book)
            : amount.Minor % step.Minor == 0 ? amount
            : throw Refusal.Unfit(field, "amount-not-in-notes",
                $"{book.Say(amount)} can't be drawn in notes and coins of {book.Say(step)} and more: write "
                    + $"{book.Say(new Money(amount.Minor - (amount.Minor % step.Minor)))}, or let the household draw "
                    + "smaller ones.");
    }

    private RefusalException TooMuch(string field, Money wanted, Book book) => Refusal.Unfit(field, "fills-above-pay",
        $"{book.Say(wanted)} is more than there is to share out, {book.Say(There)}: write less, or send as `pay` what "
            + "was paid in all.");

    private Money Sum(Func<CompartmentFill, Money> of) => Fills.Aggregate(Money.Zero, (sum, fill) => sum + of(fill));
}
