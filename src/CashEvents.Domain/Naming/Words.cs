using System.Globalization;

namespace CashEvents.Domain.Naming;

/// <summary>What people write: names, labels, descriptions, reasons. Trimmed, bounded, on one line.</summary>
public static class Words
{
    /// <summary>The longest name or label, in characters.</summary>
    public const int LongestName = 80;

    /// <summary>The longest description or reason, in characters.</summary>
    public const int LongestDescription = 200;

    /// <summary>A name that must be there.</summary>
    /// <exception cref="RefusalException">Empty, too long or with control characters.</exception>
    public static string Name(string? written, string field) => Needed(Clean(written, field, LongestName), field);

    /// <summary>A description that may be left out; then it is empty.</summary>
    /// <exception cref="RefusalException">Too long or with control characters.</exception>
    public static string Description(string? written, string field = "description") =>
        Clean(written, field, LongestDescription);

    /// <summary>A reason that must be there.</summary>
    /// <exception cref="RefusalException">Empty, too long or with control characters.</exception>
    public static string Reason(string? written) => Needed(Clean(written, "reason", LongestDescription), "reason");

    private static string Needed(string words, string field) =>
        words.Any(letter => char.GetUnicodeCategory(letter) != UnicodeCategory.Format)
            ? words
            : throw Refusal.Unfit(field, "words-missing", $"`{field}` is needed: write a few words.");

    private static string Clean(string? written, string field, int longest)
    {
        var words = (written ?? "").Trim();
        if (words.Length > longest)
        {
            throw Refusal.Unfit(field, "words-too-long",
                $"`{field}` has {words.Length} characters: shorten it to {longest}.");
        }

        // Format characters can hide or reverse text on a printed sheet, and a lone surrogate can't be stored.
        for (var i = 0; i < words.Length; i++)
        {
            var category = CharUnicodeInfo.GetUnicodeCategory(words, i);
            if (category is UnicodeCategory.Control or UnicodeCategory.LineSeparator
                or UnicodeCategory.ParagraphSeparator or UnicodeCategory.Surrogate
                || IsDirectionMark(words[i]))
            {
                throw Refusal.Unfit(field, "words-unprintable",
                    $"`{field}` has a character that does not print (at position {i + 1}): write it on one line of "
                        + $"plain text.");
            }

            if (char.IsHighSurrogate(words[i]))
            {
                i++;
            }
        }

        return words;
    }

    private static bool IsDirectionMark(char letter) =>
        letter is >= '\u202A' and <= '\u202E' or >= '\u2066' and <= '\u2069';
}
