using System.Collections.Immutable;

namespace CashEvents.Domain.Movements;

/// <summary>Line: the leftover of one compartment moved into another, as part of a sweep.</summary>
/// <param name="From">Where it came from.</param>
/// <param name="To">Where it went.</param>
/// <param name="Amount">Above zero.</param>
/// <param name="OccurredOn">The day.</param>
/// <param name="Description">What was written beside it.</param>
[LineKind("sweep")]
public sealed record Swept(Part From, Part To, Money Amount, DateOnly OccurredOn, string Description) : IReplacement
{
    /// <inheritdoc />
    public MovementKind Kind => MovementKind.Sweep;

    /// <inheritdoc />
    public Correction? Corrects { get; init; }

    /// <inheritdoc />
    public IEnumerable<Posting> Postings => [new(From, -Amount), new(To, Amount)];

    /// <inheritdoc />
    public IReplacement InSteadOf(Correction corrects) => this with { Corrects = corrects };
}

/// <summary>Which compartments are swept: exactly one of the three is set.</summary>
/// <param name="Compartments">These, by id.</param>
/// <param name="Wallet">All in this wallet.</param>
/// <param name="Purpose">All of this purpose.</param>
public sealed record SweepFrom(ImmutableArray<string>? Compartments = null, string? Wallet = null,
    Purpose? Purpose = null);

/// <summary>What a sweep takes.</summary>
public enum SweepTake
{
    /// <summary>All that is there.</summary>
    All,

    /// <summary>What was there before the last fill, less what left since: the fresh notes stay.</summary>
    BroughtForward,
}

/// <summary>What a sweep took of a place, and what it left.</summary>
/// <param name="Place">Where.</param>
/// <param name="Taken">Zero where it was passed over.</param>
/// <param name="Left">What the place held at the end of the day of the sweep.</param>
public sealed record SweptPart(Part Place, Money Taken, Money Left);

/// <summary>
/// Records a sweep: a line for each compartment that has something left; empty and closed ones are passed over, and so
/// is what somebody carries.
/// </summary>
/// <param name="From">Which compartments.</param>
/// <param name="Holding">Which of their holdings.</param>
/// <param name="To">Where all of it goes.</param>
/// <param name="Leave">What to leave in each, in major units as written; nothing if left out.</param>
/// <param name="OccurredOn">The day; today if left out.</param>
/// <param name="Description">What to write beside each line.</param>
public sealed record RecordSweep(SweepFrom From, Holding Holding, Part To, decimal? Leave, DateOnly? OccurredOn,
    string? Description) : IReplacementCommand
{
    /// <summary>What it takes.</summary>
    public SweepTake Take { get; init; }

    /// <summary>
    /// Where only what was brought forward is taken: the first day whose fills are fresh; that of each compartment's
    /// last fill if left out.
    /// </summary>
    public DateOnly? FreshFrom { get; init; }

    /// <inheritdoc />
    public IReplacementCommand DatedOn(DateOnly day) => this with { OccurredOn = day };

    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        var to = To with { Compartment = book.OpenCompartment(To.Compartment, "to.compartment").Id };
        var leave = LeftInEach(book);
        var day = book.Day(OccurredOn, today);
        MustComeBefore(day);
        var description = Words.Description(Description);
        return
        [
            .. Places(book)
                .Select(part => new Swept(part, to,
                    Hands.Unsaid.Within(book, part, Leftover(book, part, day, leave)), day, description))
                .Where(swept => swept.Amount > Money.Zero),
        ];
    }

    /// <summary>What it took of each place that it is of, and left there: of those that it passed over too.</summary>
    /// <param name="before">The book before it.</param>
    /// <param name="after">The book after it.</param>
    /// <param name="today">The household's today.</param>
    public IReadOnlyList<SweptPart> LeftBy(Book before, Book after, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(before);
        ArgumentNullException.ThrowIfNull(after);
        var day = OccurredOn ?? today;
        return [.. Places(before)
            .Select(part => new SweptPart(part, before.BalanceOn(part, day) - after.BalanceOn(part, day),
                after.BalanceOn(part, day)))];
    }

    private Money Leftover(Book book, Part part, DateOnly day, Money leave)
    {
        var most = book.Available(part, day).Closing - leave;
        return Take == SweepTake.BroughtForward && book.BroughtForward(part, day, FreshFrom) is var old && old < most
            ? old
            : most;
    }

    private Money LeftInEach(Book book)
    {
        var leave = book.Currency.Exactly(Leave ?? 0m, "leave");
        return leave >= Money.Zero
            ? leave
            : throw Refusal.Unfit("leave", "leave-negative",
                "`leave` is what stays in each compartment: zero or more.");
    }

    private void MustComeBefore(DateOnly day)
    {
        if (FreshFrom is { } fresh && Take != SweepTake.BroughtForward)
        {
            throw Refusal.Unfit("freshFrom", "fresh-from-not-for-all",
                $"`freshFrom` goes with `take` \"broughtForward\": send that too to leave what was filled from "
                    + $"{fresh:O} on, or leave it out.");
        }

        if (FreshFrom > day)
        {
            throw Refusal.Unfit("freshFrom", "fresh-from-after-sweep",
                $"{FreshFrom:O} is after the day of the sweep, {day:O}: `freshFrom` is the first day whose fills stay "
                    + $"where they are.");
        }
    }

    private IEnumerable<Part> Places(Book book) =>
        Sources(book).Select(source => new Part(source.Id, Holding)).Where(part => part != To);

    private IEnumerable<Compartment> Sources(Book book)
    {
        if (From.Compartments is { } named)
        {
            var sources = named.Select((name, i) => book.OpenCompartment(name, $"from[{i}]")).ToList();
            if (sources.Select((s, i) => (s.Id, i)).GroupBy(s => s.Id).FirstOrDefault(g => g.Count() > 1) is { } twice)
            {
                throw Refusal.Unfit($"from[{twice.Last().i}]", "compartment-twice",
                    $"'{twice.Key}' is in the list twice: name it once.");
            }

            var self = sources.FindIndex(s => new Part(s.Id, Holding) == To);
            return self < 0 ? sources
                : throw Refusal.Unfit($"from[{self}]", "sweep-into-itself",
                    $"'{To.Compartment}' can't be swept into itself: leave it out of `from`.");
        }

        var wallet = From.Wallet is null ? null : book.WalletNamed(From.Wallet, "from.wallet");
        return book.Compartments.Values
            .Where(c => !c.Closed && (wallet is null ? c.Purpose == From.Purpose : c.Wallet == wallet.Id))
            .OrderBy(c => c.Line);
    }
}
