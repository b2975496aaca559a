using System.Globalization;

namespace CashEvents.Domain.Paydays;

/// <summary>Line: a payday was shared out, and every compartment filled that got something.</summary>
/// <param name="Run">What was worked out, with what was wanted and cut.</param>
/// <param name="OccurredOn">The day on which it was filled: the payday where nobody named another; when its month was
/// closed, the day on which the run was written.</param>
/// <param name="Description">What was written beside it.</param>
[LineKind("fillRun")]
public sealed record PaydayFilled(FillRun Run, DateOnly OccurredOn, string Description) : IMovement
{
    /// <inheritdoc />
    public MovementKind Kind => MovementKind.Fill;

    /// <inheritdoc />
    public Correction? Corrects => null;

    /// <inheritdoc />
    public IEnumerable<IConsequence> Consequences => [new FilledPayday(Run.Payday)];

    /// <inheritdoc />
    public IEnumerable<Posting> Postings => Run.Fills
        .SelectMany(fill => new[] { new Posting(new Part(fill.Compartment, Holding.Cash), fill.Cash),
            new Posting(new Part(fill.Compartment, Holding.Bank), fill.Bank) })
        .Where(posting => posting.Amount > Money.Zero);
}

/// <summary>A payday is filled by a run. Undone, it may be filled again.</summary>
/// <param name="Payday">Its bank day.</param>
public sealed record FilledPayday(DateOnly Payday) : IConsequence
{
    /// <summary>
    /// Whether it had not come yet when its run was undone: it is then as if it had never been filled.
    /// </summary>
    public bool Early { get; init; }

    /// <inheritdoc />
    public Book Done(Book book, IMovement movement) => book.Mark(Payday, book.Line, PaydayState.Filled);

    /// <inheritdoc />
    public Book Undone(Book book, IMovement reversal) => Early
        ? PaydaysInBook.FillRuns.Change(book, runs => runs.Remove(Payday))
        : book.Mark(Payday, reversal.Corrects!.Value.Line, PaydayState.Undone);
}

/// <summary>What became of a payday last.</summary>
public enum PaydayState
{
    /// <summary>Filled by a run that stands.</summary>
    Filled,

    /// <summary>Filled by a run that was undone.</summary>
    Undone,

    /// <summary>Left by the automatic runs.</summary>
    Left,
}

/// <summary>What became of a payday last, and the line that says it.</summary>
/// <param name="Line">The line of the run, also when it was undone since; or the one that leaves it.</param>
/// <param name="State">What became of it.</param>
public readonly record struct PaydayMark(long Line, PaydayState State);

/// <summary>
/// Shares a payday out and fills the compartments, in one line. It is worked out when it is decided, on the book as it
/// stands then; a payday is filled once.
/// </summary>
/// <param name="Payday">Its bank day.</param>
/// <param name="Pay">What was paid in all, in major units as written; none to go by the amounts of the sources.</param>
/// <param name="Description">What to write beside it; the payday if left out.</param>
/// <param name="Calendars">The calendar of a household, by its country.</param>
public sealed record FillPayday(DateOnly Payday, decimal? Pay, string? Description, Func<string?, ICalendar> Calendars)
    : ICommand
{
    /// <summary>The day on which the cash is drawn and filled, from the payday on; the payday if left out.</summary>
    public DateOnly? OccurredOn { get; init; }

    /// <summary>
    /// What compartments get in the stead of what is worked out, by their ids; the others get what they would without.
    /// </summary>
    public IReadOnlyDictionary<string, FillAmount>? Amounts { get; init; }

    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        var run = WorkOut(book);
        if (Payday > today)
        {
            throw Refusal.Unfit("payday", "after-today",
                $"{Payday:O} is after the household's today, {today:O}: {Act.FillPayday.Way()} with `dryRun` true "
                    + $"tells "
                    + $"what it will come to; fill when the pay is there.");
        }

        if (run.Filled == Money.Zero)
        {
            throw Refusal.Conflict("nothing-to-fill", run.ToShare <= Money.Zero
                ? $"Bills and automatic savings until {run.Next:O} take all of the pay, {book.Say(run.Pay)}, so "
                    + $"nothing is left to fill."
                : "No compartment wants anything: each rule comes to nothing until the next payday, or its ceiling is "
                    + "reached.");
        }

        return [new PaydayFilled(run, Day(book, today),
            Words.Description(Description
                ?? string.Create(CultureInfo.InvariantCulture, $"Payday {Payday:yyyy-MM-dd}")))];
    }

    /// <summary>What the payday comes to on a book; writing it on that book gives the same.</summary>
    /// <exception cref="RefusalException">It was filled already, or can't be worked out.</exception>
    public FillRun WorkOut(Book book)
    {
        ArgumentNullException.ThrowIfNull(book);
        MustNotBeBefore(Payday, OccurredOn);
        if (book.FillRuns.TryGetValue(Payday, out var mark) && mark.State == PaydayState.Filled)
        {
            throw Refusal.Conflict("payday-filled",
                $"{Payday:O} was filled by line {mark.Line}, and a payday is filled once: reverse that line if it was "
                    + $"wrong, or record what is missing with {Act.Fill.Way()}.", "payday");
        }

        try
        {
            var run = FillRun.Of(Payday, Pay, book, Calendars(book.Household!.Country));
            return Amounts is null ? run : run.With(Amounts, book);
        }
        catch (RefusalException refused) when (refused.Refusal.Sort == RefusalSort.NotFound)
        {
            throw new RefusalException(refused.Refusal.Within("payday"));
        }
    }

    /// <summary>Refuses to fill a payday before it comes.</summary>
    /// <exception cref="RefusalException">The day is before the payday.</exception>
    public static void MustNotBeBefore(DateOnly payday, DateOnly? occurredOn)
    {
        if (occurredOn < payday)
        {
            throw Refusal.Unfit("occurredOn", "before-payday",
                $"{occurredOn:O} is before the payday, {payday:O}: a payday is filled on that day or later.");
        }
    }

    private DateOnly Day(Book book, DateOnly today) => OccurredOn is { } day ? book.Day(day, today)
        : !book.IsClosed(Payday) ? Payday
        : !book.IsClosed(today) ? today
        : throw Refusal.Conflict("month-closed",
            $"{Month.Of(today)} is closed too, so there is no open month to fill in: reopen it first.", "payday");
}
