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

    /// <summary>A rule as people say it; empty for one that this page can't say.</summary>
    public static string InWords(Recurrence recurrence, Speech speech)
    {
        var day = recurrence.First.DayOfWeek.ToString()[..2].ToUpperInvariant();
        var date = recurrence.First.Day.ToString(CultureInfo.InvariantCulture);
        return recurrence.Rule switch
        {
            "FREQ=MONTHLY;BYMONTHDAY=-1" => Texts.SaysLastDay,
            var rule when rule == $"FREQ=WEEKLY;BYDAY={day}" => string.Format(Texts.SaysWeekly, Weekday()),
            var rule when rule == $"FREQ=WEEKLY;INTERVAL=2;BYDAY={day}" => string.Format(Texts.SaysSecondWeek,
                Weekday()),
            var rule when rule.StartsWith("FREQ=MONTHLY;BYMONTHDAY=", StringComparison.Ordinal)
                && rule.EndsWith(",-1", StringComparison.Ordinal) => string.Format(Texts.SaysDayAndLast,
                    rule["FREQ=MONTHLY;BYMONTHDAY=".Length..^3]),
            var rule when rule == $"FREQ=MONTHLY;BYMONTHDAY={date}" => string.Format(Texts.SaysDay, date),
            _ => "",
        };

        string Weekday() => speech.WeekDay(recurrence.First.DayOfWeek);
    }

    private static string Day(DateOnly day) => day.DayOfWeek.ToString()[..2].ToUpperInvariant();
}
