using System.Reflection;

namespace CashEvents.Domain.Books;

/// <summary>
/// One thing that a book keeps besides balances, such as its goals or its open rounds of counts. Each room of the
/// domain names its own,
/// so that the book knows none of them; a book that was loaded without one can't be asked for it.
/// </summary>
public abstract class Section
{
    private static readonly Lazy<IReadOnlyList<Section>> _all = new(Found);

    private protected Section(string name, bool growsWithTheBook) =>
        (Name, GrowsWithTheBook) = (name, growsWithTheBook);

    /// <summary>Every section that a room has named, by name.</summary>
    public static IReadOnlyList<Section> All => _all.Value;

    /// <summary>Its name, also where it is stored.</summary>
    public string Name { get; }

    /// <summary>
    /// Whether it grows with every line, so that it is stored in tables of its own and not on one page.
    /// </summary>
    public bool GrowsWithTheBook { get; }

    /// <summary>The type of what it keeps.</summary>
    public abstract Type Kept { get; }

    /// <summary>What it keeps in a book that never heard of it.</summary>
    public abstract object? Blank { get; }

    /// <summary>The book after a movement, as far as this section follows movements.</summary>
    internal abstract Book Follow(Posted posted);

    /// <summary>The book with what of this section goes along in a copy.</summary>
    internal abstract Book Carry(Book book, CopiedFrom from);

    /// <summary>Why a compartment can't be closed while this section keeps what it does; null when it can.</summary>
    internal abstract Refusal? WhyInUse(Book book, string compartment);

    private static List<Section> Found()
    {
        var sections = typeof(Section).Assembly.GetTypes().Where(type => type is { IsAbstract: true, IsSealed: true })
            .SelectMany(type => type.GetFields(BindingFlags.Static | BindingFlags.Public | BindingFlags.NonPublic))
            .Where(field => field.FieldType.IsAssignableTo(typeof(Section)))
            .Select(field => (Section)field.GetValue(null)!)
            .OrderBy(section => section.Name, StringComparer.Ordinal).ToList();
        return sections.Select(section => section.Name).Distinct().Count() == sections.Count ? sections
            : throw new InvalidOperationException("Two sections of the book have one name.");
    }
}

/// <summary>A section that keeps a value.</summary>
/// <typeparam name="T">What it keeps; never changed in place.</typeparam>
/// <param name="name">Its name, also where it is stored.</param>
/// <param name="blank">What it keeps before any line speaks of it.</param>
/// <param name="growsWithTheBook">Whether it grows with every line.</param>
public sealed class Section<T>(string name, T blank, bool growsWithTheBook = false) : Section(name, growsWithTheBook)
{
    /// <summary>What a movement changes in it, where it follows movements.</summary>
    internal Func<T, Posted, T>? Follows { get; init; }

    /// <summary>What of it goes along in a copy of the book; all of it if null.</summary>
    internal Func<T, CopiedFrom, T>? GoesAlong { get; init; }

    /// <inheritdoc />
    public override Type Kept => typeof(T);

    /// <inheritdoc />
    public override object? Blank => blank;

    /// <summary>Why a compartment can't be closed while this is kept; null for no reason.</summary>
    internal Func<T, string, Refusal?>? KeepsInUse { get; init; }

    /// <summary>What a book keeps in it.</summary>
    /// <exception cref="InvalidOperationException">The book was loaded without it.</exception>
    public T In(Book book) =>
        book.Sections.TryGetValue(this, out var kept) ? (T)Unread.Read(kept)!
            : book.Lacks(this) ? throw Missing(book) : blank;

    /// <summary>The book with something else in it.</summary>
    public Book On(Book book, T kept) => book.With(this, kept);

    /// <summary>The book with what is in it changed.</summary>
    /// <exception cref="InvalidOperationException">The book was loaded without it.</exception>
    public Book Change(Book book, Func<T, T> change) => book.With(this, change(In(book)));

    internal override Refusal? WhyInUse(Book book, string compartment) => KeepsInUse?.Invoke(In(book), compartment);

    internal override Book Carry(Book book, CopiedFrom from) =>
        GoesAlong is null ? book : On(book, GoesAlong(In(book), from));

    internal override Book Follow(Posted posted)
    {
        if (Follows is null)
        {
            return posted.After;
        }

        var kept = In(posted.After);
        var next = Follows(kept, posted);
        return ReferenceEquals(kept, next) ? posted.After : On(posted.After, next);
    }

    private InvalidOperationException Missing(Book book) =>
        new($"The book at line {book.Line} was loaded without its {Name}: load it whole, or as far as the {Name}.");
}

/// <summary>A movement as it has just been posted.</summary>
/// <param name="Movement">The movement.</param>
/// <param name="Line">Its line.</param>
/// <param name="Before">The book before it.</param>
/// <param name="After">The book after it; sections that follow it later are still as they were.</param>
internal readonly record struct Posted(IMovement Movement, long Line, Book Before, Book After)
{
    /// <summary>
    /// The day that it belongs to; for a correction of a closed month, not the day on which it stands.
    /// </summary>
    public DateOnly BelongsTo => Movement.Corrects?.ClosedDay ?? Movement.OccurredOn;

    /// <summary>For a correction, the first of the lines that it corrects.</summary>
    public long? Origin => Movement.Corrects is { } corrects ? Before.Corrections.Origin(corrects.Line) : null;
}
