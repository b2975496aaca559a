using System.Collections.Immutable;

namespace CashEvents.Store.Rebuilds;

/// <summary>Books of an older program could not be rebuilt: their figures would be wrong.</summary>
public sealed class UpgradeFailedException : Exception
{
    /// <summary>Says only that some could not.</summary>
    public UpgradeFailedException()
        : this("A book of an older program could not be rebuilt.")
    {
    }

    /// <summary>Says it in the given words.</summary>
    /// <param name="message">The words.</param>
    public UpgradeFailedException(string message)
        : base(message)
    {
    }

    /// <summary>Says it in the given words and keeps the cause.</summary>
    /// <param name="message">The words.</param>
    /// <param name="innerException">The cause.</param>
    public UpgradeFailedException(string message, Exception? innerException)
        : base(message, innerException)
    {
    }

    internal UpgradeFailedException(ImmutableSortedDictionary<string, Exception> books)
        : this($"These books of an older program could not be rebuilt: {string.Join(", ", books.Keys)}.") =>
        Books = books;

    /// <summary>What was the matter, by household.</summary>
    public ImmutableSortedDictionary<string, Exception> Books { get; } =
        ImmutableSortedDictionary<string, Exception>.Empty;
}
