namespace CashEvents.Domain.Plans;

/// <summary>A spending compartment's week.</summary>
/// <param name="Compartment">The compartment.</param>
/// <param name="Figures">Its figures.</param>
public sealed record WeekRow(Compartment Compartment, WeekFigures Figures);

/// <summary>A week's sheet: each spending compartment against its plan.</summary>
/// <param name="Slice">The week, or the part of it that lies in a month.</param>
/// <param name="Rows">Compartments in use, and closed ones that had money or movement, in the order they were
/// opened.</param>
/// <param name="DaysGone">Days up to today, today too, while the slice is running; null before and after.</param>
public sealed record WeekSheet(WeekSlice Slice, IReadOnlyList<WeekRow> Rows, int? DaysGone)
{
    /// <summary>All rows together.</summary>
    public WeekFigures Totals => Total(Rows.Select(r => r.Figures));

    /// <summary>The sheets of slices that follow one another.</summary>
    /// <param name="book">The book: its compartments and its plan.</param>
    /// <param name="slices">What is asked for, at least one.</param>
    /// <param name="totals">The columns by these slices.</param>
    /// <param name="spentEarlier">What was spent of each compartment from the day that <see cref="YearToDate.Begins"/>
    /// gives until before the slices.</param>
    /// <param name="today">The household's today.</param>
    public static IReadOnlyList<WeekSheet> Of(Book book, IReadOnlyList<WeekSlice> slices, ColumnTotals totals,
        IReadOnlyDictionary<string, Money> spentEarlier, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        ArgumentNullException.ThrowIfNull(spentEarlier);
        ArgumentNullException.ThrowIfNull(totals);
        var spending = book.Compartments.Values.Where(c => c.Purpose == Purpose.Spending).OrderBy(c => c.Line).ToList();
        var changes = totals.Changes.ToLookup(c => (c.Place.Compartment, c.Slice));
        var earlier = WeekSlice.EarlierInItsYear(slices);
        var histories = spending.ConvertAll(c => History(
            c.Id, book.Plan, slices, changes, Opening(c.Id, totals),
            Sum(earlier.Select(slice => Planned(c.Id, book.Plan, slice))) - spentEarlier.GetValueOrDefault(c.Id)));
        return
        [
            .. slices.Select((slice, i) => new WeekSheet(
                slice,
                [.. spending.Zip(histories, (c, history) => new WeekRow(c, history[i]))
                    .Where(row => !row.Compartment.Closed || row.Figures.HadMoney)],
                slice.First <= today && today <= slice.Last ? today.DayNumber - slice.First.DayNumber + 1 : null)),
        ];
    }

    /// <summary>The sheets of a month's slices as one: each compartment's figures over all of them.</summary>
    /// <param name="sheets">In order; they follow one another.</param>
    public static IReadOnlyList<WeekRow> Together(IReadOnlyList<WeekSheet> sheets) =>
    [
        .. sheets.SelectMany(sheet => sheet.Rows)
            .GroupBy(row => row.Compartment.Id)
            .Select(rows => new WeekRow(rows.First().Compartment,
                rows.Select(r => r.Figures).Aggregate((figures, next) => figures.Then(next))))
            .OrderBy(row => row.Compartment.Line),
    ];

    /// <summary>Figures of several compartments together.</summary>
    public static WeekFigures Total(IEnumerable<WeekFigures> figures) =>
        figures.Aggregate(WeekFigures.None, (total, f) => total.And(f));

    private static List<WeekFigures> History(
        string compartment, Plan plan, IReadOnlyList<WeekSlice> slices,
        ILookup<(string Compartment, DateOnly Slice), ColumnTotal> changes, Money opening, Money? yearToDate)
    {
        var year = slices[0].Week.Year;
        var carried = opening;
        var history = new List<WeekFigures>(slices.Count);
        foreach (var slice in slices)
        {
            var columns = changes[(compartment, slice.First)].ToLookup(c => c.Column, c => c.Change);
            Money In(params Column[] of) =>
                of.SelectMany(column => columns[column]).Aggregate(Money.Zero, (sum, change) => sum + change);
            var spent = -In(Column.Spent, Column.Refunded);
            var planned = Planned(compartment, plan, slice);
            var variance = planned is { } p ? p - spent : default(Money?);
            yearToDate = Sum([slice.Week.Year == year ? yearToDate : null, variance]);
            year = slice.Week.Year;
            var figures = new WeekFigures(
                planned, carried, In(Column.Filled), spent,
                In(Column.MovedIn, Column.SweptIn), -In(Column.MovedOut, Column.SweptOut),
                In(Column.Over, Column.Short), In(Column.Corrected),
                variance, yearToDate);
            carried = figures.Left;
            history.Add(figures);
        }

        return history;
    }

    private static Money? Planned(string compartment, Plan plan, WeekSlice slice) =>
        plan.For(compartment, slice.Week.First) is { } weekly ? slice.Share(weekly.Amount) : null;

    private static Money? Sum(IEnumerable<Money?> amounts) => amounts.Aggregate(default(Money?), WeekFigures.Sum);

    private static Money Opening(string compartment, ColumnTotals totals) =>
        Enum.GetValues<Holding>()
            .Aggregate(Money.Zero, (sum, holding) =>
                sum + totals.Openings.GetValueOrDefault(new Part(compartment, holding)));
}
