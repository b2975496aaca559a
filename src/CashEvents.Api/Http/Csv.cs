using System.Globalization;
using System.Net.Mime;
using System.Text;
using System.Text.RegularExpressions;
using CsvHelper;
using CsvHelper.Configuration;

namespace CashEvents.Api.Http;

/// <summary>Sheets as CSV by RFC 4180: a heading row, commas, CRLF, UTF-8.</summary>
internal static partial class Csv
{
    private static readonly CsvConfiguration Rfc4180 = new(CultureInfo.InvariantCulture) { NewLine = "\r\n" };

    public static async Task<IResult> OfAsync(IReadOnlyList<string> heading, IEnumerable<IReadOnlyList<object?>> rows)
    {
        var text = new StringWriter(CultureInfo.InvariantCulture);
        await using (var csv = new CsvWriter(text, Rfc4180))
        {
            await WriteRowAsync(csv, heading).ConfigureAwait(false);
            foreach (var row in rows)
            {
                await WriteRowAsync(csv, row).ConfigureAwait(false);
            }
        }

        return TypedResults.Text(text.ToString(), MediaTypeNames.Text.Csv + "; header=present", Encoding.UTF8);
    }

    private static async Task WriteRowAsync(CsvWriter csv, IReadOnlyList<object?> cells)
    {
        foreach (var cell in cells)
        {
            csv.WriteField(cell switch
            {
                null => "",
                string words => Inert(words),
                DateOnly day => day.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture),
                DateTimeOffset instant =>
                    instant.ToString("yyyy-MM-dd'T'HH:mm:ss.ffffff'Z'", CultureInfo.InvariantCulture),
                Enum word => char.ToLowerInvariant(word.ToString()[0]) + word.ToString()[1..],
                IFormattable number => number.ToString(null, CultureInfo.InvariantCulture),
                _ => cell.ToString(),
            });
        }

        await csv.NextRecordAsync().ConfigureAwait(false);
    }

    // At most an apostrophe before each letter; what is longer is refused as it is.
    private const int LongestInert = 2 * Domain.Naming.Words.LongestDescription;

    /// <summary>
    /// Words as they were before a sheet made them inert: a sheet that comes back says what the book says.
    /// </summary>
    public static string AsWritten(string inert) =>
        inert.Length > LongestInert ? inert : InertCell().Replace(inert, "");

    // Words that a spreadsheet would run as a formula are kept as words by an apostrophe before them.
    internal static string Inert(string words) => CellOfAFormula().Replace(words, "'");

    // Where a cell begins, also for a spreadsheet that splits at semicolons or tabs, and a formula comes after what
    // such a program may leave out:
    // blanks, quotes, control characters, direction marks and others that do not print. An apostrophe that is there
    // already gets another before it,
    // so that taking one away gives the words back. Wide and small forms of the signs (Unicode, blocks FF00 and FE50)
    // are taken for them by some.
    private const string Formula = "[\\s\\p{Cc}\\p{Cf}\"']*[=+\\-@＝＋－＠﹦﹢﹣﹫]";

    [GeneratedRegex("(?<=^|[;\t\r\n])(?=" + Formula + ")", RegexOptions.CultureInvariant)]
    private static partial Regex CellOfAFormula();

    [GeneratedRegex("(?<=^|[;\t\r\n])'(?=" + Formula + ")", RegexOptions.CultureInvariant)]
    private static partial Regex InertCell();
}
