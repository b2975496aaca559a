namespace CashEvents.Domain.Books;

/// <summary>One line of the book with who wrote it and when.</summary>
/// <param name="Number">1 for the first, without gaps.</param>
/// <param name="EntryId">Number of the first line of the entry it was written with.</param>
/// <param name="RecordedAt">The instant (UTC) at which it was written.</param>
/// <param name="By">Name of the key that wrote it.</param>
/// <param name="Event">What it says.</param>
public sealed record BookLine(long Number, long EntryId, DateTimeOffset RecordedAt, string By, IBookEvent Event)
{
    /// <summary>
    /// Its hash, which covers it and every line before it; null when it was written before lines had one.
    /// </summary>
    public string? Hash { get; init; }

    /// <summary>The reversal that undoes it, by what is known now.</summary>
    public long? ReversedBy { get; init; }

    /// <summary>The line that stands in its stead, by what is known now.</summary>
    public long? AmendedBy { get; init; }
}
