using System.Collections.Immutable;

namespace CashEvents.Domain.Plans;

/// <summary>What the book keeps of what is meant to be.</summary>
public static class PlansInBook
{
    /// <summary>Weekly amounts. Each is kept with the week from which it holds.</summary>
    public static readonly Section<Plan> Plan = new("plan", Domain.Plans.Plan.Empty, growsWithTheBook: true);

    /// <summary>Goals of sinking funds.</summary>
    public static readonly Section<ImmutableDictionary<string, Goal>> Goals = new("goals",
        ImmutableDictionary<string, Goal>.Empty);

    /// <summary>How sinking funds are kept.</summary>
    public static readonly Section<ImmutableDictionary<string, FundTerms>> FundTerms = new("fund terms",
        ImmutableDictionary<string, FundTerms>.Empty);

    /// <summary>Saving plans.</summary>
    public static readonly Section<ImmutableDictionary<string, SavingPlan>> SavingPlans = new("saving plans",
        ImmutableDictionary<string, SavingPlan>.Empty);

    extension(Book book)
    {
        /// <summary>What is planned for spending compartments, week by week.</summary>
        public Plan Plan => Plan.In(book);

        /// <summary>Goals of sinking funds by id.</summary>
        public ImmutableDictionary<string, Goal> Goals => Goals.In(book);

        /// <summary>How sinking funds are kept, by compartment, where it was said.</summary>
        public ImmutableDictionary<string, FundTerms> FundTerms => FundTerms.In(book);

        /// <summary>Saving plans by compartment.</summary>
        public ImmutableDictionary<string, SavingPlan> SavingPlans => SavingPlans.In(book);

        // A goal may have been removed since its bill was paid.
        internal Book WithGoal(string id, Func<Goal, Goal> change) =>
            book.Goals.TryGetValue(id, out var goal) ? Goals.On(book, book.Goals.SetItem(id, change(goal))) : book;

        // A compartment may have another plan since, whose steps are not those of the plan before.
        internal Book WithSavingPlan(DoneStep step, Func<SavingPlan, SavingPlan> change) =>
            book.SavingPlans.Values.FirstOrDefault(plan => plan.Line == step.Plan) is { } plan
                ? SavingPlans.On(book, book.SavingPlans.SetItem(plan.Compartment, change(plan))) : book;
    }
}
