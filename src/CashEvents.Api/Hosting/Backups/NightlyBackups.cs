using Npgsql;

namespace CashEvents.Api.Hosting;

/// <summary>
/// Backs every book up each night, has the backup restored and verified beside, and keeps some of the older ones. A
/// night that was slept through is made up for.
/// </summary>
internal sealed class NightlyBackups(BackupSettings settings, BackupMaker maker, KeyRing keys, Alarms alarms,
    string connectionString, TimeProvider clock, ILogger<NightlyBackups> log) : BackgroundService
{
    // A program that runs for one command only, or is started again at once, is spared it.
    private static readonly TimeSpan _afterStart = TimeSpan.FromMinutes(5);

    // A machine may sleep, and its clock be set.
    private static readonly TimeSpan _lookEvery = TimeSpan.FromMinutes(10);
    private static readonly TimeSpan _afterFailure = TimeSpan.FromHours(1);

    private const string Failed =
        "The nightly backup failed, and is tried again each hour. Whoever runs the server sees why with check.";

    private string? _told;

    /// <summary>Writes the backup of the last night, unless there is one.</summary>
    /// <returns>What came of it; null when it was there.</returns>
    public async Task<LastBackup?> MakeUpAsync(CancellationToken cancellation)
    {
        if (settings.Folder is not { } folder)
        {
            return null;
        }

        var file = KeptBackups.FileOf(folder, settings.LastNight(clock.GetLocalNow().DateTime));
        if (File.Exists(file))
        {
            return null;
        }

        var result = await TryAsync(folder, file, cancellation).ConfigureAwait(false);
        if (result.Failure is { } failure && failure != _told)
        {
            log.LogError("The nightly backup failed, and is tried again each hour: {Failure}", failure);
        }

        _told = result.Failure;
        await TellAsync(result, cancellation).ConfigureAwait(false);
        return result;
    }

    /// <inheritdoc />
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        for (var wait = settings.Folder is null ? Timeout.InfiniteTimeSpan : _afterStart; ;)
        {
            await Task.Delay(wait, clock, stoppingToken).ConfigureAwait(false);
            var result = await MakeUpAsync(stoppingToken).ConfigureAwait(false);
            wait = result?.Failure is null ? _lookEvery : _afterFailure;
        }
    }

    // Every household is told, since the file is of all books; and not why, which may be another household's matter.
    private async Task TellAsync(LastBackup result, CancellationToken cancellation)
    {
        try
        {
            foreach (var household in await keys.HouseholdsAsync(cancellation).ConfigureAwait(false))
            {
                await (result.Failure is not null
                    ? alarms.RaiseAsync(household, new Alarm(NoticeKind.BackupFailed, "", Failed), cancellation)
                    : alarms.EndAsync(household, NoticeKind.BackupFailed, cancellation: cancellation))
                    .ConfigureAwait(false);
            }
        }
        catch (NpgsqlException)
        {
            // PostgreSQL is away, which is told elsewhere; the next try tells it.
        }
    }

    private async Task<LastBackup> TryAsync(string folder, string file, CancellationToken cancellation)
    {
        LastBackup result;
        try
        {
            MakeFolder(folder);
            result = await WriteAsync(folder, file, cancellation).ConfigureAwait(false);
        }
        catch (OperationCanceledException) when (cancellation.IsCancellationRequested)
        {
            throw;
        }
#pragma warning disable CA1031 // Whatever goes wrong with a backup, the books are served on, and it is told.
        catch (Exception failure)
#pragma warning restore CA1031
        {
            result = new LastBackup(clock.GetUtcNow(), null, 0, 0, false, failure.Message);
        }

        try
        {
            result.Keep(folder);
        }
        catch (Exception failure) when (CheckedBackup.CanNotBe(failure))
        {
            // Where nothing can be written the failure was the same, and it is in the log.
        }

        return result;
    }

    private async Task<LastBackup> WriteAsync(string folder, string file, CancellationToken cancellation)
    {
        // Under a name of its own until it is known to restore: the newest file is one that does.
        var tried = file + ".tried";
        File.Delete(tried);
        try
        {
            var books = await CheckedBackup.WriteAsync(maker, tried, null, cancellation).ConfigureAwait(false);
            if (books.FirstOrDefault(book => !book.Finding.Agrees) is { } broken)
            {
                throw new BackupException($"{CashEventsProgram.Say(broken.Household, broken.Finding)} The earlier "
                    + "backups are kept.");
            }

            var restored = await ScratchDatabase.RestoreAsync(connectionString, tried, cancellation)
                .ConfigureAwait(false);
            if (restored?.FirstOrDefault(book => !book.Finding.Agrees) is { } other)
            {
                throw new BackupException("The backup was restored beside the books, and does not agree there: "
                    + CashEventsProgram.Say(other.Household, other.Finding));
            }

            File.Move(tried, file);
            KeptBackups.Clear(folder);
            return new LastBackup(clock.GetUtcNow(), file, new FileInfo(file).Length,
                books.Sum(book => book.Finding.Lines), restored is not null, null);
        }
        finally
        {
            File.Delete(tried);
        }
    }

    private static void MakeFolder(string folder)
    {
        if (OperatingSystem.IsWindows())
        {
            Directory.CreateDirectory(folder);
        }
        else
        {
            Directory.CreateDirectory(folder,
                UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute);
        }
    }
}
