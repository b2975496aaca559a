using System.Globalization;

namespace CashEvents.Api.Hosting;

/// <summary>Whether, where and when the program backs up by itself.</summary>
/// <param name="Folder">Where the files are kept; null for not at all.</param>
/// <param name="At">At which time of this machine's days.</param>
internal sealed record BackupSettings(string? Folder, TimeOnly At)
{
    /// <summary>The folder, or <c>off</c>.</summary>
    public const string FolderVariable = "CASHEVENTS_BACKUPS";

    /// <summary>The time, as <c>03:00</c>.</summary>
    public const string AtVariable = "CASHEVENTS_BACKUPS_AT";

    /// <summary>What the folder in the data folder is called.</summary>
    public const string Usual = "backups";

    private const string Off = "off";

    /// <summary>
    /// What is set: where nothing is, a private PostgreSQL is backed up in the data folder, and another one is not.
    /// </summary>
    public static BackupSettings Read(IConfiguration configuration, string dataFolder, bool isPrivate)
    {
        var folder = configuration[FolderVariable]?.Trim();
        var at = configuration[AtVariable];
        return new BackupSettings(
            string.Equals(folder, Off, StringComparison.OrdinalIgnoreCase) ? null
                : !string.IsNullOrEmpty(folder) ? Path.GetFullPath(folder)
                : isPrivate ? Path.Combine(dataFolder, Usual) : null,
            string.IsNullOrWhiteSpace(at)
                ? new TimeOnly(3, 0)
                : TimeOnly.ParseExact(at.Trim(), "HH:mm", CultureInfo.InvariantCulture));
    }

    /// <summary>When the last one was made that is kept; null while there is none.</summary>
    public DateTimeOffset? MadeAt => Folder is { } folder && KeptBackups.NightsIn(folder) is [var last, ..]
        ? File.GetLastWriteTimeUtc(KeptBackups.FileOf(folder, last))
        : null;

    /// <summary>The last night whose time has come.</summary>
    /// <param name="now">The time on this machine's clock and in its zone.</param>
    public DateOnly LastNight(DateTime now)
    {
        var today = DateOnly.FromDateTime(now);
        return TimeOnly.FromDateTime(now) >= At ? today : today.AddDays(-1);
    }
}
