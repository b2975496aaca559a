using System.Diagnostics.CodeAnalysis;
using System.Globalization;
using System.Text.RegularExpressions;

namespace CashEvents.Domain.Calendars;

/// <summary>
/// A week of the household's calendar. A week that starts on Monday is named as ISO 8601 does, <c>2026-W47</c>; any
/// other by its first day, <c>2026-11-15</c>.
/// </summary>
/// <param name="First">Its first day.</param>
public readonly partial record struct Week(DateOnly First) : IComparable<Week>
{
    /// <summary>Days in a week.</summary>
    public const int Days = 7;

    // A week of ISO 8601 belongs to the year of its Thursday, the fourth day. Weeks that start elsewhere follow the
    // same rule.
    private const int DaysBeforeFourth = 3;

    /// <summary>Its last day.</summary>
    public DateOnly Last => First.AddDays(Days - 1);

    /// <summary>The week after it.</summary>
    public Week Next => new(First.AddDays(Days));

    /// <summary>The week before it.</summary>
    public Week Previous => new(First.AddDays(-Days));

    /// <summary>The year it belongs to: the one in which most of its days lie.</summary>
    public int Year => First.AddDays(DaysBeforeFourth).Year;

    /// <summary>Its number in its year, 1 to 53.</summary>
    public int Number => ((First.AddDays(DaysBeforeFourth).DayOfYear - 1) / Days) + 1;

    /// <summary>The first week of its year: the one with 4 January in it.</summary>
    public Week FirstOfItsYear => Of(new DateOnly(Year, 1, DaysBeforeFourth + 1), First.DayOfWeek);

    /// <summary>The week that a day is in.</summary>
    /// <param name="day">Any day of the years told by <see cref="IsTold"/>.</param>
    /// <param name="startsOn">The day on which the household's weeks start.</param>
    public static Week Of(DateOnly day, DayOfWeek startsOn) =>
        new(day.AddDays(-((day.DayOfWeek - startsOn + Days) % Days)));

    /// <summary>The first week that begins on a day or later.</summary>
    /// <param name="day">Any day of the years told by <see cref="IsTold"/>.</param>
    /// <param name="startsOn">The day on which the household's weeks start.</param>
    public static Week BeginningFrom(DateOnly day, DayOfWeek startsOn) => Of(day.AddDays(Days - 1), startsOn);

    /// <summary>
    /// Whether weeks are told for a day: from 1900 to 9998, so that no week and no year of weeks reaches over an end of
    /// the calendar.
    /// </summary>
    public static bool IsTold(DateOnly day) => IsYearTold(day.Year);

    /// <summary>Whether words have the form of a week, <c>2026-W47</c>, or of a day, <c>2026-11-15</c>.</summary>
    public static bool HasForm([NotNullWhen(true)] string? written) =>
        written is not null && (IsoWeek().IsMatch(written) || TryDay(written, out _));

    /// <summary>A week as it is named.</summary>
    /// <param name="written">Such as <c>2026-W47</c>, or its first day.</param>
    /// <param name="startsOn">The day on which the household's weeks start.</param>
    /// <param name="field">Where it was written, for the answer.</param>
    /// <exception cref="RefusalException">It is no week of this calendar; says which are near.</exception>
    public static Week Read(string written, DayOfWeek startsOn, string field)
    {
        var week = Holding(written, startsOn, field);
        return !TryDay(written, out var day) || week.First == day ? week
            : throw Refusal.Unfit(field, "week-starts-elsewhere",
                $"{written} is a {day.DayOfWeek}, and the household's weeks start on {startsOn}: write {week} for the "
                    + $"week it is in, or {week.Next} for the next.",
                [week.ToString(), week.Next.ToString()]);
    }

    /// <summary>A week as it is named, or by any day in it.</summary>
    /// <param name="written">Such as <c>2026-W47</c>, or a day.</param>
    /// <param name="startsOn">The day on which the household's weeks start.</param>
    /// <param name="field">Where it was written, for the answer.</param>
    /// <exception cref="RefusalException">It is no week of this calendar.</exception>
    public static Week Holding(string written, DayOfWeek startsOn, string field)
    {
        if (!TryDay(written, out var day))
        {
            return Numbered(written, startsOn, field);
        }

        return IsTold(day) ? Of(day, startsOn) : throw NotTold(field);
    }

    private static Week Numbered(string written, DayOfWeek startsOn, string field)
    {
        var match = IsoWeek().Match(written);
        if (!match.Success)
        {
            throw Refusal.Unfit(field, "week-unreadable",
                $"`{field}` is a week written like 2026-W47, or by its first day like 2026-11-16.");
        }

        var year = int.Parse(match.Groups["year"].ValueSpan, CultureInfo.InvariantCulture);
        var number = int.Parse(match.Groups["number"].ValueSpan, CultureInfo.InvariantCulture);
        if (!IsYearTold(year))
        {
            throw NotTold(field);
        }

        var last = ISOWeek.GetWeeksInYear(year);
        if (number < 1 || number > last)
        {
            throw Refusal.Unfit(field, "week-unknown",
                $"By ISO 8601 the year {year} has the weeks {year}-W01 to {year}-W{last}: {written} is none of them.");
        }

        var monday = DateOnly.FromDateTime(ISOWeek.ToDateTime(year, number, DayOfWeek.Monday));
        if (startsOn == DayOfWeek.Monday)
        {
            return new Week(monday);
        }

        var week = Of(monday, startsOn);
        throw Refusal.Unfit(field, "week-starts-elsewhere",
            $"{written} is a week from Monday, and the household's weeks start on {startsOn} and are named by their "
                + $"first day: write {week} or {week.Next}.",
            [week.ToString(), week.Next.ToString()]);
    }

    internal static RefusalException NotTold(string field) =>
        Refusal.Unfit(field, "week-unknown", "Weeks are told for the years 1900 to 9998.");

    private static bool IsYearTold(int year) => year is >= 1900 and <= 9998;

    private static bool TryDay(string written, out DateOnly day) =>
        DateOnly.TryParseExact(written, "yyyy-MM-dd", CultureInfo.InvariantCulture, DateTimeStyles.None, out day);

    [GeneratedRegex(@"\A(?<year>[0-9]{4})-W(?<number>[0-9]{2})\z")]
    private static partial Regex IsoWeek();

    /// <inheritdoc />
    public int CompareTo(Week other) => First.CompareTo(other.First);

    /// <summary>Its name.</summary>
    public override string ToString() => First.DayOfWeek == DayOfWeek.Monday
        ? string.Create(CultureInfo.InvariantCulture, $"{Year:0000}-W{Number:00}")
        : First.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture);

    /// <summary>Earlier.</summary>
    public static bool operator <(Week left, Week right) => left.First < right.First;

    /// <summary>Later.</summary>
    public static bool operator >(Week left, Week right) => left.First > right.First;

    /// <summary>Not later.</summary>
    public static bool operator <=(Week left, Week right) => left.First <= right.First;

    /// <summary>Not earlier.</summary>
    public static bool operator >=(Week left, Week right) => left.First >= right.First;
}
