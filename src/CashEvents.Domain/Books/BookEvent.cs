namespace CashEvents.Domain.Books;

/// <summary>What one line of the book says.</summary>
public interface IBookEvent
{
    /// <summary>Ids of the compartments that the line is about.</summary>
    IEnumerable<string> About => [];
}

/// <summary>A line that happened on a day of the household's calendar.</summary>
public interface IDatedEvent : IBookEvent
{
    /// <summary>The household's local date on which it happened.</summary>
    DateOnly OccurredOn { get; }

    /// <summary>What the keeper wrote beside it; may be empty.</summary>
    string Description { get; }
}

/// <summary>A line that moves money.</summary>
public interface IMovement : IDatedEvent
{
    /// <summary>Which kind of movement it is, or undoes.</summary>
    MovementKind Kind { get; }

    /// <summary>The change in each place it touches.</summary>
    IEnumerable<Posting> Postings { get; }

    /// <summary>The earlier line that it undoes, or stands in the stead of.</summary>
    Correction? Corrects { get; }

    /// <summary>What it changes in the notes that somebody carries.</summary>
    CarriedChange? Carried => null;

    IEnumerable<string> IBookEvent.About => Postings.Select(p => p.Place.Compartment).Distinct();
}

/// <summary>A movement that may stand in the stead of an earlier line.</summary>
public interface IReplacement : IMovement
{
    /// <summary>The same movement in the stead of an earlier line.</summary>
    IReplacement InSteadOf(Correction corrects);
}

/// <summary>The change that a line makes in one place.</summary>
/// <param name="Place">Compartment and holding.</param>
/// <param name="Amount">In is positive, out negative.</param>
public readonly record struct Posting(Place Place, Money Amount);

/// <summary>Something a key asks the book to write.</summary>
public interface ICommand
{
    /// <summary>The lines to write, given the book as it stands. Pure: the same book, day and command give the same lines.</summary>
    /// <param name="book">The book as it stands.</param>
    /// <param name="today">The household's date.</param>
    /// <returns>The lines, none if there is nothing to do.</returns>
    /// <exception cref="RefusalException">A rule forbids it.</exception>
    IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today);
}

/// <summary>Asks for a movement that may stand in the stead of an earlier line.</summary>
public interface IReplacementCommand : ICommand
{
    /// <summary>The day on which it happened; null if none is given.</summary>
    DateOnly? OccurredOn { get; }

    /// <summary>The same on a day.</summary>
    IReplacementCommand DatedOn(DateOnly day);
}
