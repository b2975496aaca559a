using System.Collections.Immutable;
using System.Numerics;

namespace CashEvents.Domain.Paydays;

/// <summary>An amount that a compartment is to get in notes and coins.</summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Amount">Above zero.</param>
/// <param name="Wishes">In which notes it would have it.</param>
public sealed record Target(string Compartment, Money Amount, NoteWishes Wishes);

/// <summary>Amounts to be packed from one stack of notes and coins, and from what a bank gives besides.</summary>
/// <param name="Targets">One for each compartment.</param>
/// <param name="InHand">The stack.</param>
/// <param name="FromBank">Values that may be asked for, as many as are needed; empty when there is only the
/// stack.</param>
public sealed record PackingTask(ImmutableArray<Target> Targets, ImmutableArray<Pieces> InHand,
    ImmutableArray<Money> FromBank)
{
    /// <summary>The most compartments packed at a time.</summary>
    public const int MostTargets = 60;

    /// <summary>
    /// The largest amount packed into one compartment, 10,000,000 minor units: 100,000.00 where there are two decimals.
    /// </summary>
    public static Money LargestTarget { get; } = new(10_000_000);

    // Notes and coins as they are issued have shorter ones.
    private const int LongestRound = 20;

    /// <summary>The values that there may be, largest first.</summary>
    public ImmutableArray<Money> Values { get; } =
        [.. InHand.Select(p => p.Value).Concat(FromBank).Distinct().OrderDescending()];

    /// <summary>A task as it is written.</summary>
    /// <param name="book">The book whose compartments are meant; their wishes are those it has.</param>
    /// <param name="amounts">Amount by compartment, in major units.</param>
    /// <param name="inHand">How many of each value are in the stack.</param>
    /// <param name="fromBank">Values that may be asked for.</param>
    /// <exception cref="RefusalException">A compartment, amount or value that is not known or does not fit.</exception>
    public static PackingTask Read(Book book, IReadOnlyDictionary<string, decimal> amounts,
        IReadOnlyDictionary<string, long> inHand, ImmutableArray<Money> fromBank) => new(
        [
            .. amounts.Select(a => (Compartment: book.OpenCompartment(a.Key, $"amounts.{a.Key}"),
                Amount: Amount(book, a.Value, $"amounts.{a.Key}")))
                .OrderBy(a => a.Compartment.Line)
                .Select(a => new Target(a.Compartment.Id, a.Amount, book.NoteWishesOf(a.Compartment.Id))),
        ],
        Denominations.Read(book.Currency, inHand, "inHand"),
        fromBank);

    private static Money Amount(Book book, decimal written, string field)
    {
        var amount = book.Amount(written, field);
        return amount <= LargestTarget
            ? amount
            : throw Refusal.Unfit(field, "amount-too-large",
                $"One compartment is packed with at most {book.Say(LargestTarget)} at a time.");
    }

    /// <summary>How many pieces of a value are in the stack.</summary>
    public int Held(Money value) => InHand.Where(p => p.Value == value).Sum(p => p.Count);

    /// <summary>
    /// By how much the stack is worth less than the amounts together; zero or below when it is enough.
    /// </summary>
    public Money Missing => new(Targets.Sum(t => t.Amount.Minor) - Denominations.Total(InHand).Minor);

    /// <summary>
    /// No packing is nearer to the amounts together than this, zero or more: whatever larger pieces are packed, they
    /// come to a multiple of their greatest common divisor,
    /// and only pieces of the smallest value make up the remainders, of which there are only so many.
    /// </summary>
    public Money NeverNearer()
    {
        if (Values.Length < 2)
        {
            return Money.Zero;
        }

        var (smallest, step) = (Values[^1].Minor,
            Values[..^1].Aggregate(0L,
                (divisor, value) => (long)BigInteger.GreatestCommonDivisor(divisor, value.Minor)));
        // After so many of the smallest the remainders come again.
        var round = step / (long)BigInteger.GreatestCommonDivisor(step, smallest);
        if (round > LongestRound)
        {
            return Money.Zero;
        }

        var most = (int)Math.Min(FromBank.Contains(Values[^1]) ? int.MaxValue : Held(Values[^1]),
            Targets.Length * (round - 1));
        // The least by which the targets so far are missed together, by how many of the smallest there are for them.
        var least = new long[most + 1];
        foreach (var target in Targets)
        {
            for (var there = most; there >= 0; there--)
            {
                least[there] = Enumerable.Range(0, (int)Math.Min(round, there + 1))
                    .Min(taken => least[there - taken] + Off(target.Amount.Minor - (taken * smallest)));
            }
        }

        return new Money(least[most]);

        long Off(long amount)
        {
            var over = ((amount % step) + step) % step;
            return Math.Min(over, step - over);
        }
    }
}

