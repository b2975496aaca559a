using System.Globalization;
using System.Text;

namespace CashEvents.Domain.Naming;

/// <summary>Ids made from names, so that a script can say <c>ferry-fares</c>.</summary>
public static class Slug
{
    /// <summary>The longest id, in characters.</summary>
    public const int Longest = 60;

    // Latin letters that are no base letter plus an accent, so that decomposition alone would drop them.
    private static readonly Dictionary<char, string> Spelled = new()
    {
        ['ß'] = "ss", ['æ'] = "ae", ['ø'] = "o", ['œ'] = "oe", ['ł'] = "l", ['đ'] = "d", ['ð'] = "d", ['þ'] = "th", ['ı'] = "i",
    };

    /// <summary>Small letters and digits of any script with single hyphens between; empty when the name has none.</summary>
    public static string From(string name)
    {
        var slug = new StringBuilder();
        foreach (var letter in Storable(name).ToLowerInvariant().Normalize(NormalizationForm.FormD))
        {
            if (char.IsLetterOrDigit(letter))
            {
                slug.Append(Spelled.TryGetValue(letter, out var spelled) ? spelled : letter.ToString());
            }
            else if (CharUnicodeInfo.GetUnicodeCategory(letter) != UnicodeCategory.NonSpacingMark && letter != '\'' && letter != '’'
                && slug.Length > 0 && slug[^1] != '-')
            {
                slug.Append('-');
            }
        }

        // Put together again a name has fewer letters than taken apart, as a Korean one shows.
        var whole = slug.ToString().Normalize(NormalizationForm.FormC);
        return whole[..Math.Min(whole.Length, Longest)].Trim('-');
    }

    // Normalizing fails on what is no character: U+FFFE, and half of a surrogate pair. No whole pair is a letter to char.IsLetterOrDigit either.
    private static string Storable(string name) => string.Concat(name.Select(c => c == '\uFFFE' || char.IsSurrogate(c) ? ' ' : c));
}
