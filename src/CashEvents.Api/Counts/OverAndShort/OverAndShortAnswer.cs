namespace CashEvents.Api.Counts;

/// <summary>Sums of settled differences.</summary>
/// <param name="Settlements">How many.</param>
/// <param name="Over">What was over.</param>
/// <param name="Short">What was short, without its sign.</param>
/// <param name="Net">Over less short.</param>
/// <param name="Gross">The total of over and short.</param>
public sealed record OverAndShortSumsAnswer(int Settlements, decimal Over, decimal Short, decimal Net,
    decimal Gross);

/// <summary>A settled difference with the sums up to it.</summary>
/// <param name="Line">The line of the settlement.</param>
/// <param name="CountId">The count that it settled.</param>
/// <param name="OccurredOn">The day it was accepted.</param>
/// <param name="Compartment">The compartment's id.</param>
/// <param name="Holding">Cash or bank.</param>
/// <param name="By">Name of the key that settled it.</param>
/// <param name="Reason">Why it was accepted.</param>
/// <param name="Difference">Over when positive, short when negative.</param>
/// <param name="Net">Sum of the differences up to this one.</param>
/// <param name="Gross">The same without their signs.</param>
/// <param name="CompartmentNet">Sum of its compartment's differences up to this one.</param>
/// <param name="CompartmentGross">The same without their signs.</param>
public sealed record SettledDifferenceAnswer(
    long Line, long CountId, DateOnly OccurredOn, string Compartment, Holding Holding, string By, string Reason,
    decimal Difference,
    decimal Net, decimal Gross, decimal CompartmentNet, decimal CompartmentGross);

/// <summary>
/// An individuals control chart: limits are the mean ± 2.66 × the mean moving range, computed exactly and rounded once
/// to the minor unit, halves away from zero.
/// </summary>
/// <param name="Mean">Of the differences.</param>
/// <param name="MeanMovingRange">Of the steps from each difference to the next, without their signs.</param>
/// <param name="Lower">The lower limit.</param>
/// <param name="Upper">The upper limit.</param>
/// <param name="Outside">Lines of the settlements whose difference lies outside the limits: a reason to look, and no
/// proof of anything.</param>
public sealed record ControlChartAnswer(decimal Mean, decimal MeanMovingRange, decimal Lower, decimal Upper,
    IReadOnlyList<long> Outside)
{
    /// <summary>Said when the limits rest on few differences.</summary>
    public string? Note { get; init; }
}

/// <summary>The settled differences of a compartment.</summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Sums">Their sums.</param>
public sealed record CompartmentDifferencesAnswer(string Compartment, string Label, OverAndShortSumsAnswer Sums)
{
    /// <summary>Their control chart; absent with fewer than two.</summary>
    public ControlChartAnswer? Chart { get; init; }
}

/// <summary>The differences that a key settled.</summary>
/// <param name="By">Name of the key.</param>
/// <param name="Sums">Their sums.</param>
public sealed record KeyDifferencesAnswer(string By, OverAndShortSumsAnswer Sums);

/// <summary>The differences settled in a month.</summary>
/// <param name="Month">The month.</param>
/// <param name="Sums">Their sums.</param>
/// <param name="Net">Sum of the differences up to the month's end.</param>
/// <param name="Gross">The same without their signs.</param>
public sealed record MonthDifferencesAnswer(string Month, OverAndShortSumsAnswer Sums, decimal Net, decimal Gross);

/// <summary>What was settled over and short.</summary>
/// <param name="From">The first day.</param>
/// <param name="To">The last day.</param>
/// <param name="Currency">ISO 4217 code; absent until the keeper names it.</param>
/// <param name="Differences">In date order; within a day as written.</param>
/// <param name="Compartments">Those that had any.</param>
/// <param name="Keys">Those that settled any.</param>
/// <param name="Months">Those in which any was settled.</param>
/// <param name="Sums">All of it.</param>
/// <param name="BookLine">The line at which the book stood.</param>
public sealed record OverAndShortAnswer(
    DateOnly From, DateOnly To, string? Currency, IReadOnlyList<SettledDifferenceAnswer> Differences,
    IReadOnlyList<CompartmentDifferencesAnswer> Compartments,
    IReadOnlyList<KeyDifferencesAnswer> Keys, IReadOnlyList<MonthDifferencesAnswer> Months, OverAndShortSumsAnswer Sums,
    long BookLine)
{
    /// <summary>The control chart of all; absent with fewer than two.</summary>
    public ControlChartAnswer? Chart { get; init; }

    internal static OverAndShortAnswer Of(DateOnly from, DateOnly to, OverAndShortReport report, Book book)
    {
        var currency = book.Household?.Currency;
        decimal Say(Money money) => currency?.ToDecimal(money) ?? 0m;
        OverAndShortSumsAnswer Sums(OverAndShortSums s) =>
            new(s.Settlements, Say(s.Over), Say(s.Short), Say(s.Net), Say(s.Gross));
        ControlChartAnswer? Chart(ControlChart? chart, IReadOnlyList<SettledDifference> values) => chart is null ? null
            : new ControlChartAnswer(Say(chart.Mean), Say(chart.MeanMovingRange), Say(chart.Lower), Say(chart.Upper),
                [.. chart.Outside.Select(i => values[i].Line)])
            {
                Note = values.Count < ControlChart.FewValues
                    ? $"Limits of fewer than {ControlChart.FewValues} differences move a good deal with each further "
                        + $"one."
                    : null,
            };

        return new OverAndShortAnswer(
            from, to, currency?.Code,
            [
                .. report.Differences.Select(d => new SettledDifferenceAnswer(
                    d.Settled.Line, d.Settled.Count, d.Settled.OccurredOn, d.Settled.Place.Compartment,
                    d.Settled.Place.Holding, d.Settled.By, d.Settled.Reason, Say(d.Settled.Difference),
                    Say(d.Running.Net), Say(d.Running.Gross), Say(d.InCompartment.Net),
                    Say(d.InCompartment.Gross))),
            ],
            [.. report.Compartments.Select(
                c => new CompartmentDifferencesAnswer(c.Compartment, book.Compartments[c.Compartment].Label,
                    Sums(c.Sums)) { Chart = Chart(c.Chart, c.Values) })],
            [.. report.Keys.Select(k => new KeyDifferencesAnswer(k.By, Sums(k.Sums)))],
            [.. report.Months.Select(
                m => new MonthDifferencesAnswer(m.Month.ToString(), Sums(m.Sums), Say(m.Running.Net),
                    Say(m.Running.Gross)))],
            Sums(report.Sums), book.Line)
        { Chart = Chart(report.Chart, [.. report.Differences.Select(d => d.Settled)]) };
    }
}
