using System.Diagnostics.CodeAnalysis;
using System.Globalization;

namespace CashEvents.Domain.Amounts;

/// <summary>A currency and the number of decimals its minor unit has.</summary>
/// <param name="Code">ISO 4217 alphabetic code, such as <c>EUR</c>.</param>
/// <param name="Exponent">Decimals of the minor unit, 0, 2 or 3.</param>
/// <remarks>Source: ISO 4217:2015, list one (current currencies), as maintained by SIX; codes without a minor unit
/// (metals, funds, testing) are left out.</remarks>
public sealed record Currency(string Code, int Exponent)
{
    private const string TwoDecimals =
        "AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BMD BND BOB BRL BSD BTN BWP BYN BZD CAD CDF CHF CNY COP CRC "
            + "CUP CVE CZK "
        + "DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GTQ GYD HKD HNL HTG HUF IDR ILS INR IRR JMD KES KGS "
        + "KHR KPW KYD KZT "
        + "LAK LBP LKR LRD LSL MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MYR MZN NAD NGN NIO NOK NPR NZD PAB PEN "
        + "PGK PHP PKR PLN "
        + "QAR RON RSD RUB SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TOP TRY TTD TWD TZS "
        + "UAH USD UYU UZS "
        + "VED VES WST XCD XCG YER ZAR ZMW ZWG";

    private const string NoDecimals = "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX VND VUV XAF XOF XPF";
    private const string ThreeDecimals = "BHD IQD JOD KWD LYD OMR TND";

    private static readonly Dictionary<string, Currency> Known =
        Listed(TwoDecimals, 2).Concat(Listed(NoDecimals, 0)).Concat(Listed(ThreeDecimals, 3))
            .ToDictionary(c => c.Code, StringComparer.Ordinal);

    /// <summary>How many minor units make one major unit.</summary>
    public decimal ToMinor => Exponent switch { 0 => 1m, 2 => 100m, _ => 1_000m };

    /// <summary>Every currency the book can be kept in.</summary>
    public static IReadOnlyCollection<Currency> All => Known.Values;

    /// <summary>Looks a currency up by its ISO 4217 code, in capitals.</summary>
    public static bool TryFind(string code, [NotNullWhen(true)] out Currency? currency) =>
        Known.TryGetValue(code, out currency);

    /// <summary>The currency with this code.</summary>
    /// <exception cref="KeyNotFoundException">The code is not listed.</exception>
    public static Currency Of(string code) => Known[code];

    /// <summary>
    /// Takes an amount as written, exactly: never rounded. Zeros after its last decimal may stand there.
    /// </summary>
    /// <exception cref="RefusalException">The amount has more decimals than the currency, or is larger than a line may
    /// carry.</exception>
    public Money Exactly(decimal written, string field)
    {
        // Zeros at the end are no decimals: 1.000 is 1.00.
        var decimals = (written / 1.0000000000000000000000000000m).Scale;
        if (decimals > Exponent)
        {
            throw Refusal.Unfit(field, "too-many-decimals", Exponent == 0
                ? $"{Text(written)} has decimals, and {Code} has none: write a whole number."
                : $"{Text(written)} has {decimals} decimals, and {Code} has {Exponent}: write it with at most "
                    + $"{Exponent}.");
        }

        if (Math.Abs(written) > ToDecimal(Money.Largest))
        {
            throw Refusal.Unfit(field, "amount-too-large",
                $"One line carries at most {Text(ToDecimal(Money.Largest))} {Code}.");
        }

        return new Money((long)(written * ToMinor));
    }

    /// <summary>The amount with exactly the currency's decimals, such as <c>40.00</c>.</summary>
    public decimal ToDecimal(Money money)
    {
        var magnitude = Math.Abs((decimal)money.Minor);
        var bits = decimal.GetBits(magnitude);
        return new decimal(bits[0], bits[1], bits[2], money.Minor < 0, (byte)Exponent);
    }

    /// <summary>The amount for a sentence, such as <c>40.00 EUR</c>.</summary>
    public string Say(Money money) => $"{Text(ToDecimal(money))} {Code}";

    private static string Text(decimal value) => value.ToString(CultureInfo.InvariantCulture);

    private static IEnumerable<Currency> Listed(string codes, int exponent) =>
        codes.Split(' ').Select(code => new Currency(code, exponent));
}
