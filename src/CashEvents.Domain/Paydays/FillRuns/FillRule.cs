namespace CashEvents.Domain.Paydays;

/// <summary>What a compartment gets on a payday.</summary>
public enum FillRuleKind
{
    /// <summary>Its weekly amounts of the plan, by days until the next payday.</summary>
    Weekly,

    /// <summary>The level contribution of a sinking fund, cash and bank as the fund is kept.</summary>
    Contribution,

    /// <summary>The same amount each payday.</summary>
    Fixed,

    /// <summary>A share of what the earlier ranks leave.</summary>
    Share,

    /// <summary>What is missing up to its ceiling.</summary>
    Ceiling,
}

/// <summary>How a compartment is filled on paydays.</summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Kind">What it gets.</param>
/// <param name="Amount">Of a fixed fill; null for the other kinds.</param>
/// <param name="ShareBasisPoints">Of a share, in hundredths of a percent from 1 to 10,000; null for the other
/// kinds.</param>
/// <param name="Ceiling">The balance, cash and bank together, above which it is never filled; null when there is
/// none.</param>
/// <param name="Holding">Where it is filled; a contribution goes where its fund's terms say.</param>
/// <param name="Rank">1 is filled first; compartments of one rank share what there is.</param>
/// <param name="RoundTo">The step in which it is filled, such as whole fives; of its cash part where a fill is divided
/// between cash and bank. Null for whole notes in cash and exact amounts in the bank.</param>
public sealed record FillRule(string Compartment, FillRuleKind Kind, Money? Amount, int? ShareBasisPoints,
    Money? Ceiling, Holding Holding, int Rank, Money? RoundTo);

/// <summary>Line: a compartment's fill rule is set, in the stead of the one before.</summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Kind">What it gets.</param>
/// <param name="Amount">Of a fixed fill.</param>
/// <param name="ShareBasisPoints">Of a share, in hundredths of a percent.</param>
/// <param name="Ceiling">The balance above which it is never filled.</param>
/// <param name="Holding">Where it is filled.</param>
/// <param name="Rank">1 is filled first.</param>
/// <param name="RoundTo">The step in which it is filled.</param>
[LineKind("fillRule")]
public sealed record FillRuleSet(string Compartment, FillRuleKind Kind, Money? Amount, int? ShareBasisPoints,
    Money? Ceiling, Holding Holding, int Rank, Money? RoundTo) : IBookEvent
{
    internal FillRule Set => new(Compartment, Kind, Amount, ShareBasisPoints, Ceiling, Holding, Rank, RoundTo);

    /// <inheritdoc />
    public IEnumerable<string> About => [Compartment];

    /// <inheritdoc />
    public bool CarriesAmount => (Amount ?? Ceiling ?? RoundTo) is not null;

    /// <inheritdoc />
    public Book WrittenIn(Book book) => PaydaysInBook.FillRules.Change(book, rules => rules.SetItem(Compartment, Set));

    /// <inheritdoc />
    public string Mend(long line) =>
        $"set another rule with {Act.SetFillRule.Way(Compartment)}, or remove it";
}

/// <summary>Line: a compartment has a fill rule no more.</summary>
/// <param name="Compartment">Its id.</param>
[LineKind("fillRuleRemoved")]
public sealed record FillRuleRemoved(string Compartment) : IBookEvent
{
    /// <inheritdoc />
    public IEnumerable<string> About => [Compartment];

    /// <inheritdoc />
    public Book WrittenIn(Book book) => PaydaysInBook.FillRules.Change(book, rules => rules.Remove(Compartment));

    /// <inheritdoc />
    public string Mend(long line) => $"set the rule again with {Act.SetFillRule.Way(Compartment)}";
}
