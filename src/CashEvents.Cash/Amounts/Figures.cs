using System.Globalization;

namespace CashEvents.Cash.Amounts;

/// <summary>Amounts as this household's people read and write them. None is ever a binary fraction.</summary>
/// <param name="culture">Whose decimal mark is used for people.</param>
internal sealed class Figures(CultureInfo culture)
{
    // 12 digits before the mark are what the server takes.
    private const int MostDigits = 16;

    private const string Groupers = " '\u00A0\u202F";

    /// <summary>An amount for people, with the decimals that it came with.</summary>
    public string Write(decimal amount) => amount.ToString(culture).Replace(culture.NumberFormat.NegativeSign, "-",
        StringComparison.Ordinal);

    /// <summary>
    /// Reads an amount: <c>4.20</c> and <c>4,20</c> are the same. What could be two things is refused.
    /// </summary>
    /// <param name="written">What was typed.</param>
    /// <param name="fault">What is the matter and the mend; null when it was read.</param>
    public static decimal Read(string written, out string? fault)
    {
        fault = null;
        var text = written.Trim();
        var mark = text.LastIndexOfAny(['.', ',']);
        var whole = mark < 0 ? text : text[..mark];
        var decimals = mark < 0 ? "" : text[(mark + 1)..];
        var separators = whole.Where(c => !char.IsAsciiDigit(c)).Distinct().ToList();

        // 1.234.567 and 1,234,567: the last of several like marks groups too.
        if (mark >= 0 && separators is [var same] && same == text[mark])
        {
            (whole, decimals) = (text, "");
        }

        if (!IsWhole(whole, decimals.Length > 0) || !decimals.All(char.IsAsciiDigit) || (mark == text.Length - 1)
            || whole.Count(char.IsAsciiDigit) + decimals.Length > MostDigits)
        {
            fault = $"\"{written}\" is no amount. Write one such as 4.20, without a sign or a currency.";
            return 0;
        }

        if (decimals.Length == 3 && separators.Count == 0 && whole.Length is > 0 and <= 3 && whole[0] != '0')
        {
            fault = $"\"{written}\" could be {whole}{decimals} or {whole} and {decimals} thousandths. Write "
                + $"{whole}{decimals} or {whole}.{decimals}0.";
            return 0;
        }

        var digits = string.Concat(whole.Where(char.IsAsciiDigit));
        return decimal.Parse($"{(digits.Length == 0 ? "0" : digits)}.{decimals}", NumberStyles.AllowDecimalPoint,
            CultureInfo.InvariantCulture);
    }

    // Digits alone, or groups of three with one kind of mark between.
    private static bool IsWhole(string whole, bool hasDecimals)
    {
        var mark = whole.FirstOrDefault(c => !char.IsAsciiDigit(c));
        if (mark == default)
        {
            return whole.Length > 0 || hasDecimals;
        }

        var groups = whole.Split(mark);
        return (Groupers.Contains(mark, StringComparison.Ordinal) || mark is '.' or ',')
            && groups[0].Length is > 0 and <= 3 && groups[0][0] != '0'
            && groups.Skip(1).All(group => group.Length == 3) && groups.All(group => group.All(char.IsAsciiDigit));
    }
}
