using System.Globalization;
using System.Net.Mime;
using System.Text;
using CsvHelper;
using CsvHelper.Configuration;

namespace CashEvents.Api.Http;

/// <summary>Sheets as CSV by RFC 4180: a heading row, commas, CRLF, UTF-8.</summary>
internal static class Csv
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
                DateTimeOffset instant => instant.ToString("yyyy-MM-dd'T'HH:mm:ss.ffffff'Z'", CultureInfo.InvariantCulture),
                Enum word => char.ToLowerInvariant(word.ToString()[0]) + word.ToString()[1..],
                IFormattable number => number.ToString(null, CultureInfo.InvariantCulture),
                _ => cell.ToString(),
            });
        }

        await csv.NextRecordAsync().ConfigureAwait(false);
    }

    // Words that a spreadsheet would run as a formula are kept as words by an apostrophe before them.
    private static string Inert(string words) => words is ['=' or '+' or '-' or '@', ..] ? "'" + words : words;
}
