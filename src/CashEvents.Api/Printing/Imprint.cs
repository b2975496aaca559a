using System.Globalization;

namespace CashEvents.Api.Printing;

/// <summary>
/// What every printed page says of the book that it was drawn up from, so that paper can be held against it.
/// </summary>
/// <param name="Household">The household's name.</param>
/// <param name="Zone">Where its clocks are.</param>
/// <param name="Today">Its day when the page was drawn up.</param>
/// <param name="Line">The last line that the page knows.</param>
/// <param name="Hash">That line's hash; null when it was written before lines had one.</param>
public sealed record Imprint(string Household, TimeZoneInfo Zone, DateOnly Today, long Line, string? Hash)
{
    private const int ShownOfHash = 8;

    /// <summary>The last line and the beginning of its hash: <c>line 61 9f86d081</c>.</summary>
    public string Book => string.Create(CultureInfo.InvariantCulture,
        $"line {Line}{(Hash is null ? "" : " " + Hash[..ShownOfHash])}");

    /// <summary>An instant by the household's clocks, to the minute: <c>3 Nov 2026, 17:20</c>.</summary>
    public string Instant(DateTimeOffset instant) =>
        TimeZoneInfo.ConvertTime(instant, Zone).ToString("d MMM yyyy, HH:mm", CultureInfo.InvariantCulture);

    /// <summary>
    /// Words for <c>content</c> of a style sheet. All but letters, digits and spaces is written as its number (CSS
    /// Syntax Module Level 3, section 4.3.7), so that no name ends the string or the sheet.
    /// </summary>
    internal static string InStyle(string words) => string.Concat(words.EnumerateRunes().Select(rune =>
        rune.Value == ' ' || (rune.IsAscii && char.IsAsciiLetterOrDigit((char)rune.Value))
            ? rune.ToString() : string.Create(CultureInfo.InvariantCulture, $"\\{rune.Value:X6} ")));
}
