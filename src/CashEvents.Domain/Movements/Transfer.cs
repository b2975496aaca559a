namespace CashEvents.Domain.Movements;

/// <summary>Line: money moved between two parts of the book; the total stays.</summary>
/// <param name="From">Where it came from.</param>
/// <param name="To">Where it went.</param>
/// <param name="Amount">Above zero.</param>
/// <param name="OccurredOn">The day.</param>
/// <param name="Description">What was written beside it.</param>
[LineKind("transfer")]
public sealed record Transferred(Part From, Part To, Money Amount, DateOnly OccurredOn, string Description)
    : IReplacement
{
    /// <inheritdoc />
    public MovementKind Kind => MovementKind.Transfer;

    /// <inheritdoc />
    public Correction? Corrects { get; init; }

    /// <inheritdoc />
    public CarriedChange? Carried { get; init; }

    /// <summary>The notes or coins of a count that it sets aside.</summary>
    public CountedPieces? SetsAside { get; init; }

    /// <summary>The step of a saving plan that it does.</summary>
    public DoneStep? Step { get; init; }

    /// <inheritdoc />
    public IEnumerable<Posting> Postings => [new(From, -Amount), new(To, Amount)];

    /// <inheritdoc />
    public IEnumerable<IConsequence> Consequences => new IConsequence?[] { SetsAside, Step }.OfType<IConsequence>();

    /// <inheritdoc />
    public IReplacement InSteadOf(Correction corrects) => this with { Corrects = corrects };
}

/// <summary>
/// Records a transfer. The same compartment with two holdings is how cash is taken to the bank and back.
/// </summary>
/// <param name="From">Where it comes from.</param>
/// <param name="To">Where it goes.</param>
/// <param name="Amount">In major units, as written.</param>
/// <param name="OccurredOn">The day; today if left out.</param>
/// <param name="Description">What to write beside it.</param>
public sealed record RecordTransfer(Part From, Part To, decimal Amount, DateOnly? OccurredOn, string? Description)
    : IReplacementCommand, ISignedCommand
{
    /// <summary>Whose hands the money comes from; where it goes it lies in its place.</summary>
    public Hands Hands { get; init; } = Hands.Unsaid;

    /// <inheritdoc />
    public ICommand SignedBy(string key) => this with { Hands = Hands with { By = key } };

    /// <inheritdoc />
    public IReplacementCommand DatedOn(DateOnly day) => this with { OccurredOn = day };

    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        var from = From with { Compartment = book.OpenCompartment(From.Compartment, "from.compartment").Id };
        var to = To with { Compartment = book.OpenCompartment(To.Compartment, "to.compartment").Id };
        if (from == to)
        {
            throw Refusal.Unfit("to", "transfer-to-itself",
                $"Both places are the {from}: name another compartment, or the other holding.");
        }

        var amount = book.Amount(Amount);
        var day = book.Day(OccurredOn, today);
        book.MustHave(from, amount, day, "amount", to: to.Compartment);
        return [new Transferred(from, to, amount, day,
            Words.Description(Description)) { Carried = Hands.Take(book, from, amount) }];
    }
}
