using System.Globalization;
using System.Text;
using CsvHelper;
using CsvHelper.Configuration;

namespace CashEvents.Api.Months;

/// <summary>A tracker sheet as a CSV file (RFC 4180): its columns found by their heading, its rows as words.</summary>
/// <param name="Rows">Without blank ones, each with its number on the sheet.</param>
/// <param name="HasHolding">Whether each row names its holding.</param>
/// <param name="Notes">What was found, in words.</param>
internal sealed record SheetFile(IReadOnlyList<WrittenRow> Rows, bool HasHolding, IReadOnlyList<string> Notes)
{
    private const int MostColumns = 100;

    private static readonly (char Mark, string Name)[] _delimiters =
        [(',', "commas"), (';', "semicolons"), ('\t', "tabs")];
    private static readonly string[] _needed = ["date", "description", "balance"];
    private static readonly string[] _amounts = ["amount", "in", "out"];
    private static readonly string[] _known = [.. _needed, .. _amounts, "holding", "kind"];

    private static readonly UTF8Encoding _strict = new(encoderShouldEmitUTF8Identifier: false,
        throwOnInvalidBytes: true);

    /// <summary>The text of a file, which must be UTF-8; a byte-order mark in front is left out.</summary>
    /// <exception cref="RefusalException">It is written in something else.</exception>
    public static string Decode(ReadOnlySpan<byte> file)
    {
        try
        {
            return _strict.GetString(file);
        }
        catch (DecoderFallbackException fault)
        {
            var line = 1 + file[..Math.Clamp(fault.Index, 0, file.Length)].Count((byte)'\n');
            throw Refusal.Unfit("csv", "not-utf-8",
                $"The file is not UTF-8 (line {line} has a byte that no letter of UTF-8 has): save it as CSV UTF-8 and "
                    + $"send that.");
        }
    }

    /// <summary>Reads a file.</summary>
    /// <exception cref="RefusalException">It is no table with the columns of a tracker.</exception>
    public static SheetFile Read(string text)
    {
        text = text.TrimStart('\uFEFF');
        if (text.Contains('\0', StringComparison.Ordinal))
        {
            throw Refusal.Unfit("csv", "not-utf-8", "The file is not UTF-8 text: save it as CSV UTF-8 and send that.");
        }

        var (heading, delimiter) = Heading(text);
        var notes = new List<string>();
        if (delimiter.Mark != ',')
        {
            notes.Add($"The columns are separated by {delimiter.Name}.");
        }

        if (heading.Where(h => h.Length > 0 && !_known.Contains(h)).Distinct().ToList() is { Count: > 0 } unread)
        {
            notes.Add($"Not read: the {(unread.Count == 1 ? "column" : "columns")} {string.Join(", ", unread)}.");
        }

        var rows = new List<WrittenRow>();
        var blank = new List<int>();
        var number = 0;
        var isBelowHeading = false;
        foreach (var cells in Records(text, delimiter.Mark, whole: true))
        {
            // What is too long is not read to its end.
            if (number++ > TrackerSheet.MostRows)
            {
                throw TrackerSheet.TooLong();
            }

            if (cells.All(c => c.Length == 0))
            {
                blank.Add(number);
            }
            else if (!isBelowHeading)
            {
                isBelowHeading = true;
            }
            else if (cells.Skip(heading.Count).Any(c => c.Length > 0))
            {
                throw Refusal.Unfit("csv", "cells-too-many",
                    $"Row {number} has {cells.Length} cells, and the heading has {heading.Count}: a cell that has "
                        + $"{(delimiter.Mark == '\t' ? "a tab" : $"'{delimiter.Mark}'")} in it is written in "
                        + $"quotes{(delimiter.Mark == ',' ? ", such as \"-8,40\"" : "")}.");
            }
            else
            {
                rows.Add(Row(number, heading, cells));
            }
        }

        if (blank.Where(b => rows.Count > 0 && b < rows[^1].Number).ToList() is { Count: > 0 } within)
        {
            var rest = within.Count > 20 ? $" and {within.Count - 20} more" : "";
            notes.Add($"Left out: blank {(within.Count == 1 ? "row" : "rows")} "
                + $"{string.Join(", ", within.Take(20))}{rest}.");
        }

