using System.Globalization;
using PublicHoliday;

namespace CashEvents.Api.Paydays;

/// <summary>
/// Bank holidays by country, from the package PublicHoliday. Those of regions and cities are not among them, and a
/// country's banks may keep others: ask the bank.
/// </summary>
internal static class BankHolidays
{
    private const string UnitedStates = "US";
    private const string Ireland = "IE";

    // PO is no code of ISO 3166-1. The package has wrong days for KZ, where one feast stands on the same date each
    // year, and for MX, where one of every sixth year stands in each.
    private static readonly string[] _leftOut = ["PO", "KZ", "MX"];

    /// <summary>ISO 3166-1 alpha-2 codes of the countries whose bank holidays are known.</summary>
    public static IReadOnlyList<string> Countries { get; } =
        [.. Enum.GetNames<PublicHolidayCountryCode>().Select(code => code.ToUpperInvariant()).Except(_leftOut)
            .Order(StringComparer.Ordinal)];

    /// <summary>
    /// The countries whose days were held against what is published, each by a test that names the list: the Federal
    /// Reserve's K.8; gov.uk/bank-holidays for England and Wales;
    /// Banking and Payments Federation Ireland.
    /// </summary>
    public static IReadOnlyList<string> Checked { get; } = ["GB", Ireland, UnitedStates];

    /// <summary>
    /// What to say beside days that rest on a country's bank holidays which nobody checked; null where they were, or
    /// where only weekends count.
    /// </summary>
    public static string? NoteOn(string? country) => country is null || Checked.Contains(country) ? null
        : $"The bank holidays of {country} were not checked against a published list; those of "
            + $"{string.Join(", ", Checked)} were. Days in lieu, of a region or of banks alone may be missing: ask the "
            + $"bank where a day matters.";

    /// <summary>Refuses a country whose bank holidays are not known.</summary>
    /// <exception cref="RefusalException">Says which are known.</exception>
    public static void MustKnow(string country)
    {
        if (!Countries.Contains(country))
        {
            throw Refusal.Unfit("country", "country-unknown",
                $"The bank holidays of '{country}' are not known here. Known are {string.Join(", ", Countries)}: write "
                    + $"one of these ISO 3166-1 codes, or leave `country` out and only Saturdays and Sundays are no "
                    + $"bank days.");
        }
    }

    /// <summary>A country's bank holidays that belong to a year, with their English names.</summary>
    /// <param name="country">One of <see cref="Countries"/>.</param>
    /// <param name="year">Of the years for which bank days are told.</param>
    public static IReadOnlyDictionary<DateOnly, string> Of(string country, int year)
    {
        // Reserve Banks are open on the Friday before a holiday that falls on a Saturday; federal offices are closed.
        var calendar = country == UnitedStates
            ? new USAFederalReserveHoliday()
            : PublicHolidayFactory.GetPublicHolidayForCountry(country);
        return calendar.PublicHolidayNames(year, CultureInfo.InvariantCulture)
            .Select(holiday => KeyValuePair.Create(DateOnly.FromDateTime(holiday.Key),
                string.Join(", ", holiday.Value)))
            .Concat(country == Ireland ? IrishBanks.Besides(year) : [])
            .GroupBy(holiday => holiday.Key)
            .ToDictionary(day => day.Key, day => string.Join(", ", day.Select(holiday => holiday.Value)));
    }
}
