using System.Collections.Immutable;

namespace CashEvents.Domain.Counts;

/// <summary>
/// The last count of a place: that of the latest day, and of several on that day the one written last. One that is
/// typed in late does not stand in the stead of a later one.
/// </summary>
/// <param name="Line">The line of the count, which is also its id.</param>
/// <param name="OccurredOn">The day it was taken.</param>
/// <param name="Expected">The balance expected that day, by what is known now: lines written since and dated before
/// that day are in it.</param>
/// <param name="Counted">What was found.</param>
public sealed record LastCount(long Line, DateOnly OccurredOn, Money Expected, Money Counted)
{
    /// <summary>
    /// The last line that was written when it was taken: the one before its own, unless its figure was written later.
    /// </summary>
    public long AtLine { get; init; } = Line - 1;

    /// <summary>Whether its over or short has been posted.</summary>
    public bool Settled { get; init; }

    /// <summary>
    /// What would be expected besides by what has become known since it was settled; it counts again if the settlement
    /// is reversed.
    /// </summary>
    public Money LearntSince { get; init; }

    /// <summary>
    /// The first day, its own or a later one, on which money came or went after it; null while what it found lies there
    /// untouched. To settle it moves nothing.
    /// </summary>
    public DateOnly? MovedSince { get; init; }

    /// <summary>Face values whose notes or coins were set aside for saving, so that none are twice.</summary>
    public ImmutableSortedSet<Money> SetAside { get; init; } = [];

    /// <summary>Over when positive, short when negative.</summary>
    public Money Difference => Counted - Expected;

    /// <summary>
    /// What is there more than the book says, or less when negative: the over or short while it is not settled, and
    /// after that what has become known since and was not agreed on.
    /// </summary>
    public Money Unsettled => Settled ? -LearntSince : Difference;

    /// <summary>
    /// Whether a count should have found what a line written after it moves. Money found to have moved before the day
    /// of a count changes what that count should have found.
    /// On the day itself lines are taken to have happened after the count, unless they correct one that was in the book
    /// by then.
    /// </summary>
    /// <param name="countedOn">The day of the count.</param>
    /// <param name="atLine">The last line that was written when it was taken.</param>
    /// <param name="day">The day that the line belongs to.</param>
    /// <param name="origin">For a correction, the first of the lines that it corrects.</param>
    internal static bool ShouldHaveFound(DateOnly countedOn, long atLine, DateOnly day, long? origin) =>
        day < countedOn || (day == countedOn && origin <= atLine);

    /// <summary>
    /// The count after it becomes known that the balance of its day was another. One that is settled stays as it was
    /// agreed.
    /// </summary>
    internal LastCount Learn(Money change) =>
        Settled ? this with { LearntSince = LearntSince + change } : this with { Expected = Expected + change };

    /// <summary>The count after money came or went that it could not find.</summary>
    internal LastCount Moved(DateOnly day) => MovedSince <= day ? this : this with { MovedSince = day };

    /// <summary>The count after its settlement is undone.</summary>
    internal LastCount Opened =>
        this with { Settled = false, Expected = Expected + LearntSince, LearntSince = Money.Zero };

    /// <summary>A count that is the last of its place, by its line.</summary>
    /// <exception cref="RefusalException">There is no such count, or one that was taken later stands in its
    /// stead.</exception>
    public static (Part Place, LastCount Count) In(Book book, long line)
    {
        ArgumentNullException.ThrowIfNull(book);
        foreach (var (part, count) in CountsInBook.LastCounts.In(book))
        {
            if (count.Line == line)
            {
                return (part, count);
            }
        }

        throw Refusal.NotFound("count-not-open",
            $"There is no count {line} that could be settled: either no such count was taken, or a count of the same "
                + $"place that was taken later stands in its stead.");
    }
}

/// <summary>Line: the money in a place was counted. Moves none.</summary>
/// <param name="Compartment">The compartment.</param>
/// <param name="Holding">Cash, or the bank part read off a statement.</param>
/// <param name="Expected">What should be there at the end of that day, by the lines before this one; in a round, at the
/// moment it was counted.</param>
/// <param name="Counted">What was found.</param>
/// <param name="Pieces">By denomination, largest first; empty where only a total was given.</param>
/// <param name="OccurredOn">The day.</param>
/// <param name="Witness">Who else was there; may be empty.</param>
/// <param name="Description">What was written beside it.</param>
[LineKind("count")]
public sealed record CountTaken(
    string Compartment, Holding Holding, Money Expected, Money Counted, ImmutableArray<Pieces> Pieces,
    DateOnly OccurredOn, string Witness, string Description) : IDatedEvent
{
    /// <summary>The round it belongs to; null when it was taken by itself.</summary>
    public CountedInRound? InRound { get; init; }

    /// <summary>Over when positive, short when negative.</summary>
    public Money Difference => Counted - Expected;

    /// <inheritdoc />
    public MovementKind? Listed => MovementKind.Count;

    /// <inheritdoc />
    public IEnumerable<string> About => [Compartment];

    /// <inheritdoc />
    public bool CarriesAmount => true;

    /// <inheritdoc />
    public Book WrittenIn(Book book) => book.Count(this);

    /// <inheritdoc />
    public string Mend(long line) => $"count {Compartment} again, and the new count stands in its stead";
}

