using System.Collections.Immutable;

namespace CashEvents.Domain.Books;

/// <summary>Who owns a book.</summary>
/// <param name="Name">As people call it.</param>
/// <param name="Currency">The book's one currency; unknown until the keeper names it.</param>
/// <param name="TimeZone">IANA name of the time zone whose calendar the book follows.</param>
/// <param name="FirstDayOfWeek">The day a week starts on; Monday by ISO 8601.</param>
/// <param name="Country">ISO 3166-1 alpha-2 code of the country whose bank holidays count; none when only Saturdays and
/// Sundays do.</param>
public sealed record Household(string Name, Currency? Currency, string TimeZone, DayOfWeek FirstDayOfWeek,
    string? Country = null)
{
    /// <summary>The smallest note or coin that is asked for at the bank; null for the smallest that there is.</summary>
    public Money? SmallestNote { get; init; }

    /// <summary>The largest; null for the largest that a bank gives.</summary>
    public Money? LargestNote { get; init; }

    /// <summary>
    /// The notes and coins to ask a bank for, largest first; empty where the currency's are not listed here.
    /// </summary>
    public ImmutableArray<Money> ToDraw =>
        Currency is null ? [] : [.. Denominations.StillIssued(Currency)
            .Where(value => !(value < SmallestNote) && !(value > LargestNote))];

    /// <summary>What cash that is drawn is a multiple of: the smallest of them, or the minor unit.</summary>
    internal Money SmallestDrawn => ToDraw is [.., var smallest] ? smallest : new Money(1);

    // Longer than the longest jump, a day at the date line, whatever the offset from UTC.
    private static readonly TimeSpan ChangeIsNear = TimeSpan.FromHours(40);

    /// <summary>The date on the household's calendar at an instant.</summary>
    public DateOnly DateAt(DateTimeOffset instant) =>
        DateOnly.FromDateTime(TimeZoneInfo.ConvertTime(instant,
            TimeZoneInfo.FindSystemTimeZoneById(TimeZone)).DateTime);

    /// <summary>
    /// The instant at which the household's clocks show a time of a day. A time that they jump over is the first
    /// instant after the jump; of a time that they show twice it is the first.
    /// </summary>
    /// <param name="day">The day.</param>
    /// <param name="time">Whole minutes.</param>
    public DateTimeOffset InstantOf(DateOnly day, TimeOnly time)
    {
        var zone = TimeZoneInfo.FindSystemTimeZoneById(TimeZone);
        var local = day.ToDateTime(time);

        // The offsets in force shortly before and after; where clocks jump over the time, neither is in force when it
        // would be shown.
        TimeSpan[] offsets = [.. new[] { -ChangeIsNear, ChangeIsNear }.Select(
            near => zone.GetUtcOffset(new DateTimeOffset(local, TimeSpan.Zero) + near)).OrderDescending()];
        if (offsets.Select(offset => new DateTimeOffset(local, offset))
            .Where(instant => zone.GetUtcOffset(instant) == instant.Offset).ToList() is [var shown, ..])
        {
            return shown.ToUniversalTime();
        }

        var jumped = new DateTimeOffset(local, offsets[0]).ToUniversalTime();
        while (zone.GetUtcOffset(jumped) != offsets[0])
        {
            jumped = jumped.AddMinutes(1);
        }

        return jumped;
    }

    /// <summary>Whether a name is an IANA time zone that this machine knows.</summary>
    public static bool IsTimeZone(string name) =>
        TimeZoneInfo.TryFindSystemTimeZoneById(name, out var zone) && zone.HasIanaId;
}
