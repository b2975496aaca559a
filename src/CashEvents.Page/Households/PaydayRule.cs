using System.Globalization;

namespace CashEvents.Page.Households;

/// <summary>When somebody pays, as people say it.</summary>
public enum PaysOn
{
    /// <summary>On a day of each month.</summary>
    DayOfMonth,

    /// <summary>On the last day of each month.</summary>
    LastDay,

    /// <summary>On a day of each month and on its last.</summary>
    DayAndLastDay,

    /// <summary>On a day of each week.</summary>
    EveryWeek,

    /// <summary>On a day of every second week.</summary>
    EverySecondWeek,
}

/// <summary>Says a rule of days as RFC 5545 writes it, so that nobody at the table has to.</summary>
public static class PaydayRule
{
    /// <summary>The rule, from a day on which it pays.</summary>
    public static string Of(PaysOn on, DateOnly first) => on switch
    {
        PaysOn.LastDay => "FREQ=MONTHLY;BYMONTHDAY=-1",
        PaysOn.DayAndLastDay => string.Create(CultureInfo.InvariantCulture, $"FREQ=MONTHLY;BYMONTHDAY={first.Day},-1"),
        PaysOn.EveryWeek => $"FREQ=WEEKLY;BYDAY={Day(first)}",
        PaysOn.EverySecondWeek => $"FREQ=WEEKLY;INTERVAL=2;BYDAY={Day(first)}",
        _ => string.Create(CultureInfo.InvariantCulture, $"FREQ=MONTHLY;BYMONTHDAY={first.Day}"),
    };

    /// <summary>The first day of a rule, given a day from which on it pays.</summary>
    public static DateOnly First(PaysOn on, DateOnly from) => on == PaysOn.LastDay ? Month.Of(from).Last : from;

    private static string Day(DateOnly day) => day.DayOfWeek.ToString()[..2].ToUpperInvariant();
}
