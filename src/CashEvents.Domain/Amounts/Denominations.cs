using System.Collections.Immutable;
using System.Globalization;

namespace CashEvents.Domain.Amounts;

/// <summary>So many notes or coins of one value.</summary>
/// <param name="Value">Face value.</param>
/// <param name="Count">How many, 0 to 1,000,000.</param>
public sealed record Pieces(Money Value, int Count);

/// <summary>The notes and coins of a currency, as its issuer lists them.</summary>
/// <remarks>
/// USD: Bureau of Engraving and Printing and United States Mint. EUR: European Central Bank (the 500 note is no longer
/// issued but stays legal tender).
/// GBP: Bank of England and Royal Mint. CHF: Swiss National Bank and Swissmint. CAD: Bank of Canada and Royal Canadian
/// Mint.
/// AUD: Reserve Bank and Royal Australian Mint. JPY: Bank of Japan and Japan Mint. The last five from memory.
/// </remarks>
public static class Denominations
{
    /// <summary>The most pieces of one value in a count: so no count comes to more than a line carries.</summary>
    public const int MostPieces = 1_000_000;

    private static readonly Dictionary<string, ImmutableArray<decimal>> Issued = new(StringComparer.Ordinal)
    {
        ["USD"] = [100m, 50m, 20m, 10m, 5m, 2m, 1m, 0.50m, 0.25m, 0.10m, 0.05m, 0.01m],
        ["EUR"] = [500m, 200m, 100m, 50m, 20m, 10m, 5m, 2m, 1m, 0.50m, 0.20m, 0.10m, 0.05m, 0.02m, 0.01m],
        ["GBP"] = [50m, 20m, 10m, 5m, 2m, 1m, 0.50m, 0.20m, 0.10m, 0.05m, 0.02m, 0.01m],
        ["CHF"] = [1000m, 200m, 100m, 50m, 20m, 10m, 5m, 2m, 1m, 0.50m, 0.20m, 0.10m, 0.05m],
        ["CAD"] = [100m, 50m, 20m, 10m, 5m, 2m, 1m, 0.50m, 0.25m, 0.10m, 0.05m],
        ["AUD"] = [100m, 50m, 20m, 10m, 5m, 2m, 1m, 0.50m, 0.20m, 0.10m, 0.05m],
        ["JPY"] = [10_000m, 5_000m, 2_000m, 1_000m, 500m, 100m, 50m, 10m, 5m, 1m],
    };

    /// <summary>
    /// Face values in major units, largest first; empty where the currency's notes and coins are not listed here.
    /// </summary>
    public static ImmutableArray<decimal> Of(Currency currency) => Issued.GetValueOrDefault(currency.Code, []);

    /// <summary>
    /// What a bank or a shop gives, largest first: all that are listed, without the note of 500 euro.
    /// </summary>
    public static ImmutableArray<Money> StillIssued(Currency currency) =>
        [.. Of(currency).Where(face => currency.Code != "EUR" || face != 500m).Select(face => InMinor(currency, face))];

    /// <summary>Reads values written as <c>[20, 0.25]</c>: largest first.</summary>
    /// <exception cref="RefusalException">A value the currency does not have, or one written twice.</exception>
    public static ImmutableArray<Money> ReadValues(Currency currency, IReadOnlyList<decimal> written, string field)
    {
        var issued = MustBeListed(currency, field);
        for (var i = 0; i < written.Count; i++)
        {
            if (!issued.Contains(written[i]))
            {
                throw Unknown(currency, written[i].ToString(CultureInfo.InvariantCulture), $"{field}[{i}]");
            }

            if (written.Take(i).Contains(written[i]))
            {
                throw Refusal.Unfit($"{field}[{i}]", "denomination-twice",
                    $"'{written[i].ToString(CultureInfo.InvariantCulture)}' is written twice: write it once.");
            }
        }

        return [.. written.Select(face => InMinor(currency, face)).OrderDescending()];
    }

    /// <summary>Reads a count written as <c>{"20": 3, "0.25": 5}</c>: largest first, empty values left out.</summary>
    /// <exception cref="RefusalException">A value the currency does not have, one written twice, or a number of pieces
    /// out of range.</exception>
    public static ImmutableArray<Pieces> Read(Currency currency, IReadOnlyDictionary<string, long> written,
        string field)
    {
        var issued = MustBeListed(currency, field);
        var pieces = new SortedDictionary<Money, Pieces>();
        foreach (var (value, count) in written)
        {
            var at = $"{field}.{value}";
            if (!decimal.TryParse(value, NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture, out var face)
                || !issued.Contains(face))
            {
                throw Unknown(currency, value, at);
            }

            if (count is < 0 or > MostPieces)
            {
                throw Refusal.Unfit(at, "pieces-out-of-range",
                    $"The number of pieces is 0 to {MostPieces.ToString(CultureInfo.InvariantCulture)}, not "
                        + $"{count.ToString(CultureInfo.InvariantCulture)}.");
            }

            var money = InMinor(currency, face);
            if (!pieces.TryAdd(money, new Pieces(money, (int)count)))
            {
                throw Refusal.Unfit(at, "denomination-twice",
                    $"'{value}' is written twice (as 0.5 and 0.50 would be): add the two numbers up.");
            }
        }

        return [.. pieces.Values.Where(p => p.Count > 0).Reverse()];
    }

    /// <summary>What the pieces are worth together.</summary>
    public static Money Total(IEnumerable<Pieces> pieces) =>
        new(pieces.Aggregate(0L, (sum, p) => checked(sum + (p.Value.Minor * p.Count))));

    private static Money InMinor(Currency currency, decimal face) => new((long)(face * currency.ToMinor));

    private static ImmutableArray<decimal> MustBeListed(Currency currency, string field) =>
        Of(currency) is { IsEmpty: false } issued ? issued
        : throw Refusal.Unfit(field, "denominations-unknown",
            $"The notes and coins of {currency.Code} are not listed here: keep to amounts without denominations, such "
                + $"as a count's `total`.");

    private static RefusalException Unknown(Currency currency, string value, string at) =>
        Refusal.Unfit(at, "denomination-unknown",
        $"{currency.Code} has no note or coin of '{value}'. It has "
            + $"{string.Join(", ", Of(currency).Select(v => v.ToString("0.##", CultureInfo.InvariantCulture)))}.");
}
