namespace CashEvents.Domain.Plans;

/// <summary>What was spent of a compartment in a week, less refunds.</summary>
/// <param name="Week">The week.</param>
/// <param name="Spent">How much.</param>
public readonly record struct WeekSpent(Week Week, Money Spent);

/// <summary>The weekly amount that would have covered a share of a compartment's past weeks.</summary>
/// <param name="Compartment">The compartment.</param>
/// <param name="Weeks">The whole weeks it rests on: from the first that the compartment had money from its first day
/// on.</param>
/// <param name="Amount">The amount, never below zero; null when there are fewer than <see cref="FewestWeeks"/> weeks,
/// from which nothing should be guessed.</param>
public sealed record Suggestion(Compartment Compartment, IReadOnlyList<WeekSpent> Weeks, Money? Amount)
{
    /// <summary>With fewer weeks nothing is suggested.</summary>
    public const int FewestWeeks = 8;

    /// <summary>A suggestion for each spending compartment in use.</summary>
    /// <param name="sheets">Whole weeks that are over, in order; they follow one another.</param>
    /// <param name="coverage">The share of weeks to cover, from 0 to 1.</param>
    /// <param name="firstDays">The first day on which money came into each compartment of <see cref="BegunIn"/>. A week
    /// whose first days went by before that is no whole week of spending.</param>
    public static IReadOnlyList<Suggestion> Of(IReadOnlyList<WeekSheet> sheets, decimal coverage,
        IReadOnlyDictionary<string, DateOnly> firstDays) =>
    [
        .. WithMoney(sheets)
            .Select(c => (c.Compartment, Weeks: c.Weeks
                .SkipWhile(x => firstDays.TryGetValue(c.Compartment.Id, out var day) && x.Week.First < day)
                .Select(x => new WeekSpent(x.Week, x.Figures.Spent)).ToList()))
            .Where(c => !c.Compartment.Closed)
            .OrderBy(c => c.Compartment.Line)
            .Select(c => new Suggestion(c.Compartment, c.Weeks,
                c.Weeks.Count < FewestWeeks
                    ? null
                    : AtLeastNothing(Quantile([.. c.Weeks.Select(w => w.Spent)], coverage)))),
    ];

    /// <summary>
    /// The first week in which each compartment had money, of those that had none when it began: money came in it on
    /// some day, and which one the sheets do not say.
    /// </summary>
    /// <param name="sheets">Whole weeks that are over, in order; they follow one another.</param>
    public static IReadOnlyDictionary<string, Week> BegunIn(IReadOnlyList<WeekSheet> sheets) => WithMoney(sheets)
        .Where(c => c.Weeks.Count > 0 && c.Weeks[0].Figures.CarriedIn == Money.Zero)
        .ToDictionary(c => c.Compartment.Id, c => c.Weeks[0].Week);

    private static IEnumerable<(Compartment Compartment, List<(Week Week, WeekFigures Figures)> Weeks)> WithMoney(
        IReadOnlyList<WeekSheet> sheets) => sheets
        .SelectMany(sheet => sheet.Rows.Select(row => (sheet.Slice.Week, Row: row)))
        .GroupBy(x => x.Row.Compartment.Id)
        .Select(g => (g.Last().Row.Compartment,
            g.SkipWhile(x => !x.Row.Figures.HadMoney).Select(x => (x.Week, x.Row.Figures)).ToList()));

    /// <summary>
    /// A quantile by type 7 of Hyndman and Fan, Sample Quantiles in Statistical Packages (1996): the value at place (n
    /// − 1)p + 1 of the values in order,
    /// between two of them in proportion. A fraction of a minor unit counts as a whole one, so that the share is
    /// covered.
    /// </summary>
    /// <param name="values">At least one.</param>
    /// <param name="share">From 0 to 1.</param>
    public static Money Quantile(IReadOnlyList<Money> values, decimal share)
    {
        ArgumentNullException.ThrowIfNull(values);
        var ordered = values.Order().ToList();
        var place = (ordered.Count - 1) * share;
        var below = (int)decimal.Floor(place);
        var above = Math.Min(below + 1, ordered.Count - 1);
        return new Money((long)decimal.Ceiling(
            ordered[below].Minor + ((place - below) * (ordered[above].Minor - ordered[below].Minor))));
    }

    private static Money AtLeastNothing(Money amount) => amount > Money.Zero ? amount : Money.Zero;
}
