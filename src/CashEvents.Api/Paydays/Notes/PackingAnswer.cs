using System.Globalization;

namespace CashEvents.Api.Paydays;

/// <summary>What goes into a compartment.</summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Amount">What it is to get.</param>
/// <param name="Packed">What it gets.</param>
/// <param name="Pieces">The notes and coins, largest first.</param>
public sealed record PackedAnswer(string Compartment, string Label, decimal Amount, decimal Packed,
    IReadOnlyList<PiecesAnswer> Pieces)
{
    internal static IReadOnlyList<PackedAnswer> Of(Packing packing, Book book) =>
    [
        .. packing.Task.Targets.Zip(packing.Contents, (target, pieces) => new PackedAnswer(
            target.Compartment, book.Compartments[target.Compartment].Label,
            book.Currency.ToDecimal(target.Amount), book.Currency.ToDecimal(Denominations.Total(pieces)),
            PiecesAnswer.Of(pieces, book.Currency))),
    ];
}

/// <summary>A wish of a compartment that can't be met.</summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Wish">Which sort of wish.</param>
/// <param name="Value">The note or coin it is about.</param>
/// <param name="Count">How many are missing, or are there all the same.</param>
/// <param name="Detail">The same in words.</param>
public sealed record UnmetWishAnswer(string Compartment, NoteWish Wish, decimal Value, int Count, string Detail)
{
    internal static IReadOnlyList<UnmetWishAnswer> Of(Packing packing, Book book) =>
    [
        .. packing.Task.Targets.Zip(packing.Contents)
            .SelectMany(t => t.First.Wishes.UnmetBy(t.Second).Select(unmet => new UnmetWishAnswer(
            t.First.Compartment, unmet.Wish, book.Currency.ToDecimal(unmet.Value), unmet.Count,
            Say(t.First.Compartment, unmet, book)))),
    ];

    private static string Say(string compartment, UnmetWish unmet, Book book)
    {
        var pieces = string.Create(CultureInfo.InvariantCulture, $"{unmet.Count} of {book.Say(unmet.Value)}");
        return unmet.Wish switch
        {
            NoteWish.AtLeast => $"'{compartment}' is to have {pieces} more.",
            NoteWish.Avoid => $"'{compartment}' gets {pieces}, which it is to avoid.",
            _ => $"'{compartment}' gets {pieces}, and prefers others.",
        };
    }
}

/// <summary>Pieces to change at a shop, and the packing after that.</summary>
/// <param name="Count">How many pieces are handed over.</param>
/// <param name="Give">These; largest first.</param>
/// <param name="Get">What to ask for instead, worth the same.</param>
/// <param name="ProvenBest">Whether it is known that no fewer would do.</param>
/// <param name="Compartments">What goes where after the change.</param>
/// <param name="UnmetWishes">Wishes that are not met then.</param>
public sealed record ShopChangeAnswer(
    int Count, IReadOnlyList<PiecesAnswer> Give, IReadOnlyList<PiecesAnswer> Get, bool ProvenBest,
    IReadOnlyList<PackedAnswer> Compartments, IReadOnlyList<UnmetWishAnswer> UnmetWishes);

/// <summary>Which notes and coins of a stack go where.</summary>
/// <param name="Exact">Whether each compartment gets its amount.</param>
/// <param name="ProvenBest">Whether it is known that no packing is better; otherwise it is the best that was found in
/// the time there is.</param>
/// <param name="Compartments">What goes where; the nearest to the amounts that is possible.</param>
/// <param name="Left">The pieces left over, largest first.</param>
/// <param name="LeftTotal">What they are worth.</param>
/// <param name="UnmetWishes">Wishes of compartments that can't be met.</param>
/// <param name="BookLine">The line at which the book stood.</param>
public sealed record PackingAnswer(
    bool Exact, bool ProvenBest, IReadOnlyList<PackedAnswer> Compartments, IReadOnlyList<PiecesAnswer> Left,
    decimal LeftTotal, IReadOnlyList<UnmetWishAnswer> UnmetWishes, long BookLine)
{
    /// <summary>Where it is not exact: the fewest pieces to change at a shop so that it is.</summary>
    public ShopChangeAnswer? Change { get; init; }

    /// <summary>Where no change at a shop helps: what the notes in hand are worth too little.</summary>
    public decimal? Missing { get; init; }

    internal static PackingAnswer Of(Packing packing, ShopChange? change, Book book) => new(
        packing.IsExact, packing.IsProvenBest, PackedAnswer.Of(packing, book),
        PiecesAnswer.Of(packing.Left, book.Currency), book.Currency.ToDecimal(Denominations.Total(packing.Left)),
        UnmetWishAnswer.Of(packing, book), book.Line)
    {
        Change = change is null ? null : new ShopChangeAnswer(
            change.Give.Sum(p => p.Count), PiecesAnswer.Of(change.Give, book.Currency),
            PiecesAnswer.Of(change.Get, book.Currency),
            change.Packing.IsProvenBest, PackedAnswer.Of(change.Packing, book),
            UnmetWishAnswer.Of(change.Packing, book)),
        Missing = packing.Task.Missing > Money.Zero ? book.Currency.ToDecimal(packing.Task.Missing) : null,
    };
}

/// <summary>The notes to ask the bank for, and what goes where.</summary>
/// <param name="Total">What the compartments get in total.</param>
/// <param name="FromHand">What of it comes from the notes in hand.</param>
/// <param name="Draw">What to draw at the bank.</param>
/// <param name="Pieces">In how many pieces.</param>
/// <param name="Ask">These; largest first.</param>
/// <param name="Compartments">The packing list.</param>
/// <param name="Left">Pieces in hand that are left over, largest first.</param>
/// <param name="UnmetWishes">Wishes of compartments that can't be met.</param>
/// <param name="ProvenBest">Whether it is known that no fewer pieces would do under the wishes that are met.</param>
/// <param name="BookLine">The line at which the book stood.</param>
public sealed record DrawSlipAnswer(
    decimal Total, decimal FromHand, decimal Draw, int Pieces, IReadOnlyList<PiecesAnswer> Ask,
    IReadOnlyList<PackedAnswer> Compartments,
    IReadOnlyList<PiecesAnswer> Left, IReadOnlyList<UnmetWishAnswer> UnmetWishes, bool ProvenBest, long BookLine)
{
    /// <summary>The payday that it is drawn for; absent when it is for amounts that were sent.</summary>
    public DateOnly? Payday { get; init; }

    /// <summary>The day on which that payday is filled: when to draw it and put it into the compartments.</summary>
    public DateOnly? OccurredOn { get; init; }

    /// <summary>What whoever draws it should know; absent when there is nothing.</summary>
    public IReadOnlyList<CautionAnswer>? Cautions { get; init; }

    internal static DrawSlipAnswer Of(Packing packing, Book book)
    {
        var total = new Money(packing.Task.Targets.Sum(t => t.Amount.Minor));
        var draw = Denominations.Total(packing.Asked);
        return new DrawSlipAnswer(
            book.Currency.ToDecimal(total), book.Currency.ToDecimal(total - draw), book.Currency.ToDecimal(draw),
            packing.Asked.Sum(p => p.Count),
            PiecesAnswer.Of(packing.Asked, book.Currency), PackedAnswer.Of(packing, book),
            PiecesAnswer.Of(packing.Left, book.Currency),
            UnmetWishAnswer.Of(packing, book), packing.IsProvenBest, book.Line)
        {
            Cautions = CautionAnswer.Of(Caution.Draw(book, draw), book.Currency),
        };
    }
}
