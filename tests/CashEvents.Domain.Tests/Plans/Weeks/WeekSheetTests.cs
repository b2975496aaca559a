using System.Collections.Immutable;
using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Plans;

public class WeekSheetTests
{
    private static readonly DateOnly _afterwards = new(2026, 12, 1);

    private static PlanSet Plan(DateOnly from, params (string Compartment, decimal Amount)[] amounts) =>
        new(from, amounts.ToImmutableSortedDictionary(a => a.Compartment, a => Eur(a.Amount), StringComparer.Ordinal));

    private static IReadOnlyList<WeekSheet> Sheets(IEnumerable<IBookEvent> lines, IReadOnlyList<WeekSlice> slices,
        DateOnly today)
    {
        var book = Given([.. lines]).Book;
        var movements = lines.OfType<IMovement>().ToList();
        return WeekSheet.Of(
            book, slices, ColumnTotals.Of(movements, [.. slices.Select(s => s.First)], slices[^1].Last),
            YearToDate.Spent(movements, YearToDate.Begins(book, slices), slices[0].First), today);
    }

    private static WeekSheet Sheet(string week, DateOnly today, params IBookEvent[] lines) =>
        Sheets(lines, [WeekSlice.Whole(Week.Read(week, DayOfWeek.Monday, "week"))], today).Single();

    private static WeekFigures Ferries(WeekSheet sheet) => sheet.Rows.Single(r => r.Compartment.Id == Ferry).Figures;

    [Fact]
    public void Every_figure_of_a_week_stands_in_its_column()
    {
        // 2026-W39: 21 to 27 September.
        var ferry = Ferries(Sheet("2026-W39", _afterwards,
            Plan(Sept(21), (Ferry, 25m)),
            Fill(Ferry, 40m, Sept(20)), Spend(Ferry, 2.50m, Sept(20)),
            Fill(Ferry, 60m, Sept(21)), Fill(Ferry, 5m, Sept(22), Holding.Bank),
            Spend(Ferry, 28.40m, Sept(23)), Refund(Ferry, 1.20m, Sept(27)),
            Transfer(Cash(Market), Cash(Ferry), 7m, Sept(24)), Transfer(Cash(Ferry), Bank(Boat), 3m, Sept(24)),
            Sweep(Cash(Ferry), Cash(Van), 2m, Sept(25)),
            Transfer(Cash(Ferry), Bank(Ferry), 10m, Sept(25)),
            Count(Ferry, 81.10m, 80.80m, Sept(26)), Settle(30, Ferry, -0.30m, Sept(26)),
            Settle(31, Ferry, 0.05m, Sept(27)),
            Spend(Ferry, 99m, Sept(28))));

        Assert.Equal(
            new WeekFigures(Eur(25m), CarriedIn: Eur(37.50m), Filled: Eur(65m), Spent: Eur(27.20m), MovedIn: Eur(7m),
                MovedOut: Eur(5m), OverShort: Eur(-0.25m), Corrected: Eur(0m), Variance: Eur(-2.20m),
                CumulativeVariance: Eur(-2.20m)),
            ferry);
        Assert.Equal(Eur(77.05m), ferry.Left);
    }

    // SUNY, Managerial Accounting, 7.10 "The Performance Report": supplies budgeted at 2,000 and used for 1,900 are 100
    // favorable;
    // against the flexible budget of 1,800 the same 1,900 are 100 unfavorable. CourseEagle, "Budget variance": 5,000 a
    // week allotted for material and 5,120 used are 120 unfavorable.
    [Theory]
    [InlineData(2000, 1900, 100)]
    [InlineData(1800, 1900, -100)]
    [InlineData(5000, 5120, -120)]
    public void Spending_less_than_planned_is_favourable_and_above_zero_spending_more_is_unfavourable_and_below(
        int planned, int spent, int variance) =>
        Assert.Equal(Eur(variance),
            Ferries(Sheet("2026-W39", _afterwards, Plan(Sept(21), (Ferry, planned)), Fill(Ferry, 6000m, Sept(1)),
                Spend(Ferry, spent, Sept(22)))).Variance);

