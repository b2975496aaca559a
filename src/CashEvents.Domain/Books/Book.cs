using System.Collections.Immutable;

namespace CashEvents.Domain.Books;

/// <summary>A household's book as its lines leave it. Never changed: applying a line gives the next book.</summary>
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
    public ImmutableDictionary<string, Compartment> Compartments { get; init; } = ImmutableDictionary<string, Compartment>.Empty;

    /// <summary>Keys by name, revoked ones too.</summary>
    public ImmutableDictionary<string, Key> Keys { get; init; } = ImmutableDictionary<string, Key>.Empty;

    /// <summary>Who pays, by id.</summary>
    public ImmutableDictionary<string, IncomeSource> IncomeSources { get; init; } = ImmutableDictionary<string, IncomeSource>.Empty;

    /// <summary>What leaves the bank again and again, by id.</summary>
    public ImmutableDictionary<string, StandingPayment> StandingPayments { get; init; } = ImmutableDictionary<string, StandingPayment>.Empty;

    /// <summary>Closing balances by day of every place that money has been in.</summary>
    public ImmutableDictionary<Place, DailyBalances> Days { get; init; } = ImmutableDictionary<Place, DailyBalances>.Empty;

    /// <summary>What came into each place, by day.</summary>
    public ImmutableDictionary<Place, CameIn> CameIn { get; init; } = ImmutableDictionary<Place, CameIn>.Empty;

    /// <summary>Lines that are undone, or stood in the stead of, with the line that did it: each once.</summary>
    public CorrectedLines Corrections { get; init; } = CorrectedLines.None;

    /// <summary>What corrections of closed months and settlements change later than on the day that it belongs to.</summary>
    public ImmutableList<LateCorrection> LateCorrections { get; init; } = [];

    /// <summary>What is planned for spending compartments, week by week.</summary>
    public Plan Plan { get; init; } = Plan.Empty;

    /// <summary>Goals of sinking funds by id.</summary>
    public ImmutableDictionary<string, Goal> Goals { get; init; } = ImmutableDictionary<string, Goal>.Empty;

    /// <summary>How sinking funds are kept, by compartment, where it was said.</summary>
    public ImmutableDictionary<string, FundTerms> FundTerms { get; init; } = ImmutableDictionary<string, FundTerms>.Empty;

    /// <summary>Saving plans by compartment.</summary>
    public ImmutableDictionary<string, SavingPlan> SavingPlans { get; init; } = ImmutableDictionary<string, SavingPlan>.Empty;

    /// <summary>How compartments are filled on paydays, by compartment, where it was said.</summary>
    public ImmutableDictionary<string, FillRule> FillRules { get; init; } = ImmutableDictionary<string, FillRule>.Empty;

    /// <summary>When the program fills by itself; null while it does not.</summary>
    public AutomaticFills? AutomaticFills { get; init; }

    /// <summary>What became of paydays, by bank day, where a run filled or left them.</summary>
    public ImmutableSortedDictionary<DateOnly, PaydayMark> FillRuns { get; init; } = ImmutableSortedDictionary<DateOnly, PaydayMark>.Empty;

    /// <summary>Rounds of counts that are open, by id; a compartment is in one at most.</summary>
    public ImmutableDictionary<long, CountRound> CountRounds { get; init; } = ImmutableDictionary<long, CountRound>.Empty;

    /// <summary>Cash that is carried and not back yet, by compartment: one person at a time carries from each.</summary>
    public ImmutableDictionary<string, Handover> Handovers { get; init; } = ImmutableDictionary<string, Handover>.Empty;

    /// <summary>Where wallets lie, by id.</summary>
    public ImmutableDictionary<string, NamedPlace> Places { get; init; } = ImmutableDictionary<string, NamedPlace>.Empty;

    /// <summary>Above which amounts of cash the household would be cautioned; null when it never said.</summary>
    public CautionLimits? CautionLimits { get; init; }

    /// <summary>The last statement of the bank; null when none was read.</summary>
    public BankStatement? BankStatement { get; init; }

    /// <summary>The months in which nothing changes any more; null while none is closed.</summary>
    public ClosedMonths? ClosedMonths { get; init; }

    /// <summary>Lines that were stamped by a clock that was ahead, in order; null while there are none.</summary>
    public ImmutableList<LinesAhead>? LinesAhead { get; init; }

    /// <summary>Whether any line carries an amount.</summary>
    public bool HasAmounts { get; init; }

    /// <summary>The line that says of another that it was stamped by a clock that was ahead; null when none does.</summary>
    public long? SaidAhead(long line) => LinesAhead?.Find(ahead => line >= ahead.FromLine && line <= ahead.ToLine)?.Line;

    /// <summary>The lines that a command writes, and the book after them.</summary>
    /// <exception cref="RefusalException">A rule forbids it, or the amounts would add up to more than 64 bits of minor units.</exception>
    public (IReadOnlyList<IBookEvent> Lines, Book After) Decide(ICommand command, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(command);
        try
        {
            var lines = command.Decide(this, today);
            return (lines, lines.Aggregate(this, (book, line) => book.Apply(line)));
        }
        catch (OverflowException)
        {
            throw Refusal.Conflict("too-much", "The amounts of this book would add up to more than it can hold.");
        }
    }
}
