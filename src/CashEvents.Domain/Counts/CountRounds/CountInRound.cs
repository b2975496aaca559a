using System.Globalization;

namespace CashEvents.Domain.Counts;

/// <summary>
/// Records a figure of a round: an ordinary count, compared with the balance of the moment at which it was taken.
/// </summary>
/// <param name="Round">The round's id.</param>
/// <param name="Figure">What was found, in cash; its day is that of the moment, null for today.</param>
/// <param name="AtLine">The last line that was written when it was counted; the book's last if left out.</param>
/// <param name="By">Name of the key that writes it.</param>
public sealed record CountInRound(long Round, RecordCount Figure, long? AtLine, string By) : ICommand
{
    // A figure with a day was told by its instant.
    private string Moment => Figure.OccurredOn is null ? "atLine" : "countedAt";

    /// <summary>Refuses an instant at which nothing of a round can have been counted.</summary>
    /// <param name="countedAt">The instant.</param>
    /// <param name="now">The instant of now.</param>
    /// <param name="openedAt">When the round was opened; null where the clock that stamped it was ahead.</param>
    /// <exception cref="RefusalException">It is still to come, or lies before the round.</exception>
    public static void MustBeMoment(DateTimeOffset countedAt, DateTimeOffset now, DateTimeOffset? openedAt)
    {
        if (countedAt > now)
        {
            throw Refusal.Unfit("countedAt", "after-now", string.Create(CultureInfo.InvariantCulture,
                $"{countedAt.UtcDateTime:yyyy-MM-dd'T'HH:mm:ss'Z'} is still to come: write the instant at which it was "
                    + $"counted."));
        }

        if (countedAt < openedAt)
        {
            throw Refusal.Unfit("countedAt", "before-round", string.Create(CultureInfo.InvariantCulture,
                $"The round was opened at {openedAt.Value.UtcDateTime:yyyy-MM-dd'T'HH:mm:ss'Z'}, and what was counted "
                    + $"before is not part of it: count again."));
        }
    }

    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        var round = book.OpenCountRound(Round);
        var taken = Taken(book, today);
        var counted = round.Find(taken.Compartment) ?? throw Refusal.Unfit("compartment", "compartment-not-in-round",
            $"'{taken.Compartment}' is not in count round {Round}, which counts "
                + $"{string.Join(", ", round.Compartments.Select(c => c.Id))}: count it with {Act.Count.Way()}.");
        var atLine = AtLine ?? book.Line;
        if (atLine > book.Line)
        {
            throw Refusal.Unfit(Moment, "after-last-line",
                $"The book's last line is {book.Line}: leave `atLine` out to count as it stands.");
        }

        if (atLine < Round)
        {
            throw Refusal.Unfit(Moment, "before-round",
                $"The round was opened at line {Round}, and what moved before is not part of it: count '{counted.Id}' "
                    + $"again.");
        }

        if (atLine < counted.KnownSince)
        {
            throw Refusal.Unfit(Moment, "too-much-moved",
                $"More than {RoundCompartment.MostMoved} movements of '{counted.Id}' were written since it was "
                    + $"counted: count it again.");
        }

        if (book.CashCount(counted.Id) is { } last
            && (last.OccurredOn > taken.OccurredOn || (last.OccurredOn == taken.OccurredOn && last.AtLine > atLine)))
        {
            throw Refusal.Conflict("count-replaced",
                $"The cash of '{counted.Id}' was counted again after that, in count {last.Line}, which stands: count "
                    + $"it once more if that one is wrong.", Moment);
        }

        return
        [
            taken with
            {
                Expected = counted.ExpectedAt(book.ExpectedOn(new Part(counted.Id, Holding.Cash), taken.OccurredOn),
                    taken.OccurredOn, atLine),
                InRound = new CountedInRound(Round, atLine, By),
            },
        ];
    }

    private CountTaken Taken(Book book, DateOnly today)
    {
        try
        {
            return (CountTaken)Figure.SignedBy(By).Decide(book, today).Single();
        }
        catch (RefusalException refused) when (refused.Refusal.Field == "occurredOn")
        {
            throw new RefusalException(refused.Refusal with { Field = Moment });
        }
    }
}