/// <summary>Line: a count's over or short is posted, so that the balance agrees with the notes.</summary>
/// <param name="Count">The line of the count.</param>
/// <param name="Compartment">The compartment counted.</param>
/// <param name="Holding">The holding counted.</param>
/// <param name="Difference">Over when positive, short when negative; never zero.</param>
/// <param name="OccurredOn">The day it was accepted.</param>
/// <param name="Description">The reason.</param>
[LineKind("settlement")]
public sealed record CountSettled(long Count, string Compartment, Holding Holding, Money Difference,
    DateOnly OccurredOn, string Description) : IMovement
{
    /// <inheritdoc />
    public MovementKind Kind => MovementKind.Settlement;

    /// <inheritdoc />
    public Correction? Corrects => null;

    /// <inheritdoc />
    public IEnumerable<Posting> Postings => [new(new Part(Compartment, Holding), Difference)];

    /// <inheritdoc />
    public IEnumerable<IConsequence> Consequences => [new SettledCount(Count)];
}

/// <summary>
/// A count is settled by its over or short. Undone, it is open again unless a later count stands in its stead.
/// </summary>
/// <param name="Count">The line of the count.</param>
public sealed record SettledCount(long Count) : IConsequence
{
    /// <inheritdoc />
    public Book Done(Book book, IMovement movement) =>
        book.WithCount(movement.Postings.First().Place, Count, count => count with { Settled = true });

    /// <inheritdoc />
    public Book Undone(Book book, IMovement reversal) =>
        book.WithCount(reversal.Postings.First().Place, Count, count => count.Opened);

    /// <summary>The day of the count: what is posted was found then.</summary>
    public DateOnly? BelongsTo(Book book, IMovement movement) => movement.Undoes
        ? book.LateCorrections.Find(c => c.Line == movement.Corrects!.Value.Line)?.BelongsTo
        : book.LastCount(movement.Postings.First().Place) is { } last && last.Line == Count ? last.OccurredOn : null;
}

/// <summary>Records a count.</summary>
/// <param name="Compartment">The compartment.</param>
/// <param name="Holding">Cash, or the bank part read off a statement.</param>
/// <param name="Total">What was found, in major units as written; or else the denominations.</param>
/// <param name="Denominations">How many of each value, as <c>{"20": 3, "0.25": 5}</c>; cash only.</param>
/// <param name="OccurredOn">The day; today if left out.</param>
/// <param name="Witness">Who else was there.</param>
/// <param name="Description">What to write beside it.</param>
public sealed record RecordCount(
    string Compartment, Holding Holding, decimal? Total, IReadOnlyDictionary<string, long>? Denominations,
    DateOnly? OccurredOn, string? Witness, string? Description) : ISignedCommand
{
    /// <summary>Whose hands it was counted from.</summary>
    public Hands Hands { get; init; } = Hands.Unsaid;

    /// <inheritdoc />
    public ICommand SignedBy(string key) => this with { Hands = Hands with { By = key } };

    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        var compartment = book.OpenCompartment(Compartment, "compartment");
        Hands.MustCountAll(book, new Part(compartment.Id, Holding));
        var (counted, pieces) = Found(book.Currency);
        var day = book.Day(OccurredOn, today);
        var expected = book.ExpectedOn(new Part(compartment.Id, Holding), day);
        return [new CountTaken(compartment.Id, Holding, expected, counted, pieces, day,
            Words.Description(Witness, "witness"), Words.Description(Description))];
    }

    private (Money Counted, ImmutableArray<Pieces> Pieces) Found(Currency currency)
    {
        if (Denominations is not null)
        {
            if (Holding == Holding.Bank)
            {
                throw Refusal.Unfit("denominations", "denominations-in-bank",
                    "Money in the bank has no notes or coins: send `total`.");
            }

            var pieces = Amounts.Denominations.Read(currency, Denominations, "denominations");
            return (Amounts.Denominations.Total(pieces), pieces);
        }

        var total = currency.Exactly(
            Total ?? throw Refusal.Unfit("total", "total-missing", "Send `total`, or `denominations`."), "total");
        return total >= Money.Zero ? (total, [])
            : throw Refusal.Unfit("total", "total-negative", "`total` is what was found: zero or more.");
    }
}

/// <summary>Posts a count's over or short.</summary>
/// <param name="Count">The line of the count, the last one of its place.</param>
/// <param name="Reason">Why it is accepted.</param>
/// <param name="OccurredOn">The day, not before the count; today if left out.</param>
public sealed record SettleCount(long Count, string Reason, DateOnly? OccurredOn) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        var reason = Words.Reason(Reason);
        var (part, count) = LastCount.In(book, Count);
        if (count.Settled)
        {
            throw Refusal.Conflict("count-settled", $"Count {Count} is settled already.");
        }

        if (count.Difference == Money.Zero)
        {
            throw Refusal.Conflict("nothing-to-settle",
                $"Count {Count} agrees with the book: there is no over or short to post.");
        }

        book.OpenCompartment(part.Compartment, "compartment");
        var day = book.Day(OccurredOn, today);
        if (day < count.OccurredOn)
        {
            throw Refusal.Unfit("occurredOn", "before-count",
                $"The count was taken on {count.OccurredOn:O}: settle it on that day or later.");
        }

        if (count.Difference < Money.Zero)
        {
            book.MustHave(part, -count.Difference, day, "occurredOn");
        }

        return [new CountSettled(Count, part.Compartment, part.Holding, count.Difference, day, reason)];
    }
}
