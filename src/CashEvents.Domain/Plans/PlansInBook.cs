using System.Collections.Immutable;

namespace CashEvents.Domain.Plans;

/// <summary>What the book keeps of what is meant to be.</summary>
public static class PlansInBook
{
    /// <summary>Weekly amounts. Each is kept with the week from which it holds.</summary>
    public static readonly Section<Plan> Plan = new("plan", Domain.Plans.Plan.Empty, growsWithTheBook: true)
    {
        GoesAlong = (plan, from) => plan.From(from.Day),
    };

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

        /// <summary>The goal that is asked for.</summary>
        /// <exception cref="RefusalException">There is none of this id.</exception>
        public Goal GoalNamed(string id) => book.Goals.GetValueOrDefault(id)
            ?? throw Refusal.NotFound("goal-unknown", $"There is no goal '{id}'.", NearNames.Of(id, book.Goals.Keys));

        /// <summary>The saving plan of a compartment.</summary>
        /// <exception cref="RefusalException">It has none.</exception>
        public SavingPlan SavingPlanOf(string compartment) => book.SavingPlans.GetValueOrDefault(compartment)
            ?? throw Refusal.NotFound("saving-plan-unknown", $"There is no saving plan for '{compartment}'.",
                NearNames.Of(compartment, book.SavingPlans.Keys));

        /// <summary>The sinking fund that is asked for.</summary>
        /// <exception cref="RefusalException">There is no compartment of this id, or it is none.</exception>
        public Compartment SinkingFundNamed(string id) =>
            book.CompartmentNamed(id) is { Purpose: Purpose.SinkingFund } fund ? fund
            : throw Refusal.NotFound("compartment-not-a-sinking-fund",
                $"'{id}' has another purpose: {Act.ListSinkingFunds.Way()} lists the compartments with the purpose "
                    + $"sinkingFund.");

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
