namespace CashEvents.Domain.Custody;

/// <summary>An amount above which a caution is due.</summary>
/// <param name="Amount">Cautioned is what is above it.</param>
/// <param name="Source">Where it comes from.</param>
public sealed record Limit(Money Amount, string Source);

/// <summary>
/// Something that whoever keeps cash should know. It holds nobody up, and the person's own policy and local law go
/// before it.
/// </summary>
/// <param name="Code">What it is about, for programs; stable.</param>
/// <param name="Amount">The amount that it is about.</param>
/// <param name="Limit">What that is above.</param>
/// <param name="Detail">The same in words.</param>
public sealed record Caution(string Code, Money Amount, Limit Limit, string Detail)
{
    // The form and the law speak of dollars, so they say nothing of a book in another currency.
    private const string Country = "US";
    private const string Currency = "USD";
    private const long MinorPerDollar = 100;

    private static readonly Limit _homeownersForm = new(new Money(200 * MinorPerDollar),
        "ISO form HO 00 03 (homeowners), Coverage C, special limits of liability: money and bank notes");
    private static readonly Limit _currencyReport = new(new Money(10_000 * MinorPerDollar),
        "31 CFR 1010.311; 31 U.S.C. 5324");

    /// <summary>
    /// The limit for cash at home: the household's own, or in the United States that of the standard homeowners form;
    /// null where there is none.
    /// </summary>
    public static Limit? CashAtHomeLimit(Book book)
    {
        ArgumentNullException.ThrowIfNull(book);
        return book.CautionLimits is { CashAtHome: { } stated } limits ? Stated(stated, limits) : IsAmerican(book)
            ? _homeownersForm
            : null;
    }

    /// <summary>The household's limit for what one person carries; null where it has stated none.</summary>
    public static Limit? CarriedLimit(Book book)
    {
        ArgumentNullException.ThrowIfNull(book);
        return book.CautionLimits is { Carried: { } stated } limits ? Stated(stated, limits) : null;
    }

    /// <summary>The caution for cash at home; none when it is not above the limit.</summary>
    public static IEnumerable<Caution> AtHome(Book book)
    {
        var there = Whereabouts.Lying(book).Where(p => p.AtHome).Aggregate(Money.Zero, (sum, p) => sum + p.Amount);
        return CashAtHomeLimit(book) is { } limit && there > limit.Amount
            ? [new Caution("cash-at-home", there, limit,
                $"{book.Say(there)} lies at home, more than {Named(book, limit)}. Read what your own policy covers, "
                    + $"and ask whoever insures you; local law goes before this.")]
            : [];
    }

    /// <summary>The cautions for what people carry, each person's compartments together.</summary>
    /// <param name="book">The book.</param>
    /// <param name="carrier">Only this one; all if left out.</param>
    public static IEnumerable<Caution> Carried(Book book, string? carrier = null) =>
        CarriedLimit(book) is not { } limit ? []
        : Whereabouts.Carried(book).Where(c => carrier is null || c.Handover.IsCarriedBy(carrier))
            .GroupBy(c => c.Handover.Carrier, StringComparer.OrdinalIgnoreCase)
            .Select(g => (Carrier: g.Key, Amount: g.Aggregate(Money.Zero, (sum, c) => sum + c.Amount)))
            .Where(c => c.Amount > limit.Amount)
            .Select(c => new Caution("cash-carried", c.Amount, limit,
                $"'{c.Carrier}' carries {book.Say(c.Amount)}, more than {Named(book, limit)}. Read what your own "
                    + $"policy covers away from home; local law goes before this."));

    /// <summary>
    /// The caution for a draw that the bank reports; none elsewhere than in the United States, or up to the threshold.
    /// </summary>
    public static IEnumerable<Caution> Draw(Book book, Money draw)
    {
        ArgumentNullException.ThrowIfNull(book);
        return IsAmerican(book) && draw > _currencyReport.Amount
            ? [new Caution("draw-reported", draw, _currencyReport,
                $"A bank in the United States reports a cash transaction of more than "
                    + $"{book.Say(_currencyReport.Amount)}, and this draw is {book.Say(draw)}. Splitting a draw to "
                    + $"avoid the report is unlawful. "
                + "Ask the bank, or somebody licensed to advise on law, where anything is unclear.")]
            : [];
    }

    private static bool IsAmerican(Book book) => book.Household is { Country: Country, Currency.Code: Currency };

    private static Limit Stated(Money amount, CautionLimits limits) =>
        new(amount, $"the household's own limit, set on line {limits.Line}");

    private static string Named(Book book, Limit limit) => limit == _homeownersForm
        ? $"the {book.Say(limit.Amount)} of money and bank notes that the standard homeowners form covers, unless the "
            + $"policy raises it"
        : $"the {book.Say(limit.Amount)} that the household has set as its limit";
}