/// <summary>Which notes and coins go where.</summary>
/// <param name="Task">What was to be packed.</param>
/// <param name="Contents">The pieces of each target, in the order of the targets, largest first.</param>
/// <param name="IsProvenBest">Whether it is known that no packing is better; otherwise it is the best that was found in
/// the time given.</param>
/// <remarks>
/// One packing is better than another if, in this order, it is nearer to the amounts, misses fewer pieces that are
/// needed, has fewer pieces that are to be avoided,
/// asks the bank for less money (what is in hand is used first), has less in other notes where some are preferred, asks
/// the bank for fewer pieces, packs fewer pieces.
/// </remarks>
public sealed record Packing(PackingTask Task, ImmutableArray<ImmutableArray<Pieces>> Contents, bool IsProvenBest)
{
    /// <summary>Whether each compartment gets its amount.</summary>
    public bool IsExact => Task.Targets.Zip(Contents).All(t => Denominations.Total(t.Second) == t.First.Amount);

    /// <summary>Refuses a packing in which a compartment does not get its amount to the last coin.</summary>
    /// <param name="book">The book whose compartments are packed.</param>
    /// <param name="field">The field at fault, of a compartment.</param>
    /// <exception cref="RefusalException">One does not.</exception>
    public void MustBeExact(Book book, Func<string, string> field)
    {
        ArgumentNullException.ThrowIfNull(book);
        ArgumentNullException.ThrowIfNull(field);
        foreach (var (target, pieces) in Task.Targets.Zip(Contents))
        {
            if (Denominations.Total(pieces) is var made && made != target.Amount)
            {
                throw Refusal.Unfit(field(target.Compartment), "amount-not-in-notes",
                    $"'{target.Compartment}' is to get {book.Say(target.Amount)}, and the nearest that can be made up "
                        + $"is {book.Say(made)}: change the amount, or name smaller pieces in `denominations`.");
            }
        }
    }

    /// <summary>The pieces to ask the bank for, largest first.</summary>
    public ImmutableArray<Pieces> Asked => Beside((used, held) => used - held);

    /// <summary>The pieces of the stack that are left over, largest first.</summary>
    public ImmutableArray<Pieces> Left => Beside((used, held) => held - used);

    private ImmutableArray<Pieces> Beside(Func<int, int, int> count) =>
    [
        .. Task.Values
            .Select(value => new Pieces(value,
                count(Contents.Sum(c => c.Where(p => p.Value == value).Sum(p => p.Count)), Task.Held(value))))
            .Where(p => p.Count > 0),
    ];
}

/// <summary>Pieces of the stack to change at a shop, so that each compartment can get its amount.</summary>
/// <param name="Give">The pieces to hand over, the fewest possible; largest first.</param>
/// <param name="Get">The pieces to ask for, worth the same.</param>
/// <param name="Packing">The packing after the change.</param>
public sealed record ShopChange(ImmutableArray<Pieces> Give, ImmutableArray<Pieces> Get, Packing Packing);
