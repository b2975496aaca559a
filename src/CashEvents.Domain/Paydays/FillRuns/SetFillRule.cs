using System.Globalization;

namespace CashEvents.Domain.Paydays;

/// <summary>Sets a compartment's fill rule, whole.</summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Kind">What it gets.</param>
/// <param name="Amount">Of a fixed fill, in major units as written; only there.</param>
/// <param name="SharePercent">Of a share, above 0 up to 100 with at most two decimals; only there.</param>
/// <param name="Ceiling">The balance, cash and bank together, above which it is never filled, in major units; needed
/// where it is filled up to it.</param>
/// <param name="Holding">Where it is filled; cash if left out. A contribution goes where its fund's terms say.</param>
/// <param name="Rank">1 to <see cref="LastRank"/>; 1 is filled first, and meant if left out.</param>
/// <param name="RoundTo">The step in which it is filled, in major units; of its cash part where a fill is divided. If
/// left out, whole notes in cash and exact amounts in the bank.</param>
public sealed record SetFillRule(string Compartment, FillRuleKind Kind, decimal? Amount, decimal? SharePercent,
    decimal? Ceiling, Holding? Holding, int? Rank, decimal? RoundTo) : ICommand
{
    /// <summary>The last rank.</summary>
    public const int LastRank = 99;

    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        var compartment = book.OpenCompartment(Compartment, "compartment");
        MustFit(compartment, FillRuleKind.Weekly, Purpose.Spending, "a weekly amount is planned", book);
        MustFit(compartment, FillRuleKind.Contribution, Purpose.SinkingFund, "contributions are worked out", book);
        if (Kind == FillRuleKind.Contribution && Holding is not null)
        {
            throw Refusal.Unfit("holding", "holding-not-for-rule",
                $"A contribution goes to cash and bank as the fund is kept: leave `holding` out, and say it with "
                    + $"{Act.SetFundTerms.Way(compartment.Id)}.");
        }

        MustBeThere(Amount, FillRuleKind.Fixed, "amount", "how much it gets each payday");
        MustBeThere(SharePercent, FillRuleKind.Share, "share", "how much of what is left it gets, in percent");
        if (Kind == FillRuleKind.Ceiling && Ceiling is null)
        {
            throw Refusal.Unfit("ceiling", "ceiling-missing",
                "`ceiling` is needed: the balance up to which it is filled.");
        }

        if (Rank is < 1 or > LastRank)
        {
            throw Refusal.Unfit("rank", "rank-out-of-range",
                $"`rank` is a whole number from 1, filled first, to {LastRank}.");
        }

        var set = new FillRuleSet(
            compartment.Id, Kind, Read(Amount, "amount"), Share(), Read(Ceiling, "ceiling"),
            Holding ?? Domain.Books.Holding.Cash, Rank ?? 1, Read(RoundTo, "roundTo"));
        return set.Set == book.FillRules.GetValueOrDefault(compartment.Id) ? [] : [set];

        Money? Read(decimal? written, string field) => written is { } amount ? book.Amount(amount, field) : null;
    }

    private void MustFit(Compartment compartment, FillRuleKind kind, Purpose purpose, string what, Book book)
    {
        if (Kind == kind && compartment.Purpose != purpose)
        {
            throw Refusal.Unfit("kind", "rule-not-for-purpose",
                $"'{compartment.Id}' has another purpose: {what} for compartments with the purpose "
                    + $"{(purpose == Purpose.Spending ? "spending" : "sinkingFund")}. Choose another kind.",
                NearNames.Of(compartment.Id,
                    book.Compartments.Values.Where(c => !c.Closed && c.Purpose == purpose).Select(c => c.Id)));
        }
    }

    private void MustBeThere(decimal? written, FillRuleKind kind, string field, string meaning)
    {
        if (Kind == kind && written is null)
        {
            throw Refusal.Unfit(field, kind == FillRuleKind.Fixed ? "amount-missing" : "share-missing",
                $"`{field}` is needed: {meaning}.");
        }

        if (Kind != kind && written is not null)
        {
            throw Refusal.Unfit(field, kind == FillRuleKind.Fixed ? "amount-not-for-rule" : "share-not-for-rule",
                $"`{field}` goes with another kind of rule: leave it out, or choose the kind "
                    + $"\"{(kind == FillRuleKind.Fixed ? "fixed" : "share")}\".");
        }
    }

    private int? Share() => SharePercent is not { } percent ? null
        : percent is > 0m and <= 100m && percent * 100m % 1m == 0m ? (int)(percent * 100m)
        : throw Refusal.Unfit("share", "percent-out-of-range",
            $"`share` is {percent.ToString(CultureInfo.InvariantCulture)}: write a percentage above 0 up to 100 with "
                + $"at most two decimals.");
}

/// <summary>Removes a compartment's fill rule.</summary>
/// <param name="Compartment">Its id.</param>
public sealed record RemoveFillRule(string Compartment) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        return book.FillRules.ContainsKey(Compartment) ? [new FillRuleRemoved(Compartment)]
            : throw Refusal.NotFound("fill-rule-unknown",
                $"'{Compartment}' has no fill rule. {Act.ListFillRules.Way()} lists them.",
                NearNames.Of(Compartment, book.FillRules.Keys));
    }
}
