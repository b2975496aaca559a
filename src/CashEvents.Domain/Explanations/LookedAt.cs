using System.Collections.Immutable;

namespace CashEvents.Domain.Explanations;

/// <summary>What is looked at behind a day's counts: the lines, and what they tell of the household.</summary>
internal sealed class LookedAt
{
    private readonly ILookup<long, (BookLine Line, IReplacement Said)> _byAmount;
    private readonly Dictionary<Part, decimal> _linesInPlace = [];

    /// <summary>Looks at some lines.</summary>
    /// <param name="book">The book, whole.</param>
    /// <param name="lines">Lines of the book in date order; within a day as written.</param>
    /// <param name="count">The count that is explained.</param>
    /// <param name="today">The household's date.</param>
    public LookedAt(Book book, IReadOnlyList<BookLine> lines, LastCount count, DateOnly today)
    {
        (Book, Today) = (book, today);
        Standing =
        [
            .. lines.Where(l => l.Event is IReplacement && book.Corrections.By(l.Number) is null)
                .Select(l => (l, (IReplacement)l.Event)),
        ];
        Habits = new Habits([.. lines.Where(l => l.Event is IMovement and not (Reversed or CountSettled)
            && book.Corrections.By(l.Number) is null).Select(l => (IMovement)l.Event)], count.OccurredOn);
        Priors = new Priors(Learnt.From(book, lines));
        Losses = new Losses(book, Habits);
        Faces = Denominations.StillIssued(book.Currency);
        RoundSums =
        [
            .. Faces.Where(f => f.Minor >= 5 * book.Currency.ToMinor && f.Minor <= 100 * book.Currency.ToMinor)
                .SelectMany(f => Enumerable.Range(1, 4).Select(n => n * f.Minor)),
        ];
        _byAmount = Standing.ToLookup(l => Retold.Amount(l.Said).Minor);
        Counted = [.. CountedOn(book, count.OccurredOn).Select(c => CountedPlace.Of(book, c.Place, c.Count, lines))];
        OtherPlaces = Math.Max(1, book.Compartments.Values.Count(c => !c.Closed) - 1);
    }

    public Book Book { get; }

    /// <summary>The household's date: nothing is dated after it.</summary>
    public DateOnly Today { get; }

    public Habits Habits { get; }

    public Priors Priors { get; }

    public Losses Losses { get; }

    /// <summary>How many minor units a whole one has; a hundred where the currency has none.</summary>
    public long Unit => Book.Currency.ToMinor > 1m ? (long)Book.Currency.ToMinor : 100;

    /// <summary>Notes and coins, largest first.</summary>
    public ImmutableArray<Money> Faces { get; }

    /// <summary>One to four notes of a value.</summary>
    public ImmutableHashSet<long> RoundSums { get; }

    /// <summary>How likely a round sum is just this one.</summary>
    public decimal ShareOfRoundSums(Money amount) =>
        RoundSums.Contains(Math.Abs(amount.Minor)) ? 1m / RoundSums.Count : 0m;

    /// <summary>
    /// What was counted on that day and is not settled, in the order in which compartments were opened.
    /// </summary>
    public ImmutableArray<CountedPlace> Counted { get; }

    /// <summary>Movements that stand and could have been written otherwise.</summary>
    public ImmutableArray<(BookLine Line, IReplacement Said)> Standing { get; }

    public int OtherPlaces { get; }

    /// <summary>Those that move just so much, either way.</summary>
    public IEnumerable<(BookLine Line, IReplacement Said)> Moving(Money amount) =>
        _byAmount[Math.Abs(amount.Minor)];

    /// <summary>How many lines a place has in the days of another's count, about.</summary>
    public decimal LinesIn(Part place, CountedPlace beside)
    {
        if (!_linesInPlace.TryGetValue(place, out var perDay))
        {
            _linesInPlace.Add(place, perDay = Habits.PerDay(place));
        }

        return perDay * beside.Days;
    }

    private static IEnumerable<(Part Place, LastCount Count)> CountedOn(Book book, DateOnly day) =>
        from compartment in book.Compartments.Values.OrderBy(c => c.Line)
        from holding in Enum.GetValues<Holding>()
        let place = new Part(compartment.Id, holding)
        let count = book.LastCount(place)
        where count is { Settled: false } && count.OccurredOn == day
        select (place, count);
}
