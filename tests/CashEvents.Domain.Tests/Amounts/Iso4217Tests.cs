namespace CashEvents.Domain.Tests.Amounts;

/// <summary>
/// The list beside this file is code and minor unit of ISO 4217 list one as its maintainer, SIX, published it on
/// 2024-06-25
/// (taken from the copy of that XML file in the npm package currency-codes 2.2.0).
/// </summary>
public class Iso4217Tests
{
    // Amendments since. 176: the Caribbean guilder XCG for the Antillean ANG, 2025-03-31. 178: the convertible peso CUC
    // withdrawn, 2025-02-27.
    // (Both: Publications Office of the European Union, Interinstitutional style guide, annex A7, modifications of the
    // currency list.)
    // The lev BGN gave way to the euro on 2026-01-01 (Unicode CLDR 48.2, currencyData, region BG).
    private static readonly string[] Added = ["XCG"];
    private static readonly string[] Withdrawn = ["ANG", "BGN", "CUC"];

    // Money of account in which nobody holds notes: an index unit that the list does not mark as a fund.
    private static readonly string[] IndexUnits = ["UYW"];

    private sealed record Listed(string Code, string Decimals, bool Fund);

    private static readonly List<Listed> ListOne = Read();

    [Fact]
    public void Every_currency_of_the_book_is_in_the_list_with_the_same_decimals()
    {
        var listed = ListOne.ToDictionary(c => c.Code, c => c.Decimals);

        Assert.All(Currency.All.Where(c => !Added.Contains(c.Code)),
            c => Assert.Equal(listed.GetValueOrDefault(c.Code), $"{c.Exponent}"));
        Assert.All(Added, code => Assert.Equal(2, Currency.Of(code).Exponent));
    }

    [Fact]
    public void The_list_has_no_other_money_than_the_book_but_funds_metals_test_codes_and_what_was_withdrawn() =>
        Assert.Equal(
            ListOne.Where(c => c.Fund || c.Decimals == "N.A.").Select(c => c.Code).Concat(Withdrawn).Concat(IndexUnits)
                .Order(StringComparer.Ordinal),
            ListOne.Select(c => c.Code).Except(Currency.All.Select(c => c.Code)).Order(StringComparer.Ordinal));

    [Fact]
    public void Currencies_without_a_minor_unit_here_are_units_of_account_metals_and_reserved_codes() =>
        Assert.Equal(
            ["XAG", "XAU", "XBA", "XBB", "XBC", "XBD", "XDR", "XPD", "XPT", "XSU", "XTS", "XUA", "XXX"],
            ListOne.Where(c => c.Decimals == "N.A.").Select(c => c.Code));

    private static List<Listed> Read()
    {
        using var list = new StreamReader(
            typeof(Iso4217Tests).Assembly.GetManifestResourceStream("iso-4217-list-one.csv")!);
        return [.. list.ReadToEnd().Split('\n', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries)
            .Skip(1)
            .Select(row => row.Split(',')).Select(row => new Listed(row[0], row[1], row[2] == "fund"))];
    }
}
