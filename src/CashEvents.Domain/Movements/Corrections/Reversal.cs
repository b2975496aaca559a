using System.Collections.Immutable;

namespace CashEvents.Domain.Movements;

/// <summary>Line: an earlier line is undone. Both stay in the book; reports count neither.</summary>
/// <param name="Corrects">The line that is undone.</param>
/// <param name="Kind">That line's kind of movement.</param>
/// <param name="Changes">That line's changes, each the other way.</param>
/// <param name="OccurredOn">That line's day, or a day of the open month when its own is closed.</param>
/// <param name="Description">The reason.</param>
[LineKind("reversal")]
public sealed record Reversed(Correction Corrects, MovementKind Kind, ImmutableArray<Posting> Changes,
    DateOnly OccurredOn, string Description) : IMovement
{
    /// <summary>
    /// The count whose settlement is undone; if no later count stands in its stead it is open again then.
    /// </summary>
    public long? Count { get; init; }

    /// <summary>The bank statement whose settlement is undone; if it is still the last it is open again then.</summary>
    public long? Statement { get; init; }

    /// <summary>The bill whose payment is undone; it is open again then.</summary>
    public PaidBill? Pays { get; init; }

    /// <summary>The step of a saving plan that is undone; it is to be done again then.</summary>
    public DoneStep? Step { get; init; }

    /// <summary>The notes or coins of a count that are back where they were counted.</summary>
    public CountedPieces? SetsAside { get; init; }

    /// <summary>What it puts back into the hands of who carries it still, or takes out of them.</summary>
    public CarriedChange? Carried { get; init; }

    /// <summary>The payday whose fill run is undone; it may be filled again then.</summary>
    public DateOnly? Payday { get; init; }

    /// <summary>
    /// Whether that payday had not come yet when its run was undone, as a clock that was ahead can do: it is filled
    /// when it comes, as if it had never been. Absent otherwise.
    /// </summary>
    public bool? Early { get; init; }

    /// <inheritdoc />
    public IEnumerable<Posting> Postings => Changes;

    /// <inheritdoc />
    public bool Undoes => true;

    /// <inheritdoc />
    public IEnumerable<IConsequence> Consequences => new IConsequence?[]
    {
        Pays, Step, SetsAside,
        Payday is { } payday ? new FilledPayday(payday) { Early = Early is true } : null,
        Count is { } count ? new SettledCount(count) : null,
        Statement is { } statement ? new SettledStatement(statement) : null,
    }.OfType<IConsequence>();

    Correction? IMovement.Corrects => Corrects;
}

/// <summary>Undoes an earlier line, once.</summary>
/// <param name="Line">Its number.</param>
/// <param name="Written">What it says.</param>
/// <param name="Reason">Why.</param>
public sealed record ReverseLine(long Line, IBookEvent Written, string Reason) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        var reversal = Reversal(book, today);
        reversal = reversal.Payday > today ? reversal with { Early = true } : reversal;
        var entry = new Draft(book, today) { reversal };
        Book.MustHaveAfter(entry, $"Without line {Line}");
        return entry;
    }

    /// <summary>The reversal, whatever it leaves in the places it touches.</summary>
    internal Reversed Reversal(Book book, DateOnly today)
    {
        var reason = Words.Reason(Reason);
        if (Written is Reversed)
        {
            throw Refusal.Conflict("line-is-reversal",
                $"Line {Line} is a reversal, and can't be reversed: write the right movement with "
                    + $"{Act.Amend.Way(Line)}.");
        }

        var movement = Movement();
        book.MustStand(Line);
        if (movement.Postings.FirstOrDefault(
            p => book.Compartments[p.Place.Compartment].Closed).Place.Compartment is { } closed)
        {
            throw Refusal.Conflict("compartment-closed",
                $"Line {Line} moved money of '{closed}', which is closed: reopen it with "
                    + $"{Act.ChangeCompartment.Way(closed)} {{\"closed\": false}} first.");
        }

        var (day, closedDay) = book.DayToCorrect(movement, today);
        return new Reversed(new Correction(Line, closedDay), movement.Kind,
            [.. movement.Postings.Select(p => p with { Amount = -p.Amount })], day, reason)
        {
            Count = Undone<SettledCount>()?.Count,
            Statement = Undone<SettledStatement>()?.Statement,
            Pays = Undone<PaidBill>(),
            Step = Undone<DoneStep>(),
            SetsAside = Undone<CountedPieces>(),
            Carried = movement.Carried is { } carried ? carried with { Change = -carried.Change } : null,
            Payday = Undone<FilledPayday>()?.Payday,
        };

        T? Undone<T>() where T : class, IConsequence => movement.Consequences.OfType<T>().SingleOrDefault();
    }

    private IMovement Movement() =>
        Written as IMovement ?? throw Refusal.Conflict("line-moves-nothing",
            $"Line {Line} moves no money, so there is nothing to reverse: {Written.Mend(Line)}.");
}
