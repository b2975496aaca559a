using System.Text.Json.Serialization;

namespace CashEvents.Api.Plans;

/// <summary>
/// A week's figures, the total of cash and bank: carried in + filled − spent + moved in − moved out + over or short +
/// corrected = left.
/// </summary>
public record WeekFiguresAnswer
{
    internal WeekFiguresAnswer(WeekFigures figures, Func<Money, decimal> say, DateOnly today, int? daysGone)
    {
        decimal? SayIf(Money? money) => money is { } m ? say(m) : null;
        Planned = SayIf(figures.Planned);
        CarriedIn = say(figures.CarriedIn);
        Filled = say(figures.Filled);
        Spent = say(figures.Spent);
        MovedIn = say(figures.MovedIn);
        MovedOut = say(figures.MovedOut);
        OverShort = say(figures.OverShort);
        Corrected = say(figures.Corrected);
        Left = say(figures.Left);
        Variance = SayIf(figures.Variance);
        CumulativeVariance = SayIf(figures.CumulativeVariance);
        PlanSpent = daysGone is null ? null : figures.PlanSpent;
        MoneyEnds = daysGone is { } gone ? figures.MoneyEnds(today, gone) : null;
    }

    /// <summary>The plan in force; absent when none is.</summary>
    public decimal? Planned { get; }

    /// <summary>Balance before its first day.</summary>
    public decimal CarriedIn { get; }

    /// <summary>Came in from outside the book.</summary>
    public decimal Filled { get; }

    /// <summary>Left to sellers, less what came back from them.</summary>
    public decimal Spent { get; }

    /// <summary>Transferred and swept in from other compartments.</summary>
    public decimal MovedIn { get; }

    /// <summary>Transferred and swept out to other compartments.</summary>
    public decimal MovedOut { get; }

    /// <summary>Settled over less settled short.</summary>
    public decimal OverShort { get; }

    /// <summary>Corrections of lines that belong to a closed month.</summary>
    public decimal Corrected { get; }

    /// <summary>Balance after its last day.</summary>
    public decimal Left { get; }

    /// <summary>Planned minus spent: negative is unfavourable. Absent without a plan.</summary>
    public decimal? Variance { get; }

    /// <summary>The variance of the year to date. Absent without a plan.</summary>
    public decimal? CumulativeVariance { get; }

    /// <summary>While the week is running: share of the plan that is spent, 1 for all of it.</summary>
    public decimal? PlanSpent { get; }

    /// <summary>
    /// While the week is running: the day on which the money ends at this pace. Absent when nothing was spent or
    /// nothing is left.
    /// </summary>
    public DateOnly? MoneyEnds { get; }
}

/// <summary>A spending compartment's week.</summary>
public sealed record WeekRowAnswer : WeekFiguresAnswer
{
    internal WeekRowAnswer(WeekRow row, Func<Money, decimal> say, DateOnly today,
        int? daysGone) : base(row.Figures, say, today, daysGone) =>
        (Compartment, Label) = (row.Compartment.Id, row.Compartment.Label);

    /// <summary>Its id.</summary>
    [JsonPropertyOrder(-2)]
    public string Compartment { get; }

    /// <summary>What is written on it.</summary>
    [JsonPropertyOrder(-1)]
    public string Label { get; }
}

/// <summary>How much of a running week is gone.</summary>
/// <param name="DaysGone">Days up to today, today too.</param>
/// <param name="Days">Days in all.</param>
/// <param name="ShareGone">Share of the days that is gone, 1 for all of them; to four decimals.</param>
public sealed record PaceAnswer(int DaysGone, int Days, decimal ShareGone);

/// <summary>A week, or the part of it that lies in a month, against its plan.</summary>
/// <param name="Week">Its name, such as <c>2026-W47</c>.</param>
/// <param name="FirstDay">Its first day.</param>
/// <param name="LastDay">Its last day.</param>
/// <param name="Compartments">Spending compartments in use, and closed ones that had money or movement.</param>
/// <param name="Totals">All of them in total. The plan and its variances are those of the compartments that have a
/// plan.</param>
/// <param name="Pace">How much of it is gone, while it is running.</param>
public sealed record WeekAnswer(string Week, DateOnly FirstDay, DateOnly LastDay,
    IReadOnlyList<WeekRowAnswer> Compartments, WeekFiguresAnswer Totals, PaceAnswer? Pace)
{
    /// <summary>The line at which the book stood; in a list of weeks it stands beside the list.</summary>
    public long? BookLine { get; init; }

    /// <summary>Sheets in this API's words.</summary>
    internal static IReadOnlyList<WeekAnswer> Of(WeekSheets read) =>
    [
        .. read.Sheets.Select(sheet => new WeekAnswer(
            sheet.Slice.Week.ToString(), sheet.Slice.First, sheet.Slice.Last,
            [.. sheet.Rows.Select(row => new WeekRowAnswer(row, Say(read), read.Today, sheet.DaysGone))],
            new WeekFiguresAnswer(sheet.Totals, Say(read), read.Today, sheet.DaysGone),
            sheet.DaysGone is { } gone
                ? new PaceAnswer(gone, sheet.Slice.Days,
                    decimal.Round((decimal)gone / sheet.Slice.Days, 4, MidpointRounding.AwayFromZero))
                : null)),
    ];

    /// <summary>Amounts in the household's currency.</summary>
    internal static Func<Money, decimal> Say(WeekSheets read) =>
        money => read.Book.Household!.Currency?.ToDecimal(money) ?? 0m;
}

/// <summary>Weeks that follow one another.</summary>
/// <param name="Weeks">In order.</param>
/// <param name="BookLine">The line at which the book stood.</param>
public sealed record WeeksAnswer(IReadOnlyList<WeekAnswer> Weeks, long BookLine);

/// <summary>A month by weeks, the first and the last cut at its borders.</summary>
/// <param name="Month">The month, as <c>2026-11</c>.</param>
/// <param name="Weeks">Its weeks, in order; a week that is cut has the plan of its days in the month.</param>
/// <param name="Compartments">Each compartment over the whole month; its cumulative variance is that of the month's
/// last day.</param>
/// <param name="Totals">All of them in total.</param>
/// <param name="BookLine">The line at which the book stood.</param>
public sealed record MonthByWeeksAnswer(string Month, IReadOnlyList<WeekAnswer> Weeks,
    IReadOnlyList<WeekRowAnswer> Compartments, WeekFiguresAnswer Totals, long BookLine)
{
    internal static MonthByWeeksAnswer Of(string month, WeekSheets read)
    {
        var rows = WeekSheet.Together(read.Sheets);
        return new MonthByWeeksAnswer(
            month, WeekAnswer.Of(read),
            [.. rows.Select(row => new WeekRowAnswer(row, WeekAnswer.Say(read), read.Today, daysGone: null))],
            new WeekFiguresAnswer(WeekSheet.Total(rows.Select(row => row.Figures)), WeekAnswer.Say(read), read.Today,
                daysGone: null),
            read.Book.Line);
    }
}
