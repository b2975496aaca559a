using System.Collections.Immutable;
using System.Globalization;

namespace CashEvents.Domain.Plans;

/// <summary>
/// Sets the weekly amounts of spending compartments from a week on, until the next week for which another is set.
/// </summary>
/// <param name="From">The first week, such as <c>2026-W44</c>, or by its first day.</param>
/// <param name="Amounts">Amount for a whole week by compartment, zero or more, in major units as written.</param>
public sealed record SetPlan(string From, IReadOnlyDictionary<string, decimal> Amounts) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        var startsOn = book.Household!.FirstDayOfWeek;
        var week = Week.Read(From, startsOn, "from");
        if (book.IsClosed(week.First))
        {
            var closed = book.ClosedMonths!.Latest;
            throw Refusal.Conflict("month-closed",
                $"{week} begins on {week.First:O}, in a month that is closed, and its plan stays: plan from "
                    + $"{Week.BeginningFrom(closed.Next.First, startsOn)} or later, or reopen {closed} first.", "from");
        }

        var amounts = Amounts
            .Select(a => KeyValuePair.Create(SpendingCompartment(book, a.Key), Weekly(book, a.Key, a.Value)))
            .Where(a => !book.Plan.Of(a.Key).Any(planned => planned.From == week.First && planned.Amount == a.Value))
            .ToImmutableSortedDictionary(StringComparer.Ordinal);
        return amounts.IsEmpty ? [] : [new PlanSet(week.First, amounts)];
    }

    private static string SpendingCompartment(Book book, string written)
    {
        var field = $"amounts.{written}";
        var compartment = book.OpenCompartment(written, field);
        if (compartment.Purpose == Purpose.Spending)
        {
            return compartment.Id;
        }

        var spending = book.Compartments.Values.Where(c => !c.Closed && c.Purpose == Purpose.Spending)
            .Select(c => c.Id);
        throw Refusal.Unfit(field, "compartment-not-for-spending",
            $"'{written}' is put aside and not spent week by week: a weekly amount is planned for compartments with "
                + $"the purpose spending.", NearNames.Of(written, spending));
    }

    private static Money Weekly(Book book, string compartment, decimal written)
    {
        var field = $"amounts.{compartment}";
        var amount = book.Currency.Exactly(written, field);
        return amount >= Money.Zero ? amount
            : throw Refusal.Unfit(field, "amount-negative",
                $"`{field}` is {written.ToString(CultureInfo.InvariantCulture)}: a weekly amount is zero or more.");
    }
}
