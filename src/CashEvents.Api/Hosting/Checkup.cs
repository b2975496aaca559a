using System.Globalization;
using Npgsql;

namespace CashEvents.Api.Hosting;

/// <summary>How one thing is.</summary>
/// <param name="Name">What was looked at.</param>
/// <param name="State">How it is.</param>
/// <param name="Says">What was found.</param>
/// <param name="Do">What to do; left out where nothing is.</param>
public sealed record CheckAnswer(string Name, CheckState State, string Says, string? Do = null);

/// <summary>How something is; in the order of the exit codes that monitors know.</summary>
public enum CheckState
{
    /// <summary>Nothing is to do.</summary>
    Well,

    /// <summary>Somebody should look at it in the next days.</summary>
    Look,

    /// <summary>Something is lost or may be soon.</summary>
    Wrong,
}

/// <summary>Whether everything is well: database, disk, clock, books, keys, backups.</summary>
internal sealed class Checkup(NpgsqlDataSource database, VerificationReader verification, BookReader books,
    DatabaseClock databaseClock, Opening opening, CheckedPlaces places, TimeProvider clock)
{
    private const long LittleSpace = 1L << 30;
    private const long NoSpace = 100L << 20;

    // The last release of each major version. Years by https://www.postgresql.org/support/versioning/; the days are the
    // second Thursday of November, on which it comes by common practice.
    private static readonly Dictionary<int, DateOnly> _lastReleases = new()
    {
        [13] = new(2025, 11, 13),
        [14] = new(2026, 11, 12),
        [15] = new(2027, 11, 11),
        [16] = new(2028, 11, 9),
        [17] = new(2029, 11, 8),
        [18] = new(2030, 11, 14),
    };

    /// <summary>Looks at everything that is about the machine, and at one household's book, or at all.</summary>
    public async Task<IReadOnlyList<CheckAnswer>> LookAsync(string? household, CancellationToken cancellation)
    {
        var found = new List<CheckAnswer>
        {
            new("program", CheckState.Well, $"CashEvents {ProgramVersion.Text}."),
            await DatabaseAsync(cancellation).ConfigureAwait(false),
        };
        found.AddRange(places.Folders.Select(Disk));
        found.Add(await ClockAsync(cancellation).ConfigureAwait(false));
        var households = household is null
            ? await verification.HouseholdsAsync(cancellation).ConfigureAwait(false)
            : [household];
        foreach (var one in households)
        {
            found.Add(await BookAsync(one, cancellation).ConfigureAwait(false));
            found.Add(await KeysAsync(one, cancellation).ConfigureAwait(false));
        }

        if (households.Count == 0)
        {
            found.Add(new("books", CheckState.Look, "There is no book here.", "Start the program once."));
        }

        if (await KeptKeyAsync(households).ConfigureAwait(false) is { } kept)
        {
            found.Add(kept);
        }

        found.Add(Backups(household is null));
        return found;
    }

    private async Task<CheckAnswer> DatabaseAsync(CancellationToken cancellation)
    {
        await using var command = database.CreateCommand("""
            select current_setting('server_version_num')::int / 10000,
                   split_part(current_setting('server_version'), ' ', 1),
                   (select string_agg(name, ', ') from pg_settings
                    where name in ('fsync', 'synchronous_commit', 'full_page_writes') and setting = 'off')
            """);
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        await reader.ReadAsync(cancellation).ConfigureAwait(false);
        var (major, version) = (reader.GetInt32(0), reader.GetString(1));
        if (!await reader.IsDBNullAsync(2, cancellation).ConfigureAwait(false))
        {
            return new("database", CheckState.Wrong,
                $"PostgreSQL {version} has {reader.GetString(2)} off: what is acknowledged may be lost in a power cut.",
                "Switch it on in the settings of that PostgreSQL.");
        }

        return _lastReleases.TryGetValue(major, out var last) && DateOnly.FromDateTime(clock.GetUtcNow().Date) > last
            ? new("database", CheckState.Look,
                FormattableString.Invariant(
                    $"PostgreSQL {version} gets no more corrections since {last:yyyy-MM-dd}."),
                "Install a newer one and run upgrade-database.")
            : new("database", CheckState.Well, $"PostgreSQL {version} answers.");
    }

    private static CheckAnswer Disk(string folder)
    {
        long free;
        try
        {
            free = new DriveInfo(folder).AvailableFreeSpace;
        }
        catch (Exception failure) when (failure is IOException or UnauthorizedAccessException or ArgumentException)
        {
            return new("disk", CheckState.Look, $"The space left in {folder} can't be told: {failure.Message}",
                "Look whether the folder is there.");
        }

        var says = string.Create(CultureInfo.InvariantCulture, $"{free >> 20:N0} MB are free in {folder}.");
        return free >= LittleSpace
            ? new("disk", CheckState.Well, says)
            : new("disk", free < NoSpace ? CheckState.Wrong : CheckState.Look, says, "Make room there.");
    }

    private async Task<CheckAnswer> ClockAsync(CancellationToken cancellation)
    {
        var now = clock.GetUtcNow();
        if (await databaseClock.ReadAsync(cancellation).ConfigureAwait(false) is { } its
            && (its - now).Duration() > ClockTrust.SmallStep)
        {
            return new("clock", CheckState.Wrong, FormattableString.Invariant(
                $"This machine's clock says {now:yyyy-MM-dd HH:mm:ss} UTC, PostgreSQL's {its:yyyy-MM-dd HH:mm:ss}."),
                "Set the one that is wrong.");
        }

        return new("clock", CheckState.Well, FormattableString.Invariant($"It is {now:yyyy-MM-dd HH:mm} UTC."));
    }

    private async Task<CheckAnswer> BookAsync(string household, CancellationToken cancellation)
    {
        var name = $"book {household}";
        var finding = await verification.ReadAsync(household, cancellation).ConfigureAwait(false);
        if (!finding.Agrees)
        {
            return new(name, CheckState.Wrong, CashEventsProgram.Say(household, finding), finding.Misfit is null
                ? "Run rebuild."
                : "Keep this database as it is, and restore the last backup into another folder.");
        }

        var page = await books.ReadPageAsync(household, cancellation).ConfigureAwait(false);
        return page is { } last && last.WrittenAt - clock.GetUtcNow() > ClockTrust.SmallStep
            ? new(name, CheckState.Wrong, FormattableString.Invariant(
                $"Its last line was written at {last.WrittenAt:yyyy-MM-dd HH:mm:ss} UTC, which is still to come."),
                "Set this machine's clock; if it was ahead then, a keeper says so with POST /api/clock-corrections.")
            : new(name, CheckState.Well, CashEventsProgram.Say(household, finding) + ".");
    }

    private async Task<CheckAnswer> KeysAsync(string household, CancellationToken cancellation)
    {
        var now = clock.GetUtcNow();
        var book = await books.ReadAsync(household, cancellation).ConfigureAwait(false);
        var keepers = book.Keys.Values.Count(key => key.Role == Role.Keeper && key.OverAt(now) is null);
        return keepers == 0
            ? new($"keys {household}", CheckState.Wrong, "No keeper's key is good any more.",
                $"Run new-keeper-key {household}.")
            : new($"keys {household}", CheckState.Well, keepers == 1
                ? "One keeper's key is good."
                : FormattableString.Invariant($"{keepers} keeper's keys are good."));
    }

    /// <summary>
    /// Whether the key in the data folder opens the first household's book; null where there is none.
    /// </summary>
    public async Task<CheckAnswer?> KeptKeyAsync(IReadOnlyList<string> households)
    {
        if (places.DataFolder is null || !households.Contains(Opening.FirstHousehold)
            || KeyFile.Read(places.DataFolder, KeeperKey.Kept) is not { } kept)
        {
            return null;
        }

        return await opening.IsKeepersAsync(Opening.FirstHousehold, kept).ConfigureAwait(false)
            ? new("keeper.key", CheckState.Well, "The key in the data folder opens the book.")
            : new("keeper.key", CheckState.Look,
                "The key in the data folder does not open the book: it is another book's, or was revoked.",
                $"Run new-keeper-key {Opening.FirstHousehold} if the key in use is lost; it puts the new one there.");
    }

    // Why one failed may name another household's book: that is for whoever runs the server.
    private CheckAnswer Backups(bool tellsWhy)
    {
        if (places.Backups is not { } folder)
        {
            return new("backups", CheckState.Look, "The program makes no backups by itself.",
                $"Set {BackupSettings.FolderVariable} to a folder, best on another disk.");
        }

        var last = LastBackup.In(folder);
        if (last?.Failure is { } failure)
        {
            return new("backups", CheckState.Wrong, FormattableString.Invariant(
                $"The backup of {last.At:yyyy-MM-dd HH:mm} UTC failed{(tellsWhy ? $": {failure}" : ".")}"),
                tellsWhy ? "Mend the cause." : "Whoever runs the server sees why with check.");
        }

        var nights = KeptBackups.NightsIn(folder);
        if (nights.Count == 0)
        {
            return new("backups", CheckState.Look, $"There is no backup in {folder} yet.",
                "Leave the program running over a night, or run backup.");
        }

        var days = DateOnly.FromDateTime(clock.GetLocalNow().DateTime).DayNumber - nights[0].DayNumber;
        var says = FormattableString.Invariant($"The last of {nights.Count} in {folder} is of {nights[0]:yyyy-MM-dd}")
            + (last is { Restored: false }
                ? "; it was read back, and not restored, since its PostgreSQL's user may not "
                + "make databases." : ".");
        return days > 2
            ? new("backups", CheckState.Look, says, "Leave the program running, or see its log.")
            : new("backups", CheckState.Well, says);
    }
}

/// <summary>Where a checkup looks beside the database.</summary>
/// <param name="DataFolder">Where the keeper's key lies; null where none is used.</param>
/// <param name="Backups">Where nightly backups lie; null where there are none.</param>
/// <param name="IsPrivate">Whether the data folder holds the PostgreSQL too.</param>
internal sealed record CheckedPlaces(string? DataFolder, string? Backups, bool IsPrivate)
{
    /// <summary>Folders whose disks must have room.</summary>
    public IEnumerable<string> Folders => new[] { IsPrivate ? DataFolder : null, Backups }.OfType<string>()
        .Where(Directory.Exists);
}
