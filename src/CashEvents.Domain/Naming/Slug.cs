using System.Globalization;
using System.Text;

namespace CashEvents.Domain.Naming;

/// <summary>Ids made from names, so that a script can say <c>ferry-fares</c>.</summary>
public static class Slug
{
    /// <summary>The longest id, in characters.</summary>
    public const int Longest = 60;

    // Latin letters that are no base letter plus an accent, so that decomposition alone would drop them.
    private static readonly Dictionary<string, string> Spelled = new()
    {
        ["ß"] = "ss",
        ["æ"] = "ae",
        ["ø"] = "o",
        ["œ"] = "oe",
        ["ł"] = "l",
        ["đ"] = "d",
        ["ð"] = "d",
        ["þ"] = "th",
        ["ı"] = "i",
    };

    /// <summary>An id as a person chose it.</summary>
    /// <exception cref="RefusalException">It is not what an id made from it would be; names that.</exception>
    public static string Named(string written, string field)
    {
        var slug = From(written);
        return slug.Length > 0 && slug == written ? written
            : throw Refusal.Unfit(field, "id-unreadable",
                $"'{written}' is no id: write small letters and digits with single hyphens between, "
                    + $"{(slug.Length > 0 ? $"such as '{slug}'." : "such as 'harbour-office'.")}",
                    slug.Length > 0 ? [slug] : []);
    }

    /// <summary>
    /// Small letters and digits of any script, with the vowel signs a script needs, and single hyphens between; empty
    /// when the name has none.
    /// </summary>
    public static string From(string name)
    {
        var slug = new StringBuilder();
        var takesMarks = false;
        foreach (var rune in Normalizable(name).Normalize(NormalizationForm.FormD).EnumerateRunes())
        {
            if (Rune.IsLetterOrDigit(rune))
            {
                var letter = Rune.ToLowerInvariant(rune).ToString();
                slug.Append(Spelled.GetValueOrDefault(letter, letter));
                takesMarks = Rune.GetUnicodeCategory(rune) == UnicodeCategory.OtherLetter;
            }
            else if (IsMark(rune))
            {
                slug.Append(takesMarks && !IsVariationSelector(rune) ? rune.ToString() : "");
            }
            else if (rune.Value is not ('\'' or '’'))
            {
                slug.Append(slug.Length > 0 && slug[^1] != '-' ? "-" : "");
                takesMarks = false;
            }
        }

        return Cut(slug.ToString().Normalize(NormalizationForm.FormC)).Trim('-');
    }

    // Letters with capitals lose their accents; in a script without capitals a mark is a vowel or changes the sound, so
    // the word needs it.
    private static bool IsMark(Rune rune) =>
        Rune.GetUnicodeCategory(rune) is UnicodeCategory.NonSpacingMark or UnicodeCategory.SpacingCombiningMark
            or UnicodeCategory.EnclosingMark;

    private static bool IsVariationSelector(Rune rune) =>
        rune.Value is >= 0xFE00 and <= 0xFE0F or >= 0xE0100 and <= 0xE01EF;

    // Normalizing throws on half a surrogate pair, which the runes replace, and on U+FFFE.
    private static string Normalizable(string name) => string.Concat(name.EnumerateRunes()).Replace('\uFFFE', '\uFFFD');

    private static string Cut(string slug) => slug.Length <= Longest ? slug
        : slug[..(char.IsHighSurrogate(slug[Longest - 1]) ? Longest - 1 : Longest)];
}
