namespace CashEvents.Api.Plans;

/// <summary>A weekly amount and the week from which it holds.</summary>
/// <param name="From">The first week.</param>
/// <param name="Amount">For a whole week.</param>
public sealed record PlannedFromAnswer(string From, decimal Amount);

/// <summary>What is planned for a compartment.</summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Amount">For a whole week; absent while no plan has begun.</param>
/// <param name="Since">The first week that the amount holds for.</param>
/// <param name="Next">The next change, if one is set.</param>
public sealed record PlannedCompartmentAnswer(string Compartment, string Label, decimal? Amount, string? Since,
    PlannedFromAnswer? Next);

/// <summary>What is planned for a week.</summary>
/// <param name="Week">Its name, such as <c>2026-W47</c>.</param>
/// <param name="FirstDay">Its first day.</param>
/// <param name="LastDay">Its last day.</param>
/// <param name="Compartments">Each spending compartment in use.</param>
/// <param name="Total">Their total.</param>
/// <param name="BookLine">The line at which the book stood.</param>
public sealed record PlanAnswer(string Week, DateOnly FirstDay, DateOnly LastDay,
    IReadOnlyList<PlannedCompartmentAnswer> Compartments, decimal Total, long BookLine)
{
    /// <summary>A book's plan for a week in this API's words.</summary>
    internal static PlanAnswer Of(Book book, Week week)
    {
        decimal Say(Money money) => book.Household!.Currency?.ToDecimal(money) ?? 0m;
        var compartments = book.Compartments.Values.Where(c => c is { Closed: false, Purpose: Purpose.Spending })
            .OrderBy(c => c.Line).ToList();
        var planned = compartments.ConvertAll(c => book.Plan.For(c.Id, week.First));
        return new PlanAnswer(
            week.ToString(), week.First, week.Last,
            [.. compartments.Zip(planned,
                (c, now) => new PlannedCompartmentAnswer(c.Id, c.Label, now is { } p ? Say(p.Amount) : null,
                    now is { } s ? FirstWeek(s, week).ToString() : null, Next(c.Id)))],
            Say(planned.Aggregate(Money.Zero, (sum, p) => sum + (p?.Amount ?? Money.Zero))),
            book.Line);

        PlannedFromAnswer? Next(string compartment)
        {
            if (book.Plan.Of(compartment).Where(a => a.From > week.First).Select(a => (PlannedAmount?)a)
                .FirstOrDefault() is not { } next)
            {
                return null;
            }

            // Rows set before the household's weeks moved to another day may begin within one week of today's calendar:
            // the last of them holds.
            var from = FirstWeek(next, week);
            return new PlannedFromAnswer(from.ToString(), Say(book.Plan.For(compartment, from.First)!.Value.Amount));
        }
    }

    private static Week FirstWeek(PlannedAmount amount, Week like) =>
        Domain.Calendars.Week.BeginningFrom(amount.From, like.First.DayOfWeek);
}
