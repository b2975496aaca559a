namespace CashEvents.Sheets.Plans;

/// <summary>A step of a saving plan.</summary>
/// <param name="Number">Its number, from 1.</param>
/// <param name="Due">The day from which it is due.</param>
/// <param name="Amount">What is put aside, in major units.</param>
/// <param name="Total">What all up to it come to.</param>
/// <param name="Done">Whether it is done.</param>
public sealed record StepRow(int Number, DateOnly Due, decimal Amount, decimal Total, bool Done)
{
    /// <summary>All steps of a plan, in order.</summary>
    public static IEnumerable<StepRow> Of(SavingPlan plan, Currency currency)
    {
        var total = Money.Zero;
        foreach (var step in plan.All())
        {
            total += step.Amount;
            yield return new(step.Number, step.Due, currency.ToDecimal(step.Amount), currency.ToDecimal(total),
                plan.Done.Contains(step.Number));
        }
    }
}
