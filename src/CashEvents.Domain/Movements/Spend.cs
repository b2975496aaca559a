namespace CashEvents.Domain.Movements;

/// <summary>Line: money left to a seller.</summary>
/// <param name="Compartment">Where it came from.</param>
/// <param name="Holding">Cash or bank.</param>
/// <param name="Amount">Above zero.</param>
/// <param name="OccurredOn">The day.</param>
/// <param name="Description">What was written beside it.</param>
[LineKind("spend")]
public sealed record Spent(string Compartment, Holding Holding, Money Amount, DateOnly OccurredOn, string Description)
    : IReplacement
{
    /// <inheritdoc />
    public MovementKind Kind => MovementKind.Spend;

    /// <inheritdoc />
    public Correction? Corrects { get; init; }

    /// <inheritdoc />
    public CarriedChange? Carried { get; init; }

    /// <summary>The bill that it pays, of a goal of its compartment.</summary>
    public PaidBill? Pays { get; init; }

    /// <inheritdoc />
    public IEnumerable<Posting> Postings => [new(new Part(Compartment, Holding), -Amount)];

    /// <inheritdoc />
    public IEnumerable<IConsequence> Consequences => Pays is { } paid ? [paid] : [];

    /// <inheritdoc />
    public IReplacement InSteadOf(Correction corrects) => this with { Corrects = corrects };
}

/// <summary>Records a spend.</summary>
/// <param name="Compartment">Where it comes from.</param>
/// <param name="Holding">Cash or bank.</param>
/// <param name="Amount">In major units, as written.</param>
/// <param name="OccurredOn">The day; today if left out.</param>
/// <param name="Description">What to write beside it.</param>
/// <param name="RestFrom">A compartment whose same holding gives what is missing, if anything is.</param>
/// <param name="Goal">A goal of the compartment, whose next bill it pays.</param>
public sealed record RecordSpend(
    string Compartment, Holding Holding, decimal Amount, DateOnly? OccurredOn, string? Description,
    string? RestFrom = null, string? Goal = null) : IReplacementCommand, ISignedCommand
{
    /// <summary>Whose hands the money comes from.</summary>
    public Hands Hands { get; init; } = Hands.Unsaid;

    /// <inheritdoc />
    public ICommand SignedBy(string key) => this with { Hands = Hands with { By = key } };

    /// <inheritdoc />
    public IReplacementCommand DatedOn(DateOnly day) => this with { OccurredOn = day };

    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        var part = new Part(book.OpenCompartment(Compartment, "compartment").Id, Holding);
        var amount = book.Amount(Amount);
        var day = book.Day(OccurredOn, today);
        var description = Words.Description(Description);
        var spent = new Spent(part.Compartment, part.Holding, amount, day, description)
        {
            Pays = Goal is null ? null : GoalRules.NextBill(book, Goal, part.Compartment, today),
        };

        if (RestFrom is null)
        {
            book.MustHave(part, amount, day, "amount");
            return [spent with { Carried = Hands.Take(book, part, amount) }];
        }

        var source = part with { Compartment = book.OpenCompartment(RestFrom, "restFrom").Id };
        if (source == part)
        {
            throw Refusal.Unfit("restFrom", "rest-from-itself",
                $"The rest can't come from '{RestFrom}' itself: name another compartment.");
        }

        var missing = amount - Hands.Within(book, part, book.Available(part, day).Closing);
        if (missing <= Money.Zero)
        {
            return [spent with { Carried = Hands.Take(book, part, amount) }];
        }

        book.MustHave(source, missing, day, "restFrom", rest: part.Compartment);
        book.MustLieInPlace(source, missing, "restFrom");
        var entry = new Draft(book, today) { new Transferred(source, part, missing, day, description) };
        entry.Add(spent with { Carried = Hands.Take(entry.After, part, amount) });
        return entry;
    }
}
