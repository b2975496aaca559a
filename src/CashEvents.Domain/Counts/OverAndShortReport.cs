namespace CashEvents.Domain.Counts;

/// <summary>An over or short that was settled.</summary>
/// <param name="Line">The line of the settlement.</param>
/// <param name="Count">The count that it settled.</param>
/// <param name="Place">Where.</param>
/// <param name="Difference">Over when positive, short when negative.</param>
/// <param name="OccurredOn">The day it was accepted.</param>
/// <param name="By">Name of the key that settled it.</param>
/// <param name="Reason">Why it was accepted.</param>
public sealed record SettledDifference(long Line, long Count, Part Place, Money Difference, DateOnly OccurredOn,
    string By, string Reason);

/// <summary>Sums of settled differences.</summary>
/// <param name="Settlements">How many.</param>
/// <param name="Over">What was over.</param>
/// <param name="Short">What was short, without its sign.</param>
public readonly record struct OverAndShortSums(int Settlements, Money Over, Money Short)
{
    /// <summary>Over less short: what it came to in the end.</summary>
    public Money Net => Over - Short;

    /// <summary>
    /// Over and short together: how much did not agree. Small net and large gross sums are mistakes that go both
    /// ways.
    /// </summary>
    public Money Gross => Over + Short;

    internal OverAndShortSums With(SettledDifference settled) => new(
        Settlements + 1,
        settled.Difference > Money.Zero ? Over + settled.Difference : Over,
        settled.Difference < Money.Zero ? Short - settled.Difference : Short);

    internal static OverAndShortSums Of(IEnumerable<SettledDifference> settled) =>
        settled.Aggregate(default(OverAndShortSums), (sums, s) => sums.With(s));
}

/// <summary>A settled difference with the sums up to it.</summary>
/// <param name="Settled">The difference.</param>
/// <param name="Running">Sums over all compartments.</param>
/// <param name="InCompartment">Sums over its compartment.</param>
public sealed record RunningDifference(SettledDifference Settled, OverAndShortSums Running,
    OverAndShortSums InCompartment);

/// <summary>The settled differences of a compartment.</summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Sums">Their sums.</param>
/// <param name="Values">The differences, in order.</param>
/// <param name="Chart">Their control chart; null with fewer than two.</param>
public sealed record CompartmentDifferences(string Compartment, OverAndShortSums Sums,
    IReadOnlyList<SettledDifference> Values, ControlChart? Chart);

/// <summary>The differences that a key settled.</summary>
/// <param name="By">Name of the key.</param>
/// <param name="Sums">Their sums.</param>
public sealed record KeyDifferences(string By, OverAndShortSums Sums);

/// <summary>The differences settled in a month.</summary>
/// <param name="Month">The month.</param>
/// <param name="Sums">Their sums.</param>
/// <param name="Running">The sums up to the month's end.</param>
public sealed record MonthDifferences(Month Month, OverAndShortSums Sums, OverAndShortSums Running);

/// <summary>
/// Over and short: what was settled over some days, by compartment, key and month, so that a habit is seen.
/// </summary>
/// <param name="Differences">In date order; within a day as written.</param>
/// <param name="Compartments">Those that had any, in the order of their first.</param>
/// <param name="Keys">Those that settled any, by name.</param>
/// <param name="Months">Those in which any was settled, in order.</param>
/// <param name="Sums">All of it.</param>
/// <param name="Chart">The control chart of all; null with fewer than two.</param>
public sealed record OverAndShortReport(
    IReadOnlyList<RunningDifference> Differences, IReadOnlyList<CompartmentDifferences> Compartments,
    IReadOnlyList<KeyDifferences> Keys, IReadOnlyList<MonthDifferences> Months,
    OverAndShortSums Sums, ControlChart? Chart)
{
    /// <summary>The report of some settled differences, whatever their order.</summary>
    public static OverAndShortReport Of(IEnumerable<SettledDifference> settled)
    {
        var inOrder = settled.OrderBy(s => s.OccurredOn).ThenBy(s => s.Line).ToList();
        return new OverAndShortReport(
            Running(inOrder),
            [.. inOrder.GroupBy(s => s.Place.Compartment)
                .Select(g => new CompartmentDifferences(g.Key, OverAndShortSums.Of(g), [.. g], ChartOf(g)))],
            [.. inOrder.GroupBy(s => s.By).OrderBy(g => g.Key, StringComparer.Ordinal)
                .Select(g => new KeyDifferences(g.Key, OverAndShortSums.Of(g)))],
            ByMonth(inOrder),
            OverAndShortSums.Of(inOrder),
            ChartOf(inOrder));
    }

    private static ControlChart? ChartOf(IEnumerable<SettledDifference> settled) =>
        ControlChart.Of([.. settled.Select(s => s.Difference)]);

    private static List<RunningDifference> Running(List<SettledDifference> settled)
    {
        var sums = default(OverAndShortSums);
        var inCompartments = new Dictionary<string, OverAndShortSums>(StringComparer.Ordinal);
        return settled.ConvertAll(s => new RunningDifference(
            s, sums = sums.With(s), inCompartments[s.Place.Compartment] =
                inCompartments.GetValueOrDefault(s.Place.Compartment).With(s)));
    }

    private static List<MonthDifferences> ByMonth(List<SettledDifference> settled)
    {
        var running = default(OverAndShortSums);
        return settled.GroupBy(s => Month.Of(s.OccurredOn))
            .Select(g => new MonthDifferences(g.Key, OverAndShortSums.Of(g),
                running = g.Aggregate(running, (sums, s) => sums.With(s)))).ToList();
    }
}
