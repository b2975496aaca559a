namespace CashEvents.Domain.Plans;

/// <summary>
/// The figures of a week, cash and bank together. Carried in, plus filled, less spent, plus moved in, less moved out,
/// plus over or short, plus corrected, is what is left.
/// </summary>
/// <param name="Planned">The plan in force, for the days of the slice; null when none is.</param>
/// <param name="CarriedIn">Balance before its first day.</param>
/// <param name="Filled">Came in from outside the book.</param>
/// <param name="Spent">Left to sellers, less what came back from them.</param>
/// <param name="MovedIn">Transferred and swept in from other compartments; between cash and bank of the same
/// compartment nothing moves in or out.</param>
/// <param name="MovedOut">Transferred and swept out to other compartments.</param>
/// <param name="OverShort">Settled over less settled short.</param>
/// <param name="Corrected">Corrections of lines that belong to a closed month.</param>
/// <param name="Variance">Planned less spent: what is above zero is favourable, what is below unfavourable. Null
/// without a plan.</param>
/// <param name="CumulativeVariance">Variance of the year to date: of each week of the week's year, from the first with
/// a plan. Null without a plan.</param>
public sealed record WeekFigures(
    Money? Planned, Money CarriedIn, Money Filled, Money Spent, Money MovedIn, Money MovedOut, Money OverShort,
    Money Corrected, Money? Variance, Money? CumulativeVariance)
{
    /// <summary>Nothing at all.</summary>
    public static WeekFigures None { get; } = new(null, default, default, default, default, default, default, default,
        null, null);

    /// <summary>Balance after its last day.</summary>
    public Money Left => CarriedIn + Filled - Spent + MovedIn - MovedOut + OverShort + Corrected;

    /// <summary>
    /// How much of the plan is spent: 1 is all of it. To four decimals; null without a plan or with one of nothing.
    /// </summary>
    public decimal? PlanSpent => Planned is { Minor: > 0 } planned && Variance is { } variance
        ? decimal.Round((decimal)(planned - variance).Minor / planned.Minor, 4, MidpointRounding.AwayFromZero)
        : null;

    /// <summary>Whether there was any money or anything changed.</summary>
    public bool HadMoney => (CarriedIn, Filled, Spent, MovedIn, MovedOut, OverShort, Corrected) != default;

    /// <summary>
    /// The figures of two compartments together. A plan and its variances are those of the compartments that have one,
    /// so that every column adds up.
    /// </summary>
    public WeekFigures And(WeekFigures other)
    {
        ArgumentNullException.ThrowIfNull(other);
        return WithFlowsOf(other) with
        {
            CarriedIn = CarriedIn + other.CarriedIn,
            CumulativeVariance = Sum(CumulativeVariance, other.CumulativeVariance)
        };
    }

    /// <summary>The figures of these days and of the slice that follows them.</summary>
    public WeekFigures Then(WeekFigures next)
    {
        ArgumentNullException.ThrowIfNull(next);
        return WithFlowsOf(next) with { CumulativeVariance = next.CumulativeVariance };
    }

    /// <summary>
    /// The day on which the money ends at this pace: what was spent on the days gone is spent on each day after today
    /// until nothing is left.
    /// </summary>
    /// <param name="today">The household's today, a day of the slice.</param>
    /// <param name="daysGone">Days of the slice up to today, today too; 1 or more.</param>
    /// <returns>Null when nothing was spent, nothing is left, or the day is past the end of the calendar.</returns>
    public DateOnly? MoneyEnds(DateOnly today, int daysGone)
    {
        if (Spent <= Money.Zero || Left <= Money.Zero)
        {
            return null;
        }

        // The day on which the last of it goes, however little that is.
        var days = (((Int128)Left.Minor * daysGone) + Spent.Minor - 1) / Spent.Minor;
        return days <= DateOnly.MaxValue.DayNumber - today.DayNumber ? today.AddDays((int)days) : null;
    }

    private WeekFigures WithFlowsOf(WeekFigures other) => this with
    {
        Planned = Sum(Planned, other.Planned),
        Filled = Filled + other.Filled,
        Spent = Spent + other.Spent,
        MovedIn = MovedIn + other.MovedIn,
        MovedOut = MovedOut + other.MovedOut,
        OverShort = OverShort + other.OverShort,
        Corrected = Corrected + other.Corrected,
        Variance = Sum(Variance, other.Variance),
    };

    internal static Money? Sum(Money? one, Money? other) => one is { } a && other is { } b ? a + b : one ?? other;
}
