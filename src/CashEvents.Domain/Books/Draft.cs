using System.Collections;

namespace CashEvents.Domain.Books;

/// <summary>
/// The lines of an entry while it is decided, with the book after them: a rule that looks at that book asks here, so
/// that each line is applied once.
/// </summary>
/// <param name="before">The book before the first.</param>
internal sealed class Draft(Book before) : IReadOnlyList<IBookEvent>
{
    private readonly List<IBookEvent> _lines = [];

    /// <summary>The book before the first line.</summary>
    public Book Before { get; } = before;

    /// <summary>The book after the last line.</summary>
    public Book After { get; private set; } = before;

    /// <inheritdoc />
    public int Count => _lines.Count;

    /// <inheritdoc />
    public IBookEvent this[int index] => _lines[index];

    /// <summary>Adds a line to it.</summary>
    public void Add(IBookEvent line)
    {
        After = After.Apply(line);
        _lines.Add(line);
    }

    /// <inheritdoc />
    public IEnumerator<IBookEvent> GetEnumerator() => _lines.GetEnumerator();

    IEnumerator IEnumerable.GetEnumerator() => GetEnumerator();
}
