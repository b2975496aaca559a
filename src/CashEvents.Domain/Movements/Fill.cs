namespace CashEvents.Domain.Movements;

/// <summary>Line: money entered a compartment from outside the book.</summary>
/// <param name="Compartment">Where it went.</param>
/// <param name="Holding">Cash or bank.</param>
/// <param name="Amount">Above zero.</param>
/// <param name="OccurredOn">The day.</param>
/// <param name="Description">What was written beside it.</param>
[LineKind("fill")]
public sealed record Filled(string Compartment, Holding Holding, Money Amount, DateOnly OccurredOn, string Description)
    : IReplacement
{
    /// <inheritdoc />
    public MovementKind Kind => MovementKind.Fill;

    /// <inheritdoc />
    public Correction? Corrects { get; init; }

    /// <summary>The step of a saving plan that it does.</summary>
    public DoneStep? Step { get; init; }

    /// <inheritdoc />
    public IEnumerable<Posting> Postings => [new(new Part(Compartment, Holding), Amount)];

    /// <inheritdoc />
    public IEnumerable<IConsequence> Consequences => Step is { } step ? [step] : [];

    /// <inheritdoc />
    public IReplacement InSteadOf(Correction corrects) => this with { Corrects = corrects };
}

/// <summary>Records a fill: pay, a bank draw, a gift.</summary>
/// <param name="Compartment">Where it goes.</param>
/// <param name="Holding">Cash or bank.</param>
/// <param name="Amount">In major units, as written.</param>
/// <param name="OccurredOn">The day; today if left out.</param>
/// <param name="Description">What to write beside it.</param>
public sealed record RecordFill(string Compartment, Holding Holding, decimal Amount, DateOnly? OccurredOn,
    string? Description) : IReplacementCommand
{
    /// <inheritdoc />
    public IReplacementCommand DatedOn(DateOnly day) => this with { OccurredOn = day };

    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        var compartment = book.OpenCompartment(Compartment, "compartment");
        var amount = book.Amount(Amount);
        var day = book.Day(OccurredOn, today);
        return [new Filled(compartment.Id, Holding, amount, day, Words.Description(Description))];
    }
}
