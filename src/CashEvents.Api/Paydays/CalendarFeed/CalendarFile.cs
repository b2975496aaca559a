using Ical.Net.CalendarComponents;
using Ical.Net.DataTypes;
using Ical.Net.Serialization;
using ICalendarFile = Ical.Net.Calendar;

namespace CashEvents.Api.Paydays;

/// <summary>
/// A calendar as a file (RFC 5545): all its entries are whole days, which hold wherever they are read.
/// </summary>
internal static class CalendarFile
{
    private const string AskAgain = "PT1H";

    /// <summary>Writes it.</summary>
    /// <param name="household">Whose it is; its time zone says where the days begin.</param>
    /// <param name="id">What makes its entries unlike those of every other calendar.</param>
    /// <param name="entries">By day.</param>
    /// <param name="revisions">How often each entry changed, by its id.</param>
    public static string Of(Household household, Guid id, IEnumerable<CalendarWords> entries,
        IReadOnlyDictionary<string, CalendarRevision> revisions)
    {
        var file = new ICalendarFile { ProductId = "-//CashEvents//CashEvents//EN" };
        // RFC 7986 has a name and a pause; older programs know the first by an X- name, and the zone by one alone.
        file.AddProperty("NAME", household.Name);
        file.AddProperty("X-WR-CALNAME", household.Name);
        file.AddProperty("X-WR-TIMEZONE", household.TimeZone);
        var pause = new Ical.Net.CalendarProperty("REFRESH-INTERVAL", AskAgain);
        pause.AddParameter("VALUE", "DURATION");
        file.Properties.Add(pause);
        foreach (var entry in entries)
        {
            file.Events.Add(Event(entry, id, revisions.GetValueOrDefault(entry.Id)));
        }

        return new CalendarSerializer().SerializeToString(file)!;
    }

    private static CalendarEvent Event(CalendarWords entry, Guid id, CalendarRevision? revision)
    {
        var changed = new CalDateTime((revision?.Changed ?? DateTimeOffset.UnixEpoch).UtcDateTime, "UTC");
        return new CalendarEvent
        {
            Uid = $"{entry.Id}@{id}",
            Start = new CalDateTime(entry.Day),
            Summary = entry.Summary,
            Description = entry.Description.Length > 0 ? entry.Description : null,
            Categories = [entry.Category],
            Sequence = revision?.Sequence ?? 0,
            DtStamp = changed,
            LastModified = changed,
            // It takes nobody's time.
            Transparency = Ical.Net.TransparencyType.Transparent,
        };
    }
}
