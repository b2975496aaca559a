using System.Globalization;

namespace CashEvents.Domain.Movements;

/// <summary>
/// Does a step of a saving plan: its amount is filled into the compartment, or transferred to it from another place of
/// the book.
/// </summary>
/// <param name="Compartment">The compartment.</param>
/// <param name="Holding">Cash or bank.</param>
/// <param name="OccurredOn">The day; today if left out.</param>
/// <param name="Description">What to write beside it.</param>
public sealed record DoSavingStep(string Compartment, Holding Holding, DateOnly? OccurredOn, string? Description)
    : ISignedCommand
{
    /// <summary>Which step, 1 for the first; the next that is open if left out.</summary>
    public int? Number { get; init; }

    /// <summary>The place that it is taken from, of another compartment; from outside the book if left out.</summary>
    public Part? From { get; init; }

    /// <summary>Whose hands it comes from, where it is taken from a compartment.</summary>
    public Hands Hands { get; init; } = Hands.Unsaid;

    /// <inheritdoc />
    public ICommand SignedBy(string key) => this with { Hands = Hands with { By = key } };

    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        var plan = book.SavingPlanOf(Compartment);
        book.OpenCompartment(Compartment, "compartment");
        var step = Asked(plan);
        var done = new DoneStep(plan.Line, step.Number);
        if (From is not { } named)
        {
            return [new Filled(Compartment, Holding, step.Amount, book.Day(OccurredOn, today),
                Words.Description(Description)) { Step = done }];
        }

        var from = named with { Compartment = book.OpenCompartment(named.Compartment, "from.compartment").Id };
        if (from.Compartment == Compartment)
        {
            throw Refusal.Unfit("from", "step-from-itself",
                $"What lies in '{Compartment}' is put aside already: name another compartment, or leave `from` out "
                    + $"where the money comes from outside the book.");
        }

        var day = book.Day(OccurredOn, today);
        book.MustHave(from, step.Amount, day, "from", to: Compartment);
        return [new Transferred(from, new Part(Compartment, Holding), step.Amount, day,
            Words.Description(Description)) { Step = done, Carried = Hands.Take(book, from, step.Amount) }];
    }

    private SavingStep Asked(SavingPlan plan)
    {
        var open = plan.All().Where(s => !plan.Done.Contains(s.Number)).ToList();
        if (open.Count == 0)
        {
            throw Refusal.Conflict("saving-plan-done",
                $"All {plan.Steps.Count} steps of '{Compartment}' are done: set another plan with "
                    + $"{Act.SetSavingPlan.Way(Compartment)}.");
        }

        if (Number is not { } number)
        {
            return open[0];
        }

        if (number < 1 || number > plan.Steps.Count)
        {
            throw Refusal.Unfit("number", "step-unknown",
                string.Create(CultureInfo.InvariantCulture,
                    $"The plan of '{Compartment}' has steps 1 to {plan.Steps.Count}: choose one of those, or leave "
                        + $"`number` out for the next."));
        }

        return open.Find(s => s.Number == number)
            ?? throw Refusal.Conflict("saving-step-done",
                string.Create(CultureInfo.InvariantCulture,
                    $"Step {number} of '{Compartment}' is done: the next that is open is step {open[0].Number}."),
                    "number");
    }
}
