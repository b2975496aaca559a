using System.CommandLine;
using System.Globalization;
using Microsoft.Kiota.Abstractions;

namespace CashEvents.Cash.Writing;

/// <summary>The day on which something happened.</summary>
internal static class Days
{
    private const string Yesterday = "yesterday";

    /// <summary>The option that names it.</summary>
    public static Option<string?> Option() => new("--on")
    {
        Description = $"The day on which it happened, such as 2026-11-20, or {Yesterday}; today if left out.",
        HelpName = "day",
    };

    /// <summary>
    /// The day: the one that was typed, or the household's today as the server says, or, if it can't be reached, as
    /// this machine's clock says.
    /// </summary>
    /// <returns>The day, and why the server did not say it; null when it was not asked or said it.</returns>
    public static async Task<(Date Day, HttpRequestException? Away)> OfAsync(Session session, string? on)
    {
        if (on is not null && on != Yesterday)
        {
            return (Read(on), null);
        }

        var (today, away) = await TodayAsync(session).ConfigureAwait(false);
        var day = on is null ? today : today.AddDays(-1);
        return (new Date(day.Year, day.Month, day.Day), away);
    }

    /// <summary>Reads a day.</summary>
    /// <exception cref="NotDoneException">It is none.</exception>
    public static Date Read(string written) =>
        DateOnly.TryParseExact(written, "yyyy-MM-dd", CultureInfo.InvariantCulture, DateTimeStyles.None, out var day)
            ? new Date(day.Year, day.Month, day.Day)
            : throw NotDoneException.Usage($"\"{written}\" is no day. Write one such as 2026-11-20.");

    private static async Task<(DateOnly Today, HttpRequestException? Away)> TodayAsync(Session session)
    {
        try
        {
            var said = await session.Client.Api.Today.GetAsync(cancellationToken: session.Stop).ConfigureAwait(false);
            var date = said!.Date!.Value;
            return (new DateOnly(date.Year, date.Month, date.Day), null);
        }
        catch (HttpRequestException away)
        {
            return (Here(session), away);
        }
        catch (CashEventsProblemException away) when (Sending.IsNoAnswer(away))
        {
            return (Here(session), new HttpRequestException(away.Detail, away));
        }
    }

    private static DateOnly Here(Session session) => KnownHousehold.DateAt(
        KnownHousehold.Remembered(session.Around, session.Connection), session.Around.Clock.GetUtcNow());
}
