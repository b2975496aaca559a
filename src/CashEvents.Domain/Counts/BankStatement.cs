using System.Collections.Immutable;

namespace CashEvents.Domain.Counts;

/// <summary>
/// The last statement of the bank: all bank parts of the book together, in one figure. Last by its day, then by its
/// line.
/// </summary>
/// <param name="Line">The line at which it was read, which is also its id.</param>
/// <param name="OccurredOn">The day whose balance it states.</param>
/// <param name="Expected">What the bank parts held together, by what is known now.</param>
/// <param name="Stated">What the bank states.</param>
public sealed record BankStatement(long Line, DateOnly OccurredOn, Money Expected, Money Stated)
{
    /// <summary>
    /// Whether it states the balance at the end of its day, since it was read on a later one; else that of the moment
    /// it was read.
    /// </summary>
    public bool AtDaysEnd { get; init; }

    /// <summary>Whether its difference has been posted.</summary>
    public bool Settled { get; init; }

    /// <summary>
    /// What would be expected besides by what has become known since it was settled; it counts again if the settlement
    /// is reversed.
    /// </summary>
    public Money LearntSince { get; init; }

    /// <summary>Over when positive, short when negative.</summary>
    public Money Difference => Stated - Expected;

    /// <summary>
    /// What is still to be agreed on: the difference, or of one that is settled what was learnt since.
    /// </summary>
    public Money Unsettled => Settled ? -LearntSince : Difference;

    /// <summary>The statement after a bank part changed by a line written after it.</summary>
    /// <param name="day">The day that the line belongs to.</param>
    /// <param name="origin">For a correction, the first of the lines that it corrects.</param>
    /// <param name="change">In is positive, out negative.</param>
    internal BankStatement After(DateOnly day, long? origin, Money change) =>
        day > OccurredOn || (day == OccurredOn && !AtDaysEnd && !(origin < Line)) ? this
        : Settled ? this with { LearntSince = LearntSince + change }
        : this with { Expected = Expected + change };

    /// <summary>The statement after its settlement is undone.</summary>
    internal BankStatement Opened =>
        this with { Settled = false, Expected = Expected + LearntSince, LearntSince = Money.Zero };

    /// <summary>
    /// What each compartment has in the bank at the end of a day, in the order of the household's lists; those that
    /// have nothing there are left out.
    /// </summary>
    public static IEnumerable<BankPart> PartsOn(Book book, DateOnly day)
    {
        ArgumentNullException.ThrowIfNull(book);
        return
            from compartment in book.Compartments.Values
            orderby compartment.Line
            let part = new BankPart(compartment.Id, book.ExpectedOn(new Part(compartment.Id, Holding.Bank), day))
            where part.Amount != Money.Zero
            select part;
    }
}

/// <summary>What a compartment has in the bank.</summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Amount">How much.</param>
public readonly record struct BankPart(string Compartment, Money Amount);

/// <summary>Line: a statement of the bank was read against all bank parts together. Moves no money.</summary>
/// <param name="Expected">What they held together, by the lines before this one.</param>
/// <param name="Stated">What the bank states.</param>
/// <param name="Parts">What made it up.</param>
/// <param name="OccurredOn">The day whose balance it states.</param>
/// <param name="AtDaysEnd">Whether it states the balance at the end of that day, since it was read on a later
/// one.</param>
/// <param name="Description">What was written beside it.</param>
[LineKind("bankStatement")]
public sealed record BankStatementRead(Money Expected, Money Stated, ImmutableArray<BankPart> Parts,
    DateOnly OccurredOn, bool AtDaysEnd, string Description) : IDatedEvent
{
    /// <summary>Over when positive, short when negative.</summary>
    public Money Difference => Stated - Expected;

    /// <inheritdoc />
    public MovementKind? Listed => MovementKind.Count;

    /// <inheritdoc />
    public IEnumerable<string> About => Parts.Select(p => p.Compartment);

    internal BankStatement At(long line) => new(line, OccurredOn, Expected, Stated) { AtDaysEnd = AtDaysEnd };

    /// <inheritdoc />
    public bool CarriesAmount => true;

    /// <inheritdoc />
    public Book WrittenIn(Book book) =>
        book.BankStatement?.OccurredOn > OccurredOn ? book : CountsInBook.Statement.On(book, At(book.Line + 1));

    /// <inheritdoc />
    public string Mend(long line) => "read the bank's statement again, and the new one stands in its stead";
}

/// <summary>Reads a statement of the bank against all bank parts together.</summary>
/// <param name="Total">What the bank states, in major units as written: of what the book has there, and of nothing else
/// in the account.</param>
/// <param name="OccurredOn">The day whose balance it states; today if left out.</param>
/// <param name="Description">What to write beside it.</param>
public sealed record ReadBankStatement(decimal Total, DateOnly? OccurredOn, string? Description) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        var stated = book.Currency.Exactly(Total, "total");
        if (stated < Money.Zero)
        {
            throw Refusal.Unfit("total", "total-negative", "`total` is what the bank states: zero or more.");
        }

        var day = book.Day(OccurredOn, today);
        var parts = BankStatement.PartsOn(book, day).ToImmutableArray();
        return parts.Length > 0
            ? [new BankStatementRead(parts.Aggregate(Money.Zero, (sum, p) => sum + p.Amount), stated, parts, day,
                day < today, Words.Description(Description))]
            : throw Refusal.Conflict("nothing-in-bank",
                $"No compartment had anything in the bank on {day:O}: write what it has there with "
                    + $"{Act.Fill.Way()} and "
                    + $"the holding bank, or another day.", "occurredOn");
    }
}
