using System.Globalization;
using System.Text.RegularExpressions;

namespace CashEvents.Page.Naming;

/// <summary>How the reader's language writes numbers and days, as the browser tells it.</summary>
public sealed record Language(string Tongue, string Decimal, string Group, string[] Months, string[] ShortMonths,
    string[] Days, string[] ShortDays, bool MonthFirst, bool Clock12);

/// <summary>Writes and reads amounts and days as the reader does.</summary>
public sealed partial class Speech(Language language) : IHand
{
    private const char Minus = '\u2212';

    /// <summary>What stands between whole units and the rest.</summary>
    public string Decimal => language.Decimal;

    /// <summary>The reader's language, such as <c>de-AT</c>.</summary>
    public string Tongue => language.Tongue;

    /// <summary>An amount with the currency's decimals, such as <c>1,234.50</c>.</summary>
    public string Figure(Money amount, Currency currency) => Figure(currency.ToDecimal(amount), currency.Exponent);

    /// <summary>An amount with so many decimals.</summary>
    public string Figure(decimal amount, int decimals)
    {
        var format = (NumberFormatInfo)NumberFormatInfo.InvariantInfo.Clone();
        format.NumberDecimalSeparator = language.Decimal;
        format.NumberGroupSeparator = language.Group;
        format.NegativeSign = Minus.ToString();
        return amount.ToString("N" + decimals.ToString(CultureInfo.InvariantCulture), format);
    }

    /// <inheritdoc />
    public string Amount(decimal amount) => Figure(amount, amount.Scale);

    /// <inheritdoc />
    public string Mark(decimal value) => Figure(value / 1.000000000000m, (value / 1.000000000000m).Scale);

    /// <summary>A note's or coin's face value, such as <c>50</c> or <c>0.20</c>.</summary>
    public string Face(Money value, Currency currency) =>
        currency.ToDecimal(value) is var face && face == decimal.Truncate(face)
            ? Figure(face, 0) : Figure(face, currency.Exponent);

    /// <summary>A day within a year, such as <c>20 Nov</c>.</summary>
    public string Day(DateOnly day) => InOrder(Number(day.Day), language.ShortMonths[day.Month - 1]);

    /// <summary>A day with its weekday, such as <c>Sat 28 Nov</c>.</summary>
    public string WeekDay(DateOnly day) => $"{language.ShortDays[(int)day.DayOfWeek]} {Day(day)}";

    /// <summary>A weekday by itself, such as <c>Friday</c>.</summary>
    public string WeekDay(DayOfWeek day) => language.Days[(int)day];

    /// <summary>A day with its year.</summary>
    public string DayOfYear(DateOnly day) => $"{Day(day)} {Number(day.Year)}";

    /// <summary>A sentence with its days, such as 2026-11-16, as the reader writes them.</summary>
    public string InDays(string sentence) => AnyDay().Replace(sentence, day => DateOnly.TryParseExact(day.Value, "O",
        CultureInfo.InvariantCulture, DateTimeStyles.None, out var read) ? DayOfYear(read) : day.Value);

    /// <summary>A month with its year, such as <c>November 2026</c>.</summary>
    public string Month(Month month) => $"{language.Months[month.First.Month - 1]} {Number(month.First.Year)}";

    /// <inheritdoc />
    public string ShortMonth(DateOnly first) => language.ShortMonths[first.Month - 1];

    /// <summary>A time of day.</summary>
    public string Time(DateTime time) => time.ToString(language.Clock12 ? "h:mm tt" : "HH:mm",
        CultureInfo.InvariantCulture);

    /// <summary>
    /// An amount as somebody wrote it: with a comma or a point before one to three decimals, with or without groups.
    /// </summary>
    /// <returns>Null for what is no amount.</returns>
    public decimal? Read(string? written)
    {
        var text = Blank().Replace(written ?? "", "").Replace(Minus, '-');
        var last = text.LastIndexOfAny([',', '.']);
        // A sign that stands once, before three digits, groups them where the language groups with it.
        var groups = last >= 0 && text.Length - last == 4 && text.IndexOfAny([',', '.']) == last
            && text[last].ToString() == language.Group && text[..last].TrimStart('-') is { Length: > 0 } and not "0";
        var plain = last < 0 || groups
            ? text.Replace(",", "", StringComparison.Ordinal).Replace(".", "", StringComparison.Ordinal)
            : text[..last].Replace(",", "", StringComparison.Ordinal).Replace(".", "", StringComparison.Ordinal)
                + "." + text[(last + 1)..];
        return Plain().IsMatch(plain) && decimal.TryParse(plain, NumberStyles.AllowDecimalPoint
            | NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture, out var amount) ? amount : null;
    }

    private string InOrder(string day, string month) => language.MonthFirst ? $"{month} {day}" : $"{day} {month}";

    private static string Number(int number) => number.ToString(CultureInfo.InvariantCulture);

    [GeneratedRegex(@"\b\d{4}-\d{2}-\d{2}\b")]
    private static partial Regex AnyDay();

    [GeneratedRegex(@"[\s\u00A0\u202F'’]")]
    private static partial Regex Blank();

    [GeneratedRegex(@"^-?[0-9]{0,12}(\.[0-9]{0,3})?$")]
    private static partial Regex Plain();
}
