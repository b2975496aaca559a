using System.Collections.Immutable;

namespace CashEvents.Domain.Plans;

/// <summary>A step of a saving plan.</summary>
/// <param name="Number">1 for the first.</param>
/// <param name="Due">The day on which it is due.</param>
/// <param name="Amount">How much is put aside.</param>
public sealed record SavingStep(int Number, DateOnly Due, Money Amount);

/// <summary>The step that a fill or a transfer does.</summary>
/// <param name="Plan">The line that set the plan.</param>
/// <param name="Number">1 for the first.</param>
public sealed record DoneStep(long Plan, int Number) : IConsequence
{
    /// <inheritdoc />
    public Book Done(Book book, IMovement movement) => book.WithSavingPlan(this, plan => plan.Do(this));

    /// <inheritdoc />
    public Book Undone(Book book, IMovement reversal) => book.WithSavingPlan(this, plan => plan.Undo(this));
}

/// <summary>Amounts put aside step by step in a compartment.</summary>
/// <param name="Compartment">Where.</param>
/// <param name="Steps">The amounts.</param>
/// <param name="From">The day on which the first step is due.</param>
/// <param name="Every">The period from one step to the next, as an ISO 8601 duration.</param>
/// <param name="Line">The line that set it.</param>
public sealed record SavingPlan(string Compartment, SavingSteps Steps, DateOnly From, string Every, long Line)
{
    /// <summary>Numbers of the steps that are done.</summary>
    public ImmutableSortedSet<int> Done { get; init; } = [];

    /// <summary>All the steps, in order.</summary>
    public IReadOnlyList<SavingStep> All()
    {
        var every = Period.Of(Every);
        return [.. Steps.Amounts().Select((amount, n) => new SavingStep(n + 1, every.After(From, n), amount))];
    }

    /// <summary>Whether a line would set the plan that it is, and only make its steps open again.</summary>
    internal bool IsSetBy(SavingPlanSet set) =>
        set.Compartment == Compartment && set.From == From && set.Every == Every && set.Steps.AreThoseOf(Steps);

    /// <summary>The plan after a step is done.</summary>
    internal SavingPlan Do(DoneStep step) => this with { Done = Done.Add(step.Number) };

    /// <summary>The plan after a step is undone.</summary>
    internal SavingPlan Undo(DoneStep step) => this with { Done = Done.Remove(step.Number) };
}

/// <summary>Line: a compartment gets a saving plan, in the stead of one it had.</summary>
/// <param name="Compartment">Where.</param>
/// <param name="Steps">The amounts.</param>
/// <param name="From">The day on which the first step is due.</param>
/// <param name="Every">The period from one step to the next, as an ISO 8601 duration.</param>
[LineKind("savingPlan")]
public sealed record SavingPlanSet(string Compartment, SavingSteps Steps, DateOnly From, string Every) : IBookEvent
{
    /// <inheritdoc />
    public IEnumerable<string> About => [Compartment];

    /// <inheritdoc />
    public bool CarriesAmount => true;

    /// <inheritdoc />
    public Book WrittenIn(Book book) => PlansInBook.SavingPlans.Change(
        book, plans => plans.SetItem(Compartment, new SavingPlan(Compartment, Steps, From, Every, book.Line + 1)));

    /// <inheritdoc />
    public string Mend(long line) => $"set another plan with {Act.SetSavingPlan.Way(Compartment)}";
}