    [Fact]
    public void The_year_to_date_is_counted_from_the_first_week_with_a_plan()
    {
        var sheets = Sheets(
            [
                Fill(Ferry, 500m, Sept(1)), Spend(Ferry, 99m, Sept(2)),
                Plan(Sept(7), (Ferry, 25m)), Spend(Ferry, 30m, Sept(8)), Spend(Ferry, 10m, Sept(15)),
                Plan(Sept(21), (Ferry, 40m)), Spend(Ferry, 44m, Sept(22)),
            ],
            WeekSlice.Whole(new Week(new DateOnly(2026, 8, 31)), new Week(Sept(28))), _afterwards);

        Assert.Equal([null, Eur(25m), Eur(25m), Eur(40m), Eur(40m)], sheets.Select(s => Ferries(s).Planned));
        Assert.Equal([null, Eur(-5m), Eur(15m), Eur(-4m), Eur(40m)], sheets.Select(s => Ferries(s).Variance));
        Assert.Equal([null, Eur(-5m), Eur(10m), Eur(6m), Eur(46m)], sheets.Select(s => Ferries(s).CumulativeVariance));
    }

    [Fact]
    public void The_year_to_date_begins_anew_with_the_first_week_of_a_year()
    {
        IBookEvent[] lines = [Plan(new DateOnly(2026, 12, 21), (Ferry, 25m)), Fill(Ferry, 100m, Sept(1)),
            Spend(Ferry, 5m, new DateOnly(2027, 1, 3)), Spend(Ferry, 26m, new DateOnly(2027, 1, 4))];

        var sheets = Sheets(lines,
            WeekSlice.Whole(new Week(new DateOnly(2026, 12, 21)), new Week(new DateOnly(2027, 1, 11))),
            new DateOnly(2027, 2, 1));

        Assert.Equal(["2026-W52", "2026-W53", "2027-W01", "2027-W02"], sheets.Select(s => s.Slice.Week.ToString()));
        Assert.Equal([Eur(25m), Eur(45m), Eur(-1m), Eur(24m)], sheets.Select(s => Ferries(s).CumulativeVariance));
        Assert.All(sheets, sheet => Assert.Equal(
            Ferries(sheet), Ferries(Sheets(lines, [sheet.Slice], new DateOnly(2027, 2, 1)).Single())));
    }

    [Fact]
    public void A_plan_of_nothing_is_a_plan()
    {
        var ferry = Ferries(Sheet("2026-W39", Sept(22), Plan(Sept(21), (Ferry, 0m)), Fill(Ferry, 60m, Sept(1)),
            Spend(Ferry, 8.40m, Sept(22))));

        Assert.Equal((Eur(0m), Eur(-8.40m), null), (ferry.Planned, ferry.Variance, ferry.PlanSpent));
    }

    [Fact]
    public void Totals_add_up_every_column_and_the_plans_of_those_that_have_one()
    {
        var sheet = Sheet("2026-W39", _afterwards,
            Plan(Sept(21), (Ferry, 25m)), Fill(Ferry, 60m, Sept(1)), Fill(Market, 80m, Sept(21)),
            Spend(Ferry, 20m, Sept(22)), Spend(Market, 50m, Sept(22)),
            Transfer(Cash(Market), Cash(Ferry), 4m, Sept(23)));

        Assert.Equal(
            new WeekFigures(Eur(25m), Eur(60m), Eur(80m), Eur(70m), Eur(4m), Eur(4m), Eur(0m), Eur(0m), Eur(5m),
                Eur(5m)),
            sheet.Totals);
        Assert.Equal(Eur(70m), sheet.Totals.Left);
        Assert.Equal(0.8m, sheet.Totals.PlanSpent);
        Assert.Null(Sheet("2026-W39", _afterwards, Fill(Ferry, 60m, Sept(1))).Totals.Variance);
    }

    [Fact]
    public void Only_spending_compartments_are_on_the_sheet_and_closed_ones_only_where_they_had_money_or_movement()
    {
        IBookEvent[] lines = [Fill(Market, 10m, Sept(14)), Spend(Market, 10m, Sept(22)), new CompartmentClosed(Market),
            Fill(Van, 50m, Sept(22)), Fill(Boat, 50m, Sept(22))];

        string[] On(string week) => [.. Sheet(week, _afterwards, lines).Rows.Select(r => r.Compartment.Id)];
        Assert.Equal([Ferry], On("2026-W37"));
        Assert.Equal([Ferry, Market], On("2026-W38"));
        Assert.Equal([Ferry, Market], On("2026-W39"));
        Assert.Equal([Ferry], On("2026-W40"));
    }

    [Fact]
    public void An_undone_spend_is_not_spent_and_a_closed_months_one_is_corrected_in_the_open_month()
    {
        var undone = new Reversed(new Correction(9), MovementKind.Spend, [new Posting(Cash(Ferry), Eur(8.40m))],
            Sept(22), "Never happened");
        var closed = new Reversed(new Correction(10, new DateOnly(2026, 8, 3)), MovementKind.Spend,
            [new Posting(Cash(Ferry), Eur(2m))], Sept(23), "Never happened");

        var ferry = Ferries(Sheet("2026-W39", _afterwards, Fill(Ferry, 60m, Sept(1)),
            Spend(Ferry, 2m, new DateOnly(2026, 8, 3)), Spend(Ferry, 8.40m, Sept(22)), undone, closed));

        Assert.Equal((Eur(0m), Eur(2m), Eur(58m), Eur(60m)),
            (ferry.Spent, ferry.Corrected, ferry.CarriedIn, ferry.Left));
    }