        return new SheetFile(rows, heading.Contains("holding"), notes);
    }

    private static (List<string> Heading, (char Mark, string Name) Delimiter) Heading(string text)
    {
        var found = _delimiters.Select(
            d => (Delimiter: d, Cells: Records(text, d.Mark, whole: false).Take(TrackerSheet.MostRows)
                .FirstOrDefault(r => r.Any(c => c.Length > 0)) ?? []))
            .Select(d => (d.Delimiter, Heading: d.Cells.Select(c => c.ToLowerInvariant()).ToList()))
            .OrderByDescending(d => d.Heading.Count(_known.Contains)).First();
        if (found.Heading.Count > MostColumns)
        {
            throw Refusal.Unfit("csv", "columns-too-many",
                $"The heading has {found.Heading.Count} cells, and at most {MostColumns} are read: leave out the "
                    + $"columns that are not needed.");
        }

        var missing = _needed.Where(n => !found.Heading.Contains(n)).ToList();
        if (!found.Heading.Any(_amounts.Contains))
        {
            missing.Add("amount");
        }

        if (missing.Count > 0)
        {
            throw Refusal.Unfit("csv", "columns-missing",
                text.All(char.IsWhiteSpace)
                    ? "The file is empty: send a sheet with the columns date, description, amount, balance."
                : $"There is no column {string.Join(", ", missing)}: the first row names the columns date, "
                    + $"description, amount (or in and out) and balance, in any order, separated by commas, semicolons "
                    + $"or tabs.");
        }

        return found.Heading.Where(_known.Contains).GroupBy(h => h)
            .FirstOrDefault(g => g.Count() > 1) is { Key: var twice }
            ? throw Refusal.Unfit("csv", "columns-twice", $"There are two columns {twice}: name one of them otherwise.")
            : found.Heading.Contains("amount") && found.Heading.Intersect(_amounts).Count() > 1
            ? throw Refusal.Unfit("csv", "columns-twice",
                "There is a column amount and one for in or out too: name the ones that are not to be read otherwise.")
            : (found.Heading, found.Delimiter);
    }

    private static WrittenRow Row(int number, List<string> heading, string[] cells)
    {
        string Cell(string column) => heading.IndexOf(column) is >= 0 and var at && at < cells.Length ? cells[at] : "";
        var (came, went) = (Cell("in"), Cell("out"));
        if (came.Length > 0 && went.Length > 0)
        {
            throw Refusal.Unfit("csv", "amount-twice",
                $"Row {number} has an amount under in and one under out: write it as two rows.");
        }

        // A spreadsheet keeps words that begin like a formula by an apostrophe before them, as this program's own
        // sheets do.
        var description = Csv.AsWritten(Cell("description"));
        return new WrittenRow(
            number, Cell("date"), description,
            heading.Contains("amount") ? Cell("amount") : went.Length > 0 ? $"-{went}" : came, Cell("balance"),
            heading.Contains("holding") ? Cell("holding") : null, Cell("kind"));
    }

    // Only once the delimiter is known does a quote in an odd place mean something.
    private static IEnumerable<string[]> Records(string text, char delimiter, bool whole)
    {
        var broken = false;
        using var csv = new CsvParser(new StringReader(text), new CsvConfiguration(CultureInfo.InvariantCulture)
        {
            Delimiter = delimiter.ToString(),
            IgnoreBlankLines = false,
            TrimOptions = TrimOptions.Trim,
            BadDataFound = _ => broken = true,
        });
        for (var number = 1; csv.Read(); number++)
        {
            var cells = csv.Record ?? [];
            broken |= csv.RawRecord.Count(letter => letter == '"') % 2 == 1;
            if (broken && whole)
            {
                throw Refusal.Unfit("csv", "quotes-open",
                    $"Row {number} has a quote that does not close, or one within words: quotes stand around a whole "
                        + $"cell, and are doubled within it.");
            }

            yield return cells;
        }
    }
}
