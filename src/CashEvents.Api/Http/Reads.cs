using System.Globalization;
using Microsoft.AspNetCore.Http.Features;

namespace CashEvents.Api.Http;

/// <summary>What addresses and query strings say, read with answers that name the parameter and the mend.</summary>
internal static class Reads
{
    /// <summary>A month as <c>2026-11</c>; the first of it.</summary>
    public static DateOnly? Month(string? written, string parameter = "month") => written is null ? null
        : DateOnly.TryParseExact(written, "yyyy-MM", CultureInfo.InvariantCulture, DateTimeStyles.None, out var first)
            ? first
        : throw new MalformedException(parameter,
            $"`{parameter}` is {(parameter == "month" ? "" : "a month ")}written like 2026-11.");

    /// <summary>A day as <c>2026-11-03</c>.</summary>
    public static DateOnly? Day(string? written, string parameter) => written is null ? null
        : DateOnly.TryParseExact(written, "yyyy-MM-dd", CultureInfo.InvariantCulture, DateTimeStyles.None, out var day)
            ? day
        : throw new MalformedException(parameter, $"`{parameter}` is a day written like 2026-11-03.");

    /// <summary>An amount in major units, as <c>2400.00</c>.</summary>
    public static decimal? Amount(string? written, string parameter) => written is null ? null
        : decimal.TryParse(written, NumberStyles.AllowDecimalPoint | NumberStyles.AllowLeadingSign,
            CultureInfo.InvariantCulture, out var amount) ? amount
        : throw new MalformedException(parameter, $"`{parameter}` is an amount written like 2400.00.");

    /// <summary>A note's or coin's face value, as <c>20</c> or <c>0.50</c>.</summary>
    public static decimal Face(string written, string parameter) =>
        decimal.TryParse(written, NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture, out var value) ? value
        : throw new MalformedException(parameter,
            $"`{parameter}` names notes and coins by their value, with commas between, written like 50,20,10,5.");

    /// <summary>A week of the household's calendar, as <c>2026-W47</c> or by its first day.</summary>
    public static Week? Week(string? written, Household household, string parameter = "week") => written is null ? null
        : Domain.Calendars.Week.HasForm(written)
            ? Domain.Calendars.Week.Read(written, household.FirstDayOfWeek, parameter)
        : throw new MalformedException(parameter,
            $"`{parameter}` is a week written like 2026-W47, or by its first day like 2026-11-16.");

    /// <summary>A week of the household's calendar, as <c>2026-W47</c> or by any day in it.</summary>
    public static Week? WeekHolding(string? written, Household household, string parameter) => written is null ? null
        : Domain.Calendars.Week.HasForm(written)
            ? Domain.Calendars.Week.Holding(written, household.FirstDayOfWeek, parameter)
        : throw new MalformedException(parameter,
            $"`{parameter}` is a week written like 2026-W47, or a day in it like 2026-11-18.");

    /// <summary>The two times that a reading may be asked for.</summary>
    public static AsOf AsOf(string? on, string? atLine, string? at) => atLine is null || at is null
        ? new AsOf(Day(on, "on"), atLine is null ? null : Number(atLine, "atLine", AnyLine),
            Instant(at, "at"))
        : throw new MalformedException("at",
            "`atLine` and `at` both say up to where the book is read: send one of them.");

    /// <summary>An instant by RFC 3339, as <c>2026-11-03T17:20:41Z</c>.</summary>
    public static DateTimeOffset? Instant(string? written, string parameter) => written is null ? null
        // A plus in a query string stands for a space.
        : DateTimeOffset.TryParseExact(written.Replace(' ', '+'), InstantForms, CultureInfo.InvariantCulture,
            DateTimeStyles.AssumeUniversal, out var instant) ? instant
        : throw new MalformedException(parameter,
            $"`{parameter}` is an instant with its offset from UTC, written like 2026-11-03T17:20:41Z.");

    private static readonly string[] InstantForms =
        ["yyyy-MM-dd'T'HH:mm:ss'Z'", "yyyy-MM-dd'T'HH:mm:ss.FFFFFFF'Z'", "yyyy-MM-dd'T'HH:mm:sszzz",
            "yyyy-MM-dd'T'HH:mm:ss.FFFFFFFzzz"];

    /// <summary>A whole number within bounds.</summary>
    public static long Number(string? written, string parameter, Bounds bounds) =>
        written is null ? bounds.Otherwise ?? 0
        : long.TryParse(written, NumberStyles.None, CultureInfo.InvariantCulture, out var number)
            && number >= bounds.Least && number <= bounds.Most ? number
        : throw new MalformedException(parameter,
            $"`{parameter}` is a whole number from {bounds.Least} to {bounds.Most}.");

    /// <summary>A line that a book may have.</summary>
    public static Bounds AnyLine { get; } = new(1, int.MaxValue);

    /// <summary>The line after which a list begins; the first if left out.</summary>
    public static Bounds AfterLine { get; } = new(0, int.MaxValue, 0);

    /// <summary><c>true</c> or <c>false</c>.</summary>
    public static bool? YesOrNo(string? written, string parameter) => written switch
    {
        null => null,
        "true" => true,
        "false" => false,
        _ => throw new MalformedException(parameter, $"`{parameter}` is true or false."),
    };

    /// <summary>One of an enumeration's words.</summary>
    public static T? Word<T>(string? written, string parameter) where T : struct, Enum => written is null ? null
        : Enum.GetValues<T>().Where(v => Spelling.Of(v) == written).Select(v => (T?)v).FirstOrDefault()
            ?? throw new MalformedException(parameter,
                $"`{parameter}` is one of {string.Join(", ", Spelling.All(typeof(T)))}.");

    /// <summary>One of some known names.</summary>
    public static string? OneOf(string? written, string parameter, IEnumerable<string> known) =>
        written is null || known.Contains(written) ? written
        : throw new MalformedException(parameter,
            $"`{parameter}` is one of {string.Join(", ", known.Order(StringComparer.Ordinal))}.");

    /// <summary>A name, without characters that no name can have.</summary>
    public static string? Name(string? written, string parameter) =>
        written is null || !written.Any(char.IsControl) ? written
        : throw new MalformedException(parameter, $"`{parameter}` has a character that does not print.");

    /// <summary>
    /// The last step of the address as it was sent: the router leaves %2F in it as it stands, so that a name with a
    /// slash would never be found.
    /// </summary>
    public static string LastStep(HttpContext http, string routed) =>
        http.Features.Get<IHttpRequestFeature>()?.RawTarget is { Length: > 0 } sent
            ? Uri.UnescapeDataString(sent.Split('?')[0].TrimEnd('/').Split('/')[^1])
            : routed;

    /// <summary>
    /// Refuses parameters that the address does not take, so that a misspelt filter never widens an answer in silence.
    /// </summary>
    public static void OnlyTakes(HttpContext http, params string[] parameters)
    {
        foreach (var (name, value) in http.Request.Query)
        {
            if (!parameters.Contains(name))
            {
                var near = NearNames.Of(name, parameters);
                throw new MalformedException(name,
                    parameters.Length == 0 ? $"This address takes no parameters, and `{name}` was sent."
                    : near.Count > 0 ? $"There is no parameter `{name}` here. Did you mean `{near[0]}`?"
                    : $"There is no parameter `{name}` here. The parameters are {string.Join(", ", parameters)}.");
            }

            if (value.Count > 1)
            {
                throw new MalformedException(name, $"`{name}` is sent {value.Count} times: send it once.");
            }
        }
    }
}
