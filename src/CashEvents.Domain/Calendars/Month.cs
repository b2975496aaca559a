using System.Globalization;

namespace CashEvents.Domain.Calendars;

/// <summary>A month of the household's calendar, written <c>2026-11</c>.</summary>
/// <param name="First">Its first day.</param>
public readonly record struct Month(DateOnly First) : IComparable<Month>
{
    /// <summary>The month that a day is in.</summary>
    public static Month Of(DateOnly day) => new(new DateOnly(day.Year, day.Month, 1));

    /// <summary>A month as written, <c>2026-11</c>; null if it is not written so.</summary>
    public static Month? Read(string written) =>
        DateOnly.TryParseExact(written, "yyyy-MM", CultureInfo.InvariantCulture, DateTimeStyles.None, out var first)
            ? new Month(first)
            : null;

    /// <summary>Its last day.</summary>
    public DateOnly Last => First.AddDays(DateTime.DaysInMonth(First.Year, First.Month) - 1);

    /// <summary>The month after it.</summary>
    public Month Next => new(First.AddMonths(1));

    /// <summary>The month before it.</summary>
    public Month Previous => new(First.AddMonths(-1));

    /// <summary>The month so many months later; earlier when negative.</summary>
    public Month Plus(int months) => new(First.AddMonths(months));

    /// <summary>The months from one to another, both among them; none when the last is earlier.</summary>
    public static IReadOnlyList<Month> Through(Month first, Month last) =>
        [.. Enumerable.Range(0, Math.Max(0, first.MonthsTo(last) + 1)).Select(first.Plus)];

    /// <summary>How many months later another is; negative when it is earlier.</summary>
    public int MonthsTo(Month later) => ((later.First.Year - First.Year) * 12) + later.First.Month - First.Month;

    /// <inheritdoc />
    public int CompareTo(Month other) => First.CompareTo(other.First);

    /// <inheritdoc />
    public override string ToString() => First.ToString("yyyy-MM", CultureInfo.InvariantCulture);

    /// <summary>Earlier.</summary>
    public static bool operator <(Month left, Month right) => left.First < right.First;

    /// <summary>Later.</summary>
    public static bool operator >(Month left, Month right) => left.First > right.First;

    /// <summary>Not later.</summary>
    public static bool operator <=(Month left, Month right) => left.First <= right.First;

    /// <summary>Not earlier.</summary>
    public static bool operator >=(Month left, Month right) => left.First >= right.First;
}
