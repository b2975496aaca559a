using System.Collections.Immutable;
using System.Globalization;

namespace CashEvents.Domain.Explanations;

/// <summary>A line as it should have been written.</summary>
internal static class Retold
{
    /// <summary>
    /// With another amount; null where nobody wrote the amount: a sweep takes what is there, a saving step and notes
    /// set aside follow from others.
    /// </summary>
    public static IReplacement? WithAmount(IReplacement line, Money amount) => line switch
    {
        Filled { Step: null } e => e with { Amount = amount },
        Spent e => e with { Amount = amount },
        Refunded e => e with { Amount = amount },
        Transferred { SetsAside: null } e => e with { Amount = amount },
        _ => null,
    };

    /// <summary>The other way round: in for out or out for in.</summary>
    public static IEnumerable<IReplacement> OtherWay(IReplacement line) => line switch
    {
        Filled { Step: null } e => [new Spent(e.Compartment, e.Holding, e.Amount, e.OccurredOn, e.Description)],
        Refunded e => [new Spent(e.Compartment, e.Holding, e.Amount, e.OccurredOn, e.Description)],
        Spent { Pays: null } e =>
        [
            new Refunded(e.Compartment, e.Holding, e.Amount, e.OccurredOn, e.Description),
            new Filled(e.Compartment, e.Holding, e.Amount, e.OccurredOn, e.Description),
        ],
        Transferred { SetsAside: null } e => [e with { From = e.To, To = e.From, Carried = null }],
        _ => [],
    };

    /// <summary>In another place; null where it can't be, or both ends of a transfer would be one.</summary>
    public static IReplacement? Elsewhere(IReplacement line, Part here, Part there) => line switch
    {
        Filled { Step: null } e => e with { Compartment = there.Compartment, Holding = there.Holding },
        Spent e => e with { Compartment = there.Compartment, Holding = there.Holding, Pays = null, Carried = null },
        Refunded e => e with { Compartment = there.Compartment, Holding = there.Holding, Carried = null },
        Transferred { SetsAside: null } e when e.From != there && e.To != there =>
            e with { From = e.From == here ? there : e.From, To = e.To == here ? there : e.To, Carried = null },
        _ => null,
    };

    /// <summary>On another day; null where its day follows from others.</summary>
    public static IReplacement? OnDay(IReplacement line, DateOnly day) => line switch
    {
        Filled { Step: null } e => e with { OccurredOn = day },
        Spent { Pays: null } e => e with { OccurredOn = day, Carried = null },
        Refunded e => e with { OccurredOn = day, Carried = null },
        Transferred { SetsAside: null, Step: null } e => e with { OccurredOn = day, Carried = null },
        _ => null,
    };

    /// <summary>What asks for it.</summary>
    /// <param name="line">The line.</param>
    /// <param name="book">The book as it stands.</param>
    /// <param name="on">Its day; null to stand on the day of the line that it corrects.</param>
    public static IReplacementCommand Command(IReplacement line, Book book, DateOnly? on) => line switch
    {
        Filled e => new RecordFill(e.Compartment, e.Holding, book.Currency.ToDecimal(e.Amount), on, e.Description),
        Spent e => new RecordSpend(e.Compartment, e.Holding, book.Currency.ToDecimal(e.Amount), on, e.Description,
            Goal: e.Pays?.Goal)
        { Hands = From(e, new Part(e.Compartment, e.Holding), book) },
        Refunded e => new RecordRefund(e.Compartment, e.Holding, book.Currency.ToDecimal(e.Amount), on, e.Description)
        { Hands = e.Carried is null ? Hands.Unsaid : new Hands(Carried: true) },
        Transferred e => new RecordTransfer(e.From, e.To, book.Currency.ToDecimal(e.Amount), on, e.Description)
        { Hands = From(e, e.From, book) },
        _ => throw new ArgumentException($"A {line.GetType().Name} is not written by hand.", nameof(line)),
    };

    /// <summary>
    /// What it changes, when that is one place; looked at for every line of a sheet, so that no list is made for it.
    /// </summary>
    public static Posting? OnlyPosting(IReplacement line) => line switch
    {
        Filled e => new Posting(new Part(e.Compartment, e.Holding), e.Amount),
        Spent e => new Posting(new Part(e.Compartment, e.Holding), -e.Amount),
        Refunded e => new Posting(new Part(e.Compartment, e.Holding), e.Amount),
        _ => null,
    };

    /// <summary>
    /// What moved on the day of a count and was written after it: a count of that day that is written now should find
    /// it too.
    /// </summary>
    public static Money MovedSince(CountTaken count, Book book)
    {
        var place = new Part(count.Compartment, count.Holding);
        return book.ExpectedOn(place, count.OccurredOn) - book.LastCount(place)!.Expected;
    }

    /// <summary>The same count, taken once more; without its pieces where money has moved since.</summary>
    public static RecordCount Again(CountTaken count, Book book)
    {
        var moved = MovedSince(count, book);
        var (total, pieces) = count.Pieces.IsDefaultOrEmpty || moved != Money.Zero
            ? (book.Currency.ToDecimal(count.Counted + moved), (Dictionary<string, long>?)null)
            : (default(decimal?), Denominations(count.Pieces, book.Currency));
        return new RecordCount(count.Compartment, count.Holding, total, pieces, count.OccurredOn, count.Witness,
            count.Description)
        {
            // What somebody carries was counted too, or the count would not have been taken.
            Hands = count.Holding == Holding.Cash && book.Carried(count.Compartment) > Money.Zero
                ? new Hands(Carried: true)
                : Hands.Unsaid,
        };
    }

    /// <summary>What to say of a count that is written anew.</summary>
    public static string SayMoved(CountTaken count, Book book) => MovedSince(count, book) is var moved
        && moved == Money.Zero ? ""
        : $" The new total is that of the evening: {book.Say(moved < Money.Zero ? -moved : moved)} "
            + $"{(moved < Money.Zero ? "less" : "more")}, by what moved later that day.";

    /// <summary>
    /// A line for a sentence: <c>line 52 (spend of 8.40 EUR on 2026-11-03, "Return to the mainland")</c>.
    /// </summary>
    public static string Say(Book book, long number, IMovement line) =>
        $"line {number.ToString(CultureInfo.InvariantCulture)} ({Kind(line)} of {book.Say(Amount(line))} on "
            + $"{line.OccurredOn:O}{(line.Description.Length > 0 ? $", \"{line.Description}\"" : "")})";

    /// <summary>The word for a movement.</summary>
    public static string Kind(IMovement line) => line.Kind.ToString().ToLowerInvariant();

    /// <summary>What moved, above zero.</summary>
    public static Money Amount(IMovement line) =>
        line.Postings.Max(p => p.Amount) is { Minor: > 0 } into ? into : -line.Postings.Min(p => p.Amount);

    // What does not lie in its place can only have come from who carries it.
    private static Hands From(IReplacement line, Part part, Book book) =>
        line.Carried is not null || (part.Holding == Holding.Cash && book.Carried(part.Compartment) > Money.Zero
            && Amount(line) > book.LiesInPlace(part.Compartment))
            ? new Hands(Carried: true) : Hands.Unsaid;

    private static Dictionary<string, long> Denominations(ImmutableArray<Pieces> pieces, Currency currency) =>
        pieces.ToDictionary(p => currency.ToDecimal(p.Value).ToString("0.###", CultureInfo.InvariantCulture),
            p => (long)p.Count);
}
