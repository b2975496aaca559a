using System.Globalization;

namespace CashEvents.Api.Hosting;

/// <summary>
/// Which of the nightly backups are kept: the newest of each of the last days, weeks and months that have one
/// ("grandfather, father, son": common practice).
/// </summary>
internal static class KeptBackups
{
    private const int Days = 7;
    private const int Weeks = 4;
    private const int Months = 12;
    private const string Before = "books-";
    private const string Behind = ".jsonl.gz";
    private const string Day = "yyyy-MM-dd";

    /// <summary>The file of a night.</summary>
    public static string FileOf(string folder, DateOnly night) =>
        Path.Combine(folder, $"{Before}{night.ToString(Day, CultureInfo.InvariantCulture)}{Behind}");

    /// <summary>The nights of which a folder has backups, the last first. Other files are nobody's business.</summary>
    public static IReadOnlyList<DateOnly> NightsIn(string folder) => Directory.Exists(folder)
        ? [.. Directory.EnumerateFiles(folder, $"{Before}*{Behind}").Select(Path.GetFileName)
            .Select(name => DateOnly.TryParseExact(name![Before.Length..^Behind.Length], Day,
                CultureInfo.InvariantCulture, DateTimeStyles.None, out var night) ? night : (DateOnly?)null)
            .OfType<DateOnly>().OrderDescending()]
        : [];

    /// <summary>The nights that are kept of those.</summary>
    public static IReadOnlySet<DateOnly> Of(IEnumerable<DateOnly> nights)
    {
        var all = nights.OrderDescending().ToList();
        return new HashSet<DateOnly>(
        [
            .. all.Take(Days),
            .. Newest(night => (ISOWeek.GetYear(night), ISOWeek.GetWeekOfYear(night))).Take(Weeks),
            .. Newest(night => (night.Year, night.Month)).Take(Months),
        ]);

        IEnumerable<DateOnly> Newest(Func<DateOnly, (int, int)> period) =>
            all.GroupBy(period).Select(nightsOfIt => nightsOfIt.First());
    }

    /// <summary>Removes those that are not kept.</summary>
    public static void Clear(string folder)
    {
        var nights = NightsIn(folder);
        var kept = Of(nights);
        foreach (var night in nights.Where(night => !kept.Contains(night)))
        {
            File.Delete(FileOf(folder, night));
        }
    }
}
