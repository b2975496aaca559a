using System.Globalization;

namespace CashEvents.Domain.Plans;

/// <summary>How a sinking fund is kept.</summary>
/// <param name="BankPercent">How much of each contribution goes to the bank, 0 to 100; the rest is kept in
/// cash.</param>
/// <param name="InterestBasisPoints">What the bank part earns in a year, in hundredths of a percent, 0 to 10,000: a
/// nominal rate, counted by days.</param>
public sealed record FundTerms(int BankPercent, int InterestBasisPoints)
{
    /// <summary>All of it in cash.</summary>
    public static FundTerms Cash { get; } = new(0, 0);

    /// <summary>The yearly nominal rate, as a part of one.</summary>
    public decimal Interest => InterestBasisPoints / 10_000m;
}

/// <summary>Line: how a sinking fund is kept, from now on.</summary>
/// <param name="Compartment">The fund.</param>
/// <param name="BankPercent">How much of each contribution goes to the bank, 0 to 100.</param>
/// <param name="InterestBasisPoints">Yearly nominal interest on the bank part, in hundredths of a percent.</param>
[LineKind("fundTerms")]
public sealed record FundTermsSet(string Compartment, int BankPercent, int InterestBasisPoints) : IBookEvent
{
    /// <inheritdoc />
    public IEnumerable<string> About => [Compartment];

    /// <inheritdoc />
    public Book WrittenIn(Book book) =>
        PlansInBook.FundTerms.Change(book,
            terms => terms.SetItem(Compartment, new FundTerms(BankPercent, InterestBasisPoints)));

    /// <inheritdoc />
    public string Mend(long line) => $"say anew how '{Compartment}' is kept with {Act.SetFundTerms.Way(Compartment)}";
}

/// <summary>Says how a sinking fund is kept.</summary>
/// <param name="Compartment">The fund.</param>
/// <param name="BankPercent">How much of each contribution goes to the bank, a whole number from 0 to 100.</param>
/// <param name="InterestPercent">What the bank part earns in a year: a nominal rate in percent with at most two
/// decimals, 0 to 100.</param>
public sealed record SetFundTerms(string Compartment, int BankPercent, decimal InterestPercent) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        var fund = SinkingFund.Named(book, Compartment, "compartment");
        if (BankPercent is < 0 or > 100)
        {
            throw Refusal.Unfit("bankPercent", "percent-out-of-range",
                "`bankPercent` is how much of each contribution goes to the bank: a whole number from 0 to 100.");
        }

        if (InterestPercent is < 0m or > 100m || InterestPercent * 100m % 1m != 0m)
        {
            throw Refusal.Unfit("interestPercent", "percent-out-of-range",
                $"`interestPercent` is {InterestPercent.ToString(CultureInfo.InvariantCulture)}: write what the bank "
                    + $"pays in a year, in percent from 0 to 100 with at most two decimals.");
        }

        var terms = new FundTerms(BankPercent, (int)(InterestPercent * 100m));
        return terms == book.FundTerms.GetValueOrDefault(fund.Id, FundTerms.Cash)
            ? []
            : [new FundTermsSet(fund.Id, terms.BankPercent, terms.InterestBasisPoints)];
    }
}
