using System.Globalization;

namespace CashEvents.Api.Months;

/// <summary>A row of a strip.</summary>
/// <param name="Row">What stands in it.</param>
/// <param name="Words">The description as printed: the kind where there is none, which holding where both are on the
/// sheet, and what corrects what.</param>
/// <param name="Rulings">How many ruled rows it takes, one or more.</param>
internal sealed record StripRow(TrackerRowAnswer Row, string Words, int Rulings);

/// <summary>A part of a tracker sheet that is cut out and kept behind the notes.</summary>
/// <param name="Opening">The balance brought forward to it.</param>
/// <param name="Rows">Its rows.</param>
/// <param name="Closing">The balance after them.</param>
/// <param name="Empty">Ruled rows that are left to go on by pencil.</param>
internal sealed record Strip(decimal Opening, IReadOnlyList<StripRow> Rows, decimal Closing, int Empty);

/// <summary>
/// A tracker sheet as strips of one size, with every row of it on one of them and room to go on by pencil on the last.
/// </summary>
/// <param name="Strips">In date order.</param>
/// <param name="AmountWidth">Width of the columns of amounts, in millimetres.</param>
/// <param name="AmountSize">Size of the amounts' letters, in points.</param>
internal sealed record TrackerStrips(IReadOnlyList<Strip> Strips, decimal AmountWidth, decimal AmountSize)
{
    /// <summary>
    /// Ruled rows that are empty at the end of the last strip, at least, where nothing else is asked for.
    /// </summary>
    public const int LeastEmpty = 3;

    /// <summary>Size of letters, in points: for reading glasses.</summary>
    public const decimal UsualSize = 9;

    /// <summary>Millimetres of the column of days.</summary>
    public const decimal DayWidth = 7;

    // In Arial a digit is 0.556 of the size wide and a usual letter half of it; a point is 0.353 mm. A fifth of a line
    // is lost where words wrap.
    private const decimal DigitWidth = 0.556m * 0.353m;
    private const decimal LetterWidth = 0.5m * UsualSize * 0.353m / 0.8m;
    private const decimal LeastForWords = 12;
    private const int LinesInARow = 2;

    /// <summary>Divides a sheet into strips.</summary>
    /// <param name="sheet">The sheet.</param>
    /// <param name="size">Their size.</param>
    /// <param name="empty">Ruled rows that are empty at the end, at least; no more than a strip has.</param>
    public static TrackerStrips Of(TrackerAnswer sheet, StripSize size, int empty = LeastEmpty)
    {
        var longest = sheet.Rows.SelectMany(r => new[] { r.Amount, r.Balance }).Append(sheet.OpeningBalance)
            .Max(a => Written.Amount(a).Length);
        var width = Math.Clamp((longest * DigitWidth * UsualSize) + 1.5m, 13,
            (size.Inside - DayWidth - LeastForWords) / 2);
        var letterSize = Math.Min(UsualSize, (width - 1.5m) / (longest * DigitWidth));
        var letters = LinesInARow * (int)((size.Inside - DayWidth - (2 * width)) / LetterWidth);
        // One row for the balance it opens with, one for the balance it ends with.
        var rulings = size.Rulings - 2;
        var rows = sheet.Rows.Select(row => (Row: row,
                // An ellipsis counts as two.
                Words: Labels.Cut(WordsOf(row, sheet.Holding), (letters * rulings) - 1)))
            .Select(r => new StripRow(r.Row, r.Words, ((Labels.Letters(r.Words) - 1) / letters) + 1));
        return new TrackerStrips([.. Divide(sheet.OpeningBalance, rows, rulings, Math.Min(empty, rulings))],
            decimal.Round(width, 1), decimal.Round(letterSize, 1));
    }

    private static IEnumerable<Strip> Divide(decimal opening, IEnumerable<StripRow> rows, int rulings, int empty)
    {
        var left = rulings;
        var filled = new List<StripRow>();
        foreach (var row in rows)
        {
            if (row.Rulings > left)
            {
                yield return new Strip(opening, filled, filled[^1].Row.Balance, 0);
                (opening, filled, left) = (filled[^1].Row.Balance, [], rulings);
            }

            filled.Add(row);
            left -= row.Rulings;
        }

        var closing = filled.Count == 0 ? opening : filled[^1].Row.Balance;
        if (left >= empty)
        {
            yield return new Strip(opening, filled, closing, left);
        }
        else
        {
            yield return new Strip(opening, filled, closing, 0);
            yield return new Strip(closing, [], closing, rulings);
        }
    }

    private static string WordsOf(TrackerRowAnswer row, Holding? only)
    {
        var words = row.Description.Length > 0 ? row.Description : Written.Heading(row.Kind);
        var bank = only is null && row.Holding == Holding.Bank ? " (bank)" : "";
        var corrections = Written.Corrections(row.Reverses, row.Amends, row.ReversedBy, row.AmendedBy).ToList();
        return words + bank + (corrections.Count == 0
            ? ""
            : string.Create(CultureInfo.InvariantCulture, $" (line {row.Line}, {string.Join(", ", corrections)})"));
    }

    /// <summary>A length or size for CSS.</summary>
    public static string Css(decimal length) => length.ToString(CultureInfo.InvariantCulture);
}