    [Theory]
    [InlineData(20, null)]
    [InlineData(21, 1)]
    [InlineData(24, 4)]
    [InlineData(27, 7)]
    [InlineData(28, null)]
    public void A_week_runs_from_its_first_day_to_its_last_with_today_gone(int today, int? gone) =>
        Assert.Equal(gone, Sheet("2026-W39", Sept(today), Fill(Ferry, 60m, Sept(1))).DaysGone);

    // Five a day, so far: what is left is spent five a day from tomorrow on.
    [Theory]
    [InlineData("40", 24, "2026-09-28")]
    [InlineData("25", 24, "2026-09-25")]
    [InlineData("20.01", 24, "2026-09-25")]
    [InlineData("20", 24, null)]
    [InlineData("100", 24, "2026-10-10")]
    [InlineData("100.01", 24, "2026-10-11")]
    public void At_this_pace_the_money_ends_on_the_day_that_takes_the_last_of_it(string filled, int today, string? ends)
    {
        var ferry = Ferries(Sheet("2026-W39", Sept(today), Fill(Ferry, decimal.Parse(filled), Sept(1)),
            Spend(Ferry, 20m, Sept(22))));

        Assert.Equal(ends, ferry.MoneyEnds(Sept(today), 4)?.ToString("yyyy-MM-dd"));
    }

    [Fact]
    public void Nothing_ends_where_nothing_is_spent_or_the_calendar_ends_first()
    {
        Assert.Null(Ferries(Sheet("2026-W39", Sept(24), Fill(Ferry, 60m, Sept(1)))).MoneyEnds(Sept(24), 4));
        Assert.Null(Ferries(Sheet("2026-W39", Sept(24), Fill(Ferry, 60m, Sept(1)), Spend(Ferry, 1m, Sept(22)),
            Refund(Ferry, 2m, Sept(22)))).MoneyEnds(Sept(24), 4));
        Assert.Null(Ferries(Sheet("2026-W39", Sept(24), Fill(Ferry, 9_999_999m, Sept(1)),
            Spend(Ferry, 0.01m, Sept(22)))).MoneyEnds(Sept(24), 4));
    }

    [Theory]
    [InlineData(25, 20, "0.8")]
    [InlineData(25, 0, "0")]
    [InlineData(25, 50, "2")]
    [InlineData(30, 20, "0.6667")]
    public void The_share_of_the_plan_that_is_spent_is_told_to_four_decimals(int planned, int spent, string share)
    {
        IBookEvent[] lines = spent == 0 ? [] : [Spend(Ferry, spent, Sept(22))];

        Assert.Equal(decimal.Parse(share),
            Ferries(Sheet("2026-W39", Sept(24),
                [Plan(Sept(21), (Ferry, planned)), Fill(Ferry, 60m, Sept(1)), .. lines])).PlanSpent);
    }

    [Fact]
    public void A_month_is_its_slices_together()
    {
        var sheets = Sheets(
            [Plan(Sept(7), (Ferry, 25m)), Fill(Ferry, 90m, Sept(1)), Spend(Ferry, 30m, Sept(8)),
                Spend(Ferry, 10m, Sept(30)), Fill(Market, 5m, Sept(14)), Spend(Market, 5m, Sept(14)),
                new CompartmentClosed(Market), Spend(Ferry, 7m, new DateOnly(2026, 10, 1))],
            WeekSlice.Of(new Month(Sept(1)), DayOfWeek.Monday), _afterwards);

        var month = WeekSheet.Together(sheets);

        Assert.Equal([Ferry, Market], month.Select(r => r.Compartment.Id));
        // Three whole weeks and three sevenths of one: 75.00 + 10.71.
        Assert.Equal(
            new WeekFigures(Eur(85.71m), Eur(0m), Eur(90m), Eur(40m), Eur(0m), Eur(0m), Eur(0m), Eur(0m), Eur(45.71m),
                Eur(45.71m)),
            month[0].Figures);
        Assert.Equal(Eur(50m), month[0].Figures.Left);
        Assert.Equal((Eur(5m), Eur(5m), Eur(0m)),
            (month[1].Figures.Filled, month[1].Figures.Spent, month[1].Figures.Left));
    }
}
