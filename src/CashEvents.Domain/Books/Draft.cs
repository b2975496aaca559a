using System.Collections;

namespace CashEvents.Domain.Books;

/// <summary>
/// The lines of an entry while it is decided, with the book after them: a rule that looks at that book asks here, so
/// that each line is applied once.
/// </summary>
/// <param name="before">The book before the first.</param>
/// <param name="today">The household's date.</param>
internal sealed class Draft(Book before, DateOnly today) : IReadOnlyList<IBookEvent>
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

    /// <summary>Adds lines to it.</summary>
    public void Add(IEnumerable<IBookEvent> lines)
    {
        foreach (var line in lines)
        {
            Add(line);
        }
    }

    /// <summary>Adds what a command decides on the book after the lines so far.</summary>
    /// <param name="path">Where it stands in what was sent.</param>
    /// <param name="command">The command.</param>
    /// <param name="unless">A line that need not be written.</param>
    /// <exception cref="RefusalException">It is refused; the field names it by its path.</exception>
    public void Add(string path, ICommand command, Predicate<IBookEvent>? unless = null)
    {
        try
        {
            Add(command.Decide(After, today).Where(line => unless?.Invoke(line) is not true));
        }
        catch (RefusalException refused)
        {
            throw new RefusalException(refused.Refusal.Within(path));
        }
    }

    /// <inheritdoc />
    public IEnumerator<IBookEvent> GetEnumerator() => _lines.GetEnumerator();

    IEnumerator IEnumerable.GetEnumerator() => GetEnumerator();
}
