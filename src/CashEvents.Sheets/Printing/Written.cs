using System.Globalization;
using System.Text.RegularExpressions;

namespace CashEvents.Sheets.Printing;

/// <summary>How figures and days are written on paper.</summary>
public static partial class Written
{
    private const string Minus = "\u2212";

    /// <summary>The hand in which paper is written.</summary>
    public static IHand Hand { get; } = new OnPaper();

    /// <summary>Nothing, as a ledger writes it: a dash, so that the eye finds what is there.</summary>
    public const string Nil = "\u2013";

    /// <summary>An amount with its currency's decimals, thousands apart: <c>1,234.50</c>.</summary>
    public static string Amount(decimal amount) =>
        amount.ToString("N" + amount.Scale, CultureInfo.InvariantCulture).Replace("-", Minus, StringComparison.Ordinal);

    /// <summary>An amount in a column of figures: a dash where there is nothing.</summary>
    public static string Figure(decimal amount) => amount == 0 ? Nil : Amount(amount);

    /// <summary>A mark on a scale: only the decimals it needs.</summary>
    public static string Mark(decimal value) =>
        value.ToString("#,##0.###", CultureInfo.InvariantCulture).Replace("-", Minus, StringComparison.Ordinal);

    /// <summary>A day of a known month, <c>3 Nov</c>.</summary>
    public static string Day(DateOnly day) => day.ToString("d MMM", CultureInfo.InvariantCulture);

    /// <summary>A day with its year, <c>3 Nov 2026</c>.</summary>
    public static string DayOfYear(DateOnly day) => day.ToString("d MMM yyyy", CultureInfo.InvariantCulture);

    /// <summary>A day that something is done on, <c>Tue 3 Nov 2026</c>.</summary>
    public static string WeekDay(DateOnly day) => day.ToString("ddd d MMM yyyy", CultureInfo.InvariantCulture);

    /// <summary>A sentence with what is written on compartments and wallets, in the stead of their ids.</summary>
    public static string InLabels(string sentence, Book book) => Named().Replace(sentence, named =>
        book.Compartments.TryGetValue(named.Groups[1].Value, out var compartment) ? compartment.Label
        : book.Wallets.TryGetValue(named.Groups[1].Value, out var wallet) ? wallet.Label
        : named.Value);

    [GeneratedRegex("'([a-z0-9-]+)'")]
    private static partial Regex Named();

    /// <summary>A day as the API writes it, <c>2026-11-03</c>.</summary>
    public static string Date(DateOnly day) => day.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture);

    /// <summary>Days from one to another, <c>16–22 Nov 2026</c>.</summary>
    public static string Days(DateOnly first, DateOnly last)
    {
        var start = first == last ? ""
            : first.Year != last.Year ? $"{first.ToString("d MMM yyyy", CultureInfo.InvariantCulture)} – "
            : first.Month != last.Month ? $"{Day(first)} – "
            : $"{first.Day}–";
        return start + last.ToString("d MMM yyyy", CultureInfo.InvariantCulture);
    }

    /// <summary>A share, to a whole percent.</summary>
    public static string Percent(decimal share) =>
        decimal.Round(share * 100, MidpointRounding.AwayFromZero).ToString("#,##0", CultureInfo.InvariantCulture)
            .Replace("-", Minus, StringComparison.Ordinal) + " %";

    /// <summary>A month in full, <c>November 2026</c>.</summary>
    public static string MonthName(DateOnly first) => first.ToString("MMMM yyyy", CultureInfo.InvariantCulture);

    /// <summary>So many of something, <c>1 day</c> or <c>3 days</c>.</summary>
    public static string Many(int count, string one) =>
        $"{count.ToString(CultureInfo.InvariantCulture)} {one}{(count == 1 ? "" : "s")}";

    /// <summary>A word of the API, <c>movedIn</c>, as on a heading: <c>moved in</c>.</summary>
    public static string Heading(string word) =>
        string.Concat(word.Select(
            letter => char.IsUpper(letter) ? " " + char.ToLowerInvariant(letter) : letter.ToString()));

    /// <summary>How a line is bound to others by corrections: whichever of the four there are.</summary>
    /// <param name="reverses">The line that it undoes.</param>
    /// <param name="amends">The line that it replaces.</param>
    /// <param name="reversedBy">The line that undoes it.</param>
    /// <param name="amendedBy">The line that replaces it.</param>
    public static IEnumerable<string> Corrections(long? reverses, long? amends, long? reversedBy, long? amendedBy) =>
        from mark in new[] { ("undoes", reverses), ("instead of", amends), ("undone by", reversedBy),
            ("replaced by", amendedBy) }
        where mark.Item2 is not null
        select string.Create(CultureInfo.InvariantCulture, $"{mark.Item1} {mark.Item2}");

    private sealed class OnPaper : IHand
    {
        public string Amount(decimal amount) => Written.Amount(amount);

        public string Mark(decimal value) => Written.Mark(value);

        public string DayOfYear(DateOnly day) => Written.DayOfYear(day);

        public string ShortMonth(DateOnly first) => first.ToString("MMM", CultureInfo.InvariantCulture);
    }
}
