using System.Globalization;
using System.Text;
using System.Text.RegularExpressions;

namespace CashEvents.Domain.Months;

/// <summary>Which mark stands before the minor units.</summary>
public enum DecimalMark
{
    /// <summary>8.40</summary>
    Point,

    /// <summary>8,40</summary>
    Comma,
}

/// <summary>
/// An amount as it is written on a sheet: what it is under either decimal mark. Most are the same under both, since
/// they can be read in one way only.
/// </summary>
/// <param name="Row">The row.</param>
/// <param name="Text">What stands there.</param>
/// <param name="ByPoint">Read with the point as decimal mark.</param>
/// <param name="ByComma">Read with the comma as decimal mark.</param>
/// <param name="Shows">The decimal mark that it can only have; null where it tells none.</param>
internal sealed record WrittenAmount(int Row, string Text, decimal ByPoint, decimal ByComma, DecimalMark? Shows)
{
    /// <summary>Whether it depends on the mark what it is.</summary>
    public bool IsUnclear => ByPoint != ByComma;

    /// <summary>What it is under a mark.</summary>
    public decimal By(DecimalMark mark) => mark == DecimalMark.Point ? ByPoint : ByComma;
}

/// <summary>Reads the amounts of a sheet: signs, currency signs, marks between thousands and before decimals.</summary>
internal static partial class WrittenAmounts
{
    // From memory of the Unicode CLDR; other signs are asked to be left out.
    private static readonly Dictionary<string, string> Signs = new()
    {
        ["€"] = "EUR",
        ["£"] = "GBP EGP FKP GIP LBP SDG SHP SSP SYP",
        ["¥"] = "JPY CNY",
        ["$"] = "USD ARS AUD BBD BMD BND BSD BZD CAD CLP COP CUP DOP FJD GYD HKD JMD KYD LRD MXN NAD NZD SBD SGD SRD "
            + "TTD TWD UYU XCD",
    };

    private static readonly string[] SignPlaces = ["sign1", "sign2", "sign3"];
    private static readonly string[] UnitPlaces = ["unit1", "unit2"];

    /// <summary>An amount; null where it can't be read, with the reason.</summary>
    public static WrittenAmount? Read(int row, string text, Currency currency, out string? fault)
    {
        var written = text.Normalize(NormalizationForm.FormKC).Replace('\u2212', '-').Replace('\u2013', '-')
            .Replace('\u2019', '\'');
        fault = null;
        var parts = Parts().Match(written);
        if (!parts.Success || (parts.Groups["open"].Success != parts.Groups["close"].Success)
            || SignPlaces.Append("open").Count(s => parts.Groups[s].Success) > 1)
        {
            fault = "is no amount: write it in figures, like -8.40";
            return null;
        }

        foreach (var unit in UnitPlaces.Select(u => parts.Groups[u].Value).Where(u => u.Length > 0))
        {
            if (unit != currency.Code
                && !(Signs.TryGetValue(unit, out var codes) && codes.Split(' ').Contains(currency.Code)))
            {
                fault = $"has '{unit}' in it, and the book is kept in {currency.Code}: write the amount alone";
                return null;
            }
        }

        var isOut = parts.Groups["open"].Success || SignPlaces.Any(s => parts.Groups[s].Value == "-");
        var figures = parts.Groups["figures"].Value;
        if (figures.Any(f => f is ' ' or '\''))
        {
            if (!Spaced().IsMatch(figures))
            {
                fault = "has spaces that do not stand between thousands: write it like -1234.50";
                return null;
            }

            figures = figures.Replace(" ", "", StringComparison.Ordinal).Replace("'", "", StringComparison.Ordinal);
        }

        var (byPoint, byComma, shows) = (Number(figures, '.', ','), Number(figures, ',', '.'), (DecimalMark?)null);
        if (byPoint is not null && byComma is not null && byPoint != byComma
            && (currency.Exponent == 0 || figures[0] == '0'))
        {
            // No decimals in this currency: the mark is between thousands. None before a first figure of nought: the
            // mark is before decimals.
            var isComma = figures.Contains(',', StringComparison.Ordinal);
            var isPointDecimal = (currency.Exponent == 0) == isComma;
            (byPoint, byComma) = (isPointDecimal ? byPoint : null, isPointDecimal ? null : byComma);
        }

        if (byPoint is null || byComma is null)
        {
            shows = byPoint is not null ? DecimalMark.Point : DecimalMark.Comma;
        }

        if ((byPoint ?? byComma) is not { } either)
        {
            fault = "has marks that stand neither between thousands nor before decimals: write it like -1234.50";
            return null;
        }

        var sign = isOut ? -1 : 1;
        return new WrittenAmount(row, text, sign * (byPoint ?? either), sign * (byComma ?? either), shows);
    }

    // Thousands by threes, or no mark between them at all.
    private static decimal? Number(string figures, char decimalMark, char thousands)
    {
        var parts = figures.Split(decimalMark);
        if (parts.Length > 2 || (parts.Length == 2 && parts[1].Contains(thousands, StringComparison.Ordinal))
            || parts.Any(p => p.Length == 0))
        {
            return null;
        }

        var groups = parts[0].Split(thousands);
        if (groups.Length > 1 && (groups[0].Length is 0 or > 3 || groups.Skip(1).Any(g => g.Length != 3)))
        {
            return null;
        }

        var plain = string.Concat(groups) + (parts.Length == 2 ? "." + parts[1] : "");
        return decimal.TryParse(plain, NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture, out var number)
            ? number
            : null;
    }

    [GeneratedRegex(@"^[0-9]{1,3}([ '][0-9]{3})+([.,][0-9]+)?$",
        RegexOptions.ExplicitCapture | RegexOptions.CultureInvariant)]
    private static partial Regex Spaced();

    [GeneratedRegex(@"^(?<open>\()?\s*(?<sign1>[-+])?\s*(?<unit1>\p{Sc}|[A-Z]{3})?\s*(?<sign2>[-+])?\s*"
        + @"(?<figures>[0-9](?:[0-9.,' ]*[0-9])?)\s*"
        + @"(?<unit2>\p{Sc}|[A-Z]{3})?\s*(?<sign3>[-+])?\s*(?<close>\))?$",
        RegexOptions.ExplicitCapture | RegexOptions.CultureInvariant)]
    private static partial Regex Parts();
}
