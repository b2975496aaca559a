using System.Globalization;
using System.Text.RegularExpressions;

namespace CashEvents.Domain.Months;

/// <summary>In which order the figures of a date stand.</summary>
public enum DateOrder
{
    /// <summary>Day, month, year.</summary>
    DayFirst,

    /// <summary>Month, day, year.</summary>
    MonthFirst,

    /// <summary>Year, month, day.</summary>
    YearFirst,
}

/// <summary>
/// Reads the dates of a sheet. All are read in one order, and only where one order alone fits all of them or it was
/// said which: 3/10/2026 by itself is asked about.
/// </summary>
public static partial class WrittenDates
{
    /// <summary>The dates of a sheet, in its order.</summary>
    /// <param name="cells">Row numbers and what stands there.</param>
    /// <param name="said">The order, if it was said.</param>
    /// <param name="notes">Gets how they were read.</param>
    /// <exception cref="RefusalException">One can't be read, or all can be read in several ways.</exception>
    public static IReadOnlyList<DateOnly> Read(IReadOnlyList<(int Row, string Text)> cells, DateOrder? said,
        ICollection<string> notes)
    {
        ArgumentNullException.ThrowIfNull(cells);
        ArgumentNullException.ThrowIfNull(notes);
        var orders = said is { } one ? [one] : Enum.GetValues<DateOrder>();
        var unreadable = cells.Where(c => orders.All(order => Read(c.Text, order) is null)).ToList();
        if (unreadable.Count > 0)
        {
            throw Refusal.Unfit("date", "date-unreadable", unreadable[0].Text.Length == 0
                ? $"{SheetWords.Rows(unreadable.Select(c => c.Row))} {(unreadable.Count == 1 ? "has" : "have")} no "
                    + $"date: write one in each, also where it is that of the row above."
                : $"{SheetWords.Cells(unreadable)} can't be read as a "
                    + $"date{(said is { } order ? $" {Say(order)}" : "")}: write it in figures with the year, like "
                    + $"2026-11-03 or 3/11/2026.");
        }

        var readings = orders.Select(order => (Order: order, Dates: cells.Select(c => Read(c.Text, order)).ToList()))
            .Where(r => r.Dates.All(d => d is not null))
            .Select(r => (r.Order, Dates: r.Dates.ConvertAll(d => d!.Value)))
            .ToList();
        if (readings.Count == 0)
        {
            var firsts = orders.Select(order => cells.First(c => Read(c.Text, order) is null)).Distinct().ToList();
            throw Refusal.Unfit("date", "dates-mixed",
                $"The dates are written in several orders: no one order fits {SheetWords.Cells(firsts)}. Write all of "
                    + $"them in one order, best like 2026-11-03.");
        }

        if (readings.Skip(1).FirstOrDefault(
            r => !r.Dates.SequenceEqual(readings[0].Dates)) is { Dates: not null } other)
        {
            var unclear = Enumerable.Range(0, cells.Count).Where(i => readings[0].Dates[i] != other.Dates[i]).ToList();
            throw Refusal.Unfit("dateOrder", "date-order-unclear",
                $"Row {cells[unclear[0]].Row} says {cells[unclear[0]].Text}: that is "
                + string.Join(", ", readings.Select(r => $"{r.Dates[unclear[0]]:O} when read {Say(r.Order)}"))
                + $". {SheetWords.Rows(unclear.Select(i => cells[i].Row))} can be read in several ways, and no other "
                + $"date of the sheet settles it: send "
                + $"dateOrder={string.Join(" or ", readings.Select(r => Word(r.Order)))}.");
        }

        notes.Add(Evidence(cells, readings[0].Order, said));
        if (cells.Any(c => Figures().Match(c.Text) is { Success: true } m && Figure(m, 1).Length <= 2
            && Figure(m, 3).Length <= 2))
        {
            notes.Add("Years of two figures are read as 20..: 26 is 2026.");
        }

        return readings[0].Dates;
    }

    private static string Evidence(IReadOnlyList<(int Row, string Text)> cells, DateOrder order, DateOrder? said)
    {
        var orders = Enum.GetValues<DateOrder>();
        return cells.All(c => orders.All(o => Read(c.Text, o) is not null && IsYearFirst(c.Text)))
            ? "Dates are read year first: they can't be read another way."
            : said is not null ? $"Dates are read {Say(order)}, as asked."
            : cells.Where(c => orders.Count(o => Read(c.Text, o) is not null) == 1)
                .Select(c => ((int Row, string Text)?)c).FirstOrDefault() is { } proof
                ? $"Dates are read {Say(order)}: {proof.Text} in row {proof.Row} can't be read another way."
                : $"Dates are read {Say(order)}: read another way they would be the same days, or none.";
    }

    private static bool IsYearFirst(string written) =>
        Figures().Match(written) is { Success: true } m && Figure(m, 1).Length == 4;

    private static DateOnly? Read(string written, DateOrder order)
    {
        var figures = Figures().Match(written);
        if (!figures.Success)
        {
            return null;
        }

        // A year of four figures in front is the one form that has but one meaning (ISO 8601).
        var (year, month, day) = order == DateOrder.YearFirst || Figure(figures, 1).Length == 4
            ? (1, 2, 3)
            : order == DateOrder.DayFirst ? (3, 2, 1) : (3, 1, 2);
        return (Figure(figures, year).Length is 2 or 4) && Figure(figures, month).Length <= 2
            && Figure(figures, day).Length <= 2
            ? Of(Number(figures, year), Number(figures, month), Number(figures, day))
            : null;
    }

    private static DateOnly? Of(int year, int month, int day)
    {
        var full = year < 100 ? 2000 + year : year;
        return full >= 1 && month is >= 1 and <= 12 && day >= 1 && day <= DateTime.DaysInMonth(full, month)
            ? new DateOnly(full, month, day)
            : null;
    }

    private static string Figure(Match figures, int place) => figures.Groups[$"f{place}"].Value;

    private static int Number(Match figures, int place) =>
        int.Parse(Figure(figures, place), NumberStyles.None, CultureInfo.InvariantCulture);

    private static string Word(DateOrder order) =>
        order switch { DateOrder.DayFirst => "dayFirst", DateOrder.MonthFirst => "monthFirst", _ => "yearFirst" };

    private static string Say(DateOrder order) =>
        order switch { DateOrder.DayFirst => "day first", DateOrder.MonthFirst => "month first", _ => "year first" };

    [GeneratedRegex(@"^(?<f1>[0-9]{1,4})(?<mark>[-/.])(?<f2>[0-9]{1,2})\k<mark>(?<f3>[0-9]{1,4})$",
        RegexOptions.ExplicitCapture | RegexOptions.CultureInvariant)]
    private static partial Regex Figures();
}
