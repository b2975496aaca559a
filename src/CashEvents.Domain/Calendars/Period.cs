using System.Globalization;
using System.Text.RegularExpressions;

namespace CashEvents.Domain.Calendars;

/// <summary>
/// How far apart things are that come again and again: an ISO 8601 duration of one unit, such as <c>P1M</c>, <c>P2W</c>
/// or <c>P1Y</c>.
/// </summary>
/// <param name="Count">How many units, above zero; ten years at most.</param>
/// <param name="Unit"><c>D</c>, <c>W</c>, <c>M</c> or <c>Y</c>, as ISO 8601 writes days, weeks, months and
/// years.</param>
public readonly partial record struct Period(int Count, char Unit)
{
    private const int MostYears = 10;

    /// <summary>Reads a period as it is written.</summary>
    /// <exception cref="RefusalException">It is none, or longer than ten years.</exception>
    public static Period Read(string written, string field)
    {
        if (!Form().IsMatch(written))
        {
            throw Refusal.Unfit(field, "period-unreadable",
                $"`{field}` is an ISO 8601 duration of one unit: P1M for every month, P2W for every second week, P1Y "
                    + $"for every year, P10D for every tenth day.");
        }

        var period = Of(written);
        return period.Count <= Most(period.Unit) ? period
            : throw Refusal.Unfit(field, "period-too-long", $"`{field}` is at most {MostYears} years.");
    }

    /// <summary>A period that was read before.</summary>
    public static Period Of(string written)
    {
        ArgumentNullException.ThrowIfNull(written);
        return new Period(int.Parse(written.AsSpan(1, written.Length - 2), CultureInfo.InvariantCulture), written[^1]);
    }

    /// <summary>
    /// The day that is so many periods after a first one. Months are counted from the first day, so that one on a 31st
    /// comes back to it after a shorter month.
    /// </summary>
    public DateOnly After(DateOnly first, int times) => Unit switch
    {
        'D' => first.AddDays(Count * times),
        'W' => first.AddDays(7 * Count * times),
        'M' => first.AddMonths(Count * times),
        _ => first.AddYears(Count * times),
    };

    /// <summary>As it is written.</summary>
    public override string ToString() => string.Create(CultureInfo.InvariantCulture, $"P{Count}{Unit}");

    private static int Most(char unit) => MostYears * unit switch { 'D' => 366, 'W' => 52, 'M' => 12, _ => 1 };

    [GeneratedRegex(@"\AP[1-9][0-9]{0,3}[DWMY]\z")]
    private static partial Regex Form();
}
