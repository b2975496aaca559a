namespace CashEvents.Page.Plans;

/// <summary>A compartment's running week against its plan.</summary>
/// <param name="Planned">What is planned.</param>
/// <param name="Spent">What was spent, less what came back.</param>
/// <param name="Left">What of the plan is left; below zero when more was spent.</param>
/// <param name="Ends">The day on which the compartment's money ends at this pace; null where it does not.</param>
public sealed record WeekOfPlan(Money Planned, Money Spent, Money Left, DateOnly? Ends)
{
    /// <summary>This week; null without a plan.</summary>
    public static WeekOfPlan? Of(Phone phone, Compartment compartment)
    {
        var (book, today) = (phone.Book!, phone.Today);
        var week = Week.Of(today, book.Household!.FirstDayOfWeek);
        if (book.Plan.For(compartment.Id, week.First) is not { } planned)
        {
            return null;
        }

        var spent = phone.Lines.Select(shown => shown.Line.Event).OfType<IMovement>()
            .Where(line => line.Kind is MovementKind.Spend or MovementKind.Refund
                && line.OccurredOn >= week.First && line.OccurredOn <= today && line.Corrects?.ClosedDay is null)
            .SelectMany(line => line.Postings).Where(posting => posting.Place.Compartment == compartment.Id)
            .Aggregate(Money.Zero, (sum, posting) => sum - posting.Amount);
        var pace = WeekFigures.None with { CarriedIn = compartment.Cash + compartment.Bank + spent, Spent = spent };
        return new WeekOfPlan(planned.Amount, spent, planned.Amount - spent,
            pace.MoneyEnds(today, today.DayNumber - week.First.DayNumber + 1));
    }
}
