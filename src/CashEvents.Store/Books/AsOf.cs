namespace CashEvents.Store.Books;

/// <summary>
/// The two times of a book: up to which line, or up to which instant, it is read; and at the end of which day. What is
/// left out does not narrow; both together say what the book said then of that day.
/// </summary>
/// <param name="On">At the end of this day of the household's calendar.</param>
/// <param name="AtLine">As its line of this number left it.</param>
/// <param name="At">As the last line recorded by this instant left it; not together with
/// <paramref name="AtLine"/>.</param>
public sealed record AsOf(DateOnly? On = null, long? AtLine = null, DateTimeOffset? At = null)
{
    /// <summary>Now.</summary>
    public static AsOf Now { get; } = new();

    /// <summary>Whether the book is to be read as it stood at an earlier line.</summary>
    public bool IsEarlier => AtLine is not null || At is not null;
}
