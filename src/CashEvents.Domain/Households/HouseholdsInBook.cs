using System.Collections.Immutable;

namespace CashEvents.Domain.Households;

/// <summary>What the book keeps of who may write in it.</summary>
public static class HouseholdsInBook
{
    /// <summary>Keys, revoked ones too.</summary>
    public static readonly Section<ImmutableDictionary<string, Key>> Keys = new("keys",
        ImmutableDictionary<string, Key>.Empty)
    {
        // By what a key is known stays where it is.
        GoesAlong = (keys, _) => keys.ToImmutableDictionary(k => k.Key, k => k.Value with { Hash = "" }),
    };

    extension(Book book)
    {
        /// <summary>Keys by name, revoked ones too.</summary>
        public ImmutableDictionary<string, Key> Keys => Keys.In(book);
    }
}
