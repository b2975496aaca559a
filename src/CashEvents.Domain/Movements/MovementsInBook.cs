using System.Collections.Immutable;

namespace CashEvents.Domain.Movements;

/// <summary>What the book keeps of movements besides balances.</summary>
public static class MovementsInBook
{
    /// <summary>What came into each place, by day.</summary>
    public static readonly Section<ImmutableDictionary<Part, CameIn>> CameIn =
        new("came in", ImmutableDictionary<Part, CameIn>.Empty,
            growsWithTheBook: true)
        {
            Follows =
                (cameIn, posted) => Domain.Movements.CameIn.After(cameIn, posted.Movement),
            // Only a sweep asks, and it looks back further than a copy does.
            GoesAlong = (cameIn, _) => cameIn.Clear(),
        };

    extension(Book book)
    {
        /// <summary>What came into each place, by day.</summary>
        public ImmutableDictionary<Part, CameIn> CameIn => CameIn.In(book);

        /// <summary>
        /// What lies in a place at the end of a day of what was brought forward: its balance less what came in fresh;
        /// below zero where more than that has left it.
        /// </summary>
        /// <param name="part">Compartment and holding.</param>
        /// <param name="day">The day.</param>
        /// <param name="freshFrom">The first day whose fills are fresh; that of the last fill up to the day if
        /// null.</param>
        internal Money BroughtForward(Part part, DateOnly day, DateOnly? freshFrom) =>
            book.BalanceOn(part, day)
                - (book.CameIn.TryGetValue(part, out var cameIn) ? cameIn.Fresh(day, freshFrom) : Money.Zero);
    }
}
