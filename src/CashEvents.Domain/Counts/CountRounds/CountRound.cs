using System.Collections.Immutable;

namespace CashEvents.Domain.Counts;

/// <summary>
/// A round in which the cash of several compartments is counted, one after another, while the household goes on. It is
/// open until it is closed.
/// </summary>
/// <param name="Id">The line that opened it.</param>
/// <param name="Wallet">The wallet whose compartments are counted; null for any.</param>
/// <param name="Purpose">The purpose whose compartments are counted; null for any.</param>
/// <param name="Blind">Whoever counts is not told what is expected until the figure is in.</param>
/// <param name="Compartments">What is to be counted, in the order of the household's lists.</param>
public sealed record CountRound(long Id, string? Wallet, Purpose? Purpose, bool Blind,
    ImmutableArray<RoundCompartment> Compartments)
{
    /// <summary>A compartment of the round; null when it is not in it.</summary>
    public RoundCompartment? Find(string compartment) => Compartments.FirstOrDefault(c => c.Id == compartment);

    /// <summary>
    /// Compartments without a figure. One that has gone out of use since is empty and need not be counted.
    /// </summary>
    public IEnumerable<string> ToCount(Book book) =>
        Compartments.Where(c => c.Count is null && !book.Compartments[c.Id].Closed).Select(c => c.Id);

    internal CountRound With(string compartment, Func<RoundCompartment, RoundCompartment> change) =>
        this with { Compartments = [.. Compartments.Select(c => c.Id == compartment ? change(c) : c)] };
}

/// <summary>A compartment in a round of counts.</summary>
/// <param name="Id">Its id.</param>
/// <param name="KnownSince">Every movement after this line is in <see cref="Moved"/>: a count can be compared with the
/// balance of any line from here on.</param>
public sealed record RoundCompartment(string Id, long KnownSince)
{
    /// <summary>
    /// The most movements that are kept for one compartment, so that a round that is forgotten does not grow for ever.
    /// </summary>
    public const int MostMoved = 200;

    /// <summary>Its figure; null until it is in.</summary>
    public RoundCount? Count { get; init; }

    /// <summary>Counts of this round that a later one stands in the stead of, in order.</summary>
    public ImmutableArray<long> Earlier { get; init; } = [];

    /// <summary>
    /// What came and went since the round was opened, in the order of the lines. What a settlement posts is left out:
    /// it was found there, and not moved.
    /// </summary>
    public ImmutableArray<MovedMeanwhile> Moved { get; init; } = [];

    internal RoundCompartment Note(MovedMeanwhile moved) => Moved.Length < MostMoved
        ? this with { Moved = Moved.Add(moved) }
        : this with { Moved = Moved.RemoveAt(0).Add(moved), KnownSince = Moved[0].Line };

    internal RoundCompartment Counted(RoundCount count) =>
        this with { Count = count, Earlier = Count is { } before ? Earlier.Add(before.Line) : Earlier };

    /// <summary>
    /// What was in the compartment when it was counted, given what should be there at the end of its day by now.
    /// </summary>
    /// <param name="expected">What should be there at the end of the day of the count, by all lines.</param>
    /// <param name="day">The day of the count.</param>
    /// <param name="atLine">The last line that was written when it was counted.</param>
    internal Money ExpectedAt(Money expected, DateOnly day, long atLine)
    {
        var later = Moved.Where(m => m.Line > atLine).ToList();
        return expected - Sum(later.Where(m => m.BelongsTo <= day)) + Sum(later.Where(m => m.WasThere(day, atLine)));

        static Money Sum(IEnumerable<MovedMeanwhile> moved) => moved.Aggregate(Money.Zero, (sum, m) => sum + m.Change);
    }

    /// <summary>What came or went, or was exchanged, after a count and before its figure was written.</summary>
    internal IEnumerable<MovedMeanwhile> MovedAfter(DateOnly day, long atLine) =>
        Moved.Where(m => m.Line > atLine && !m.WasThere(day, atLine));
}

/// <summary>A figure of a round.</summary>
/// <param name="Line">The line of the count, which is also its id.</param>
/// <param name="AtLine">The last line that was written when it was counted.</param>
/// <param name="By">Name of the key that wrote it.</param>
/// <param name="ConfirmedBy">Name of another key that confirmed it.</param>
public sealed record RoundCount(long Line, long AtLine, string By, string? ConfirmedBy = null);

