using System.Globalization;

namespace CashEvents.Sheets.Printing;

/// <summary>A balance at the end of a day.</summary>
/// <param name="Day">The household's date.</param>
/// <param name="Balance">What there was at its end.</param>
public sealed record DayBalance(DateOnly Day, decimal Balance);

/// <summary>A balance over some days, to be drawn as a line with steps.</summary>
/// <param name="Number">Its number in the table beside the chart, which its line carries too.</param>
/// <param name="Label">Whose balance it is.</param>
/// <param name="Opening">Before the first day.</param>
/// <param name="Closings">At the end of each day on which it changed, in date order.</param>
public sealed record StepLine(int Number, string Label, decimal Opening, IReadOnlyList<DayBalance> Closings)
{
    /// <summary>After the last change.</summary>
    public decimal Closing => Closings.Count == 0 ? Opening : Closings[^1].Balance;

    /// <summary>Every balance it shows.</summary>
    public IEnumerable<decimal> Balances => Closings.Select(c => c.Balance).Prepend(Opening);

    /// <summary>
    /// The line as an SVG path: from the opening at the first day's start to the closing at the last day's end,
    /// stepping in the middle of each day that changes it.
    /// </summary>
    /// <param name="first">The first day.</param>
    /// <param name="last">The last day drawn.</param>
    /// <param name="x">Where a number of days after the first day's start lies.</param>
    /// <param name="y">Where a balance lies.</param>
    internal string Path(DateOnly first, DateOnly last, Func<decimal, decimal> x, Func<decimal, decimal> y) =>
        string.Concat(
        Closings.Select(
            c => $" H{Millimetres(x(c.Day.DayNumber - first.DayNumber + 0.5m))} V{Millimetres(y(c.Balance))}")
            .Prepend($"M{Millimetres(x(0))} {Millimetres(y(Opening))}")
            .Append($" H{Millimetres(x(last.DayNumber - first.DayNumber + 1))}"));

    /// <summary>A length for SVG, to a hundredth of a millimetre.</summary>
    internal static string Millimetres(decimal length) => length.ToString("0.##", CultureInfo.InvariantCulture);
}
