namespace CashEvents.Domain.Books;

/// <summary>
/// What a section keeps, before anybody has asked for it. On a phone most of the time to open a copy went into
/// sections that nothing on the first view speaks of.
/// </summary>
/// <param name="read">Reads it.</param>
internal sealed class Unread(Func<object?> read)
{
    private readonly Lazy<object?> _kept = new(read);

    /// <summary>What is kept; read now if it was not.</summary>
    public static object? Read(object? kept) => kept is Unread unread ? unread._kept.Value : kept;
}