/// <summary>A movement of cash in a compartment while a round is open.</summary>
/// <param name="Line">Its line.</param>
/// <param name="BelongsTo">The day that it belongs to; for a correction of a closed month, not the day on which it
/// stands.</param>
/// <param name="Change">In is positive, out negative; nothing for notes exchanged.</param>
/// <param name="Origin">For a correction, the first of the lines that it corrects.</param>
public sealed record MovedMeanwhile(long Line, DateOnly BelongsTo, Money Change, long? Origin)
{
    /// <summary>Whether a count of a day should have found it although it was written down later.</summary>
    internal bool WasThere(DateOnly day, long atLine) => LastCount.ShouldHaveFound(day, atLine, BelongsTo, Origin);
}

/// <summary>Where a count of a round stands in the book.</summary>
/// <param name="Round">The round's id.</param>
/// <param name="AtLine">The last line that was written when it was counted; the count's own line is later where the
/// figure was written later.</param>
/// <param name="By">Name of the key that wrote it, since the same can't confirm it.</param>
public sealed record CountedInRound(long Round, long AtLine, string By);

/// <summary>Line: a round of counts is opened.</summary>
/// <param name="Compartments">What is to be counted.</param>
/// <param name="Wallet">The wallet it was asked for.</param>
/// <param name="Purpose">The purpose it was asked for.</param>
/// <param name="Blind">Expected balances are not told until a figure is in.</param>
[LineKind("countRound")]
public sealed record CountRoundOpened(ImmutableArray<string> Compartments, string? Wallet, Purpose? Purpose, bool Blind)
    : IBookEvent
{
    /// <inheritdoc />
    public MovementKind? Listed => MovementKind.Count;

    /// <inheritdoc />
    public IEnumerable<string> About => Compartments;

    internal CountRound At(long line) =>
        new(line, Wallet, Purpose, Blind, [.. Compartments.Select(c => new RoundCompartment(c, line))]);

    /// <inheritdoc />
    public Book WrittenIn(Book book) =>
        CountsInBook.Rounds.Change(book, rounds => rounds.Add(book.Line + 1, At(book.Line + 1)));

    /// <inheritdoc />
    public string Mend(long line) => $"close the round with {Act.CloseCountRound.Way(line)}";
}

/// <summary>A count that a second person confirms.</summary>
/// <param name="Compartment">The compartment counted.</param>
/// <param name="Count">The line of the count.</param>
public sealed record ConfirmedCount(string Compartment, long Count);

/// <summary>Line: a second person confirms figures of a round.</summary>
/// <param name="Round">The round's id.</param>
/// <param name="Counts">What is confirmed.</param>
/// <param name="By">Name of the key that confirms, another than those that wrote the figures.</param>
[LineKind("countsConfirmed")]
public sealed record CountsConfirmed(long Round, ImmutableArray<ConfirmedCount> Counts, string By) : IBookEvent
{
    /// <inheritdoc />
    public MovementKind? Listed => MovementKind.Count;

    /// <inheritdoc />
    public IEnumerable<string> About => Counts.Select(c => c.Compartment);

    /// <inheritdoc />
    public Book WrittenIn(Book book) => Counts.Aggregate(
        book, (b, c) => b.InRound(Round, c.Compartment,
            counted => counted with { Count = counted.Count! with { ConfirmedBy = By } }));

    /// <inheritdoc />
    public string Mend(long line) => "count again, and the new count is not confirmed";
}

/// <summary>The figure with which a compartment left a round.</summary>
/// <param name="Compartment">The compartment.</param>
/// <param name="Count">Its figure; null when it was not counted.</param>
/// <param name="Earlier">Counts of the round that the figure stands in the stead of.</param>
public sealed record RoundResult(string Compartment, RoundCount? Count, ImmutableArray<long> Earlier);

/// <summary>Line: a round of counts is closed, whether or not all was counted.</summary>
/// <param name="Round">The round's id.</param>
/// <param name="Results">Each compartment, in the order of the round.</param>
/// <param name="Reason">What was written beside it: why it was closed although something was not counted. May be
/// empty.</param>
[LineKind("countRoundClosed")]
public sealed record CountRoundClosed(long Round, ImmutableArray<RoundResult> Results, string Reason) : IBookEvent
{
    /// <inheritdoc />
    public MovementKind? Listed => MovementKind.Count;

    /// <inheritdoc />
    public Book WrittenIn(Book book) => CountsInBook.Rounds.Change(book, rounds => rounds.Remove(Round));

    /// <inheritdoc />
    public string Mend(long line) => $"open another round with {Act.OpenCountRound.Way()}";
}
