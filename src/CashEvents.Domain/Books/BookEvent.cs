namespace CashEvents.Domain.Books;

/// <summary>
/// What one line of the book says: its words, what it changes, and how it is put right. All that is known of a kind of
/// line stands here, beside its facts.
/// </summary>
public interface IBookEvent
{
    /// <summary>Ids of the compartments that the line is about.</summary>
    IEnumerable<string> About => [];

    /// <summary>Whether it carries an amount, so that the household's currency is fixed from then on.</summary>
    bool CarriesAmount => false;

    /// <summary>
    /// The kind that a key which is not a keeper's has to list to write it; null where only a keeper may.
    /// </summary>
    MovementKind? Listed => null;

    /// <summary>What of it goes along in a copy of the book; all of it unless it says otherwise.</summary>
    IBookEvent GoesAlong => this;

    /// <summary>The book with this line on it. Its number is the book's last line and one.</summary>
    Book WrittenIn(Book book);

    /// <summary>How it is put right, for a sentence; a movement is reversed or amended.</summary>
    /// <param name="line">Its number.</param>
    string Mend(long line);
}

/// <summary>
/// The one name of a kind of line, where it is stored and in every answer. A name once used is never changed: old lines
/// carry it.
/// </summary>
/// <param name="name">Such as <c>spend</c>.</param>
[AttributeUsage(AttributeTargets.Class, Inherited = false)]
public sealed class LineKindAttribute(string name) : Attribute
{
    /// <summary>The name.</summary>
    public string Name { get; } = name;
}

/// <summary>A line that happened on a day of the household's calendar.</summary>
public interface IDatedEvent : IBookEvent
{
    /// <summary>The household's local date on which it happened.</summary>
    DateOnly OccurredOn { get; }

    /// <summary>What the keeper wrote beside it; may be empty.</summary>
    string Description { get; }
}

/// <summary>A line that takes a wallet or a compartment into use. It has no day: it was there all along.</summary>
public interface ITakesIntoUse : IBookEvent;

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

    /// <summary>What it does besides moving money. A reversal undoes it.</summary>
    IEnumerable<IConsequence> Consequences => [];

    /// <summary>Whether it undoes the line that it corrects, so that its consequences are taken back.</summary>
    bool Undoes => false;

    IEnumerable<string> IBookEvent.About => Postings.Select(p => p.Place.Compartment).Distinct();

    bool IBookEvent.CarriesAmount => true;

    MovementKind? IBookEvent.Listed => Kind;

    Book IBookEvent.WrittenIn(Book book) => book.Move(this);

    string IBookEvent.Mend(long line) => "reverse it, or amend it";
}

/// <summary>What a movement does besides moving money, such as paying a bill that was saved for.</summary>
public interface IConsequence
{
    /// <summary>The book after the movement did it.</summary>
    Book Done(Book book, IMovement movement);

    /// <summary>The book after the movement's reversal undid it.</summary>
    Book Undone(Book book, IMovement reversal);

    /// <summary>
    /// The earlier day that the movement belongs to because of it; null when it belongs to the day on which it stands.
    /// </summary>
    /// <param name="book">The book before the movement.</param>
    /// <param name="movement">The movement, or the reversal that undoes it.</param>
    DateOnly? BelongsTo(Book book, IMovement movement) => null;
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
public readonly record struct Posting(Part Place, Money Amount);

/// <summary>What a movement changes in the notes that somebody carries.</summary>
/// <param name="Handover">The handover's id.</param>
/// <param name="Change">Into the carrier's hands is positive, out of them negative.</param>
public readonly record struct CarriedChange(long Handover, Money Change);

/// <summary>Something a key asks the book to write.</summary>
public interface ICommand
{
    /// <summary>
    /// The lines to write, given the book as it stands. Pure: the same book, day and command give the same lines.
    /// </summary>
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
