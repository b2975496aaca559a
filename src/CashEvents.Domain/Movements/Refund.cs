namespace CashEvents.Domain.Movements;

/// <summary>Line: money came back from a seller.</summary>
/// <param name="Compartment">Where it went.</param>
/// <param name="Holding">Cash or bank.</param>
/// <param name="Amount">Above zero.</param>
/// <param name="OccurredOn">The day.</param>
/// <param name="Description">What was written beside it.</param>
[LineKind("refund")]
public sealed record Refunded(string Compartment, Holding Holding, Money Amount, DateOnly OccurredOn,
    string Description) : IReplacement
{
    /// <inheritdoc />
    public MovementKind Kind => MovementKind.Refund;

    /// <inheritdoc />
    public Correction? Corrects { get; init; }

    /// <inheritdoc />
    public CarriedChange? Carried { get; init; }

    /// <inheritdoc />
    public IEnumerable<Posting> Postings => [new(new Part(Compartment, Holding), Amount)];

    /// <inheritdoc />
    public IReplacement InSteadOf(Correction corrects) => this with { Corrects = corrects };
}

/// <summary>Records a refund.</summary>
/// <param name="Compartment">Where it goes.</param>
/// <param name="Holding">Cash or bank.</param>
/// <param name="Amount">In major units, as written.</param>
/// <param name="OccurredOn">The day; today if left out.</param>
/// <param name="Description">What to write beside it.</param>
public sealed record RecordRefund(string Compartment, Holding Holding, decimal Amount, DateOnly? OccurredOn,
    string? Description) : IReplacementCommand, ISignedCommand
{
    /// <summary>Whose hands the money goes into.</summary>
    public Hands Hands { get; init; } = Hands.Unsaid;

    /// <inheritdoc />
    public ICommand SignedBy(string key) => this with { Hands = Hands with { By = key } };

    /// <inheritdoc />
    public IReplacementCommand DatedOn(DateOnly day) => this with { OccurredOn = day };

    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        var compartment = book.OpenCompartment(Compartment, "compartment");
        var amount = book.Amount(Amount);
        var day = book.Day(OccurredOn, today);
        return [new Refunded(compartment.Id, Holding, amount, day,
            Words.Description(Description)) { Carried = Hands.Put(book, new Part(compartment.Id, Holding), amount) }];
    }
}
