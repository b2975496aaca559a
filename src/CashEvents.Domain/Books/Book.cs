using System.Collections.Immutable;

namespace CashEvents.Domain.Books;

/// <summary>
/// A household's book as its lines leave it. Never changed: applying a line gives the next book. It knows what every
/// rule of movements needs, the
/// household, its compartments, balances and corrections; whatever else it keeps stands in sections that the rooms of
/// the domain name.
/// </summary>
public sealed partial record Book
{
    /// <summary>The book before its first line.</summary>
    public static Book Empty { get; } = new();

    /// <summary>Number of the last line; 0 when there is none.</summary>
    public long Line { get; init; }

    /// <summary>Who owns it; null before the first line.</summary>
    public Household? Household { get; init; }

    /// <summary>Wallets by id.</summary>
    public ImmutableDictionary<string, Wallet> Wallets { get; init; } = ImmutableDictionary<string, Wallet>.Empty;

    /// <summary>Compartments by id, with their balances.</summary>
    public ImmutableDictionary<string, Compartment> Compartments { get; init; } =
        ImmutableDictionary<string, Compartment>.Empty;

    /// <summary>The months in which nothing changes any more; null while none is closed.</summary>
    public ClosedMonths? ClosedMonths { get; init; }

    /// <summary>Lines that were stamped by a clock that was ahead, in order; null while there are none.</summary>
    public ImmutableList<LinesAhead>? LinesAhead => BalancesInBook.LinesAhead.In(this);

    /// <summary>Whether any line carries an amount.</summary>
    public bool HasAmounts { get; init; }

    /// <summary>What the rooms of the domain keep, where a line spoke of it.</summary>
    public ImmutableDictionary<Section, object?> Sections { get; init; } = ImmutableDictionary<Section, object?>.Empty;

    /// <summary>The sections that it was loaded without: it can't be asked for them.</summary>
    public ImmutableHashSet<Section> NotLoaded { get; init; } = [];

    /// <summary>Closing balances by day of every place that money has been in.</summary>
    public ImmutableDictionary<Part, DailyBalances> Days => BalancesInBook.Days.In(this);

    /// <summary>Lines that are undone, or stood in the stead of, with the line that did it: each once.</summary>
    public CorrectedLines Corrections => BalancesInBook.Corrections.In(this);

    /// <summary>
    /// What corrections of closed months and settlements change later than on the day that it belongs to.
    /// </summary>
    public ImmutableList<LateCorrection> LateCorrections => BalancesInBook.LateCorrections.In(this);

    /// <summary>
    /// The line that says of another that it was stamped by a clock that was ahead; null when none does.
    /// </summary>
    public long? SaidAhead(long line) =>
        LinesAhead?.Find(ahead => line >= ahead.FromLine && line <= ahead.ToLine)?.Line;

    /// <summary>The book with something else in one of its sections.</summary>
    public Book With<T>(Section<T> section, T kept) =>
        this with { Sections = Sections.SetItem(section, kept), NotLoaded = NotLoaded.Remove(section) };

    /// <summary>Whether it was loaded without a section.</summary>
    internal bool Lacks(Section section) => NotLoaded.Contains(section);

    /// <summary>The lines that a command writes, and the book after them.</summary>
    /// <exception cref="RefusalException">A rule forbids it, or the amounts would add up to more than 64 bits of minor
    /// units.</exception>
    public (IReadOnlyList<IBookEvent> Lines, Book After) Decide(ICommand command, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(command);
        try
        {
            var lines = command.Decide(this, today);
            return (lines, lines is Draft entry
                ? entry.After : lines.Aggregate(this, (book, line) => book.Apply(line)));
        }
        catch (OverflowException)
        {
            throw Refusal.Conflict("too-much", "The amounts of this book would add up to more than it can hold.");
        }
    }
}
