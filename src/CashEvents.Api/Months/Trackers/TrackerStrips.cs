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
    /// Ruled rows between the heading and the foot of a strip: 160 mm, less 6 mm of margin, 15 mm of heading and 5 mm
    /// of column heads, at 6 mm a row.
    /// </summary>
    public const int Rulings = 22;

    /// <summary>Ruled rows that are empty at the end of the last strip, at least.</summary>
    public const int LeastEmpty = 3;

    // Millimetres: 80 less 6 of margin and 10 of dates are left to words and amounts.
    private const decimal WordsAndAmounts = 64;
    private const decimal UsualSize = 7.5m;

    // In Arial a digit is 0.556 of the size wide and a usual letter half of it; a point is 0.353 mm. Words are 7
    // points, and a fifth of a line is lost where they wrap.
    private const decimal DigitWidth = 0.556m * 0.353m;
    private const decimal LetterWidth = 0.5m * 7 * 0.353m / 0.8m;
    private const int LinesInARow = 2;

    /// <summary>Divides a sheet into strips.</summary>
    public static TrackerStrips Of(TrackerAnswer sheet)
    {
        var longest = sheet.Rows.SelectMany(r => new[] { r.Amount, r.Balance }).Append(sheet.OpeningBalance)
            .Max(a => Written.Amount(a).Length);
        var width = Math.Clamp((longest * DigitWidth * UsualSize) + 1.5m, 13, 24);
        var size = Math.Min(UsualSize, (width - 1.5m) / (longest * DigitWidth));
        var letters = LinesInARow * (int)((WordsAndAmounts - (2 * width)) / LetterWidth);
        var rows = sheet.Rows.Select(row => (Row: row, Words: WordsOf(row, sheet.Holding)))
            .Select(r => new StripRow(r.Row, r.Words, ((Labels.Letters(r.Words) - 1) / letters) + 1));
        return new TrackerStrips([.. Divide(sheet.OpeningBalance, rows)], decimal.Round(width, 1),
            decimal.Round(size, 1));
    }

    private static IEnumerable<Strip> Divide(decimal opening, IEnumerable<StripRow> rows)
    {
        // One row for the balance it opens with, one for the balance it ends with.
        var left = Rulings - 2;
        var filled = new List<StripRow>();
        foreach (var row in rows)
        {
            if (row.Rulings > left)
            {
                yield return new Strip(opening, filled, filled[^1].Row.Balance, 0);
                (opening, filled, left) = (filled[^1].Row.Balance, [], Rulings - 2);
            }

            filled.Add(row);
            left -= row.Rulings;
        }

        var closing = filled.Count == 0 ? opening : filled[^1].Row.Balance;
        if (left >= LeastEmpty)
        {
            yield return new Strip(opening, filled, closing, left);
        }
        else
        {
            yield return new Strip(opening, filled, closing, 0);
            yield return new Strip(closing, [], closing, Rulings - 2);
        }
    }

    private static string WordsOf(TrackerRowAnswer row, Holding? only)
    {
        var words = row.Description.Length > 0 ? row.Description : row.Kind;
        var bank = only is null && row.Holding == Holding.Bank ? " (bank)" : "";
        var corrections = Written.Corrections(row.Reverses, row.Amends, row.ReversedBy, row.AmendedBy).ToList();
        return words + bank + (corrections.Count == 0
            ? ""
            : string.Create(CultureInfo.InvariantCulture, $" (line {row.Line}, {string.Join(", ", corrections)})"));
    }

    /// <summary>A length or size for CSS.</summary>
    public static string Css(decimal length) => length.ToString(CultureInfo.InvariantCulture);
}
