using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;
using Xunit;

namespace CashEvents.Api.Tests.Hosting;

/// <summary>Backups that the program makes by itself.</summary>
public sealed class NightlyBackupsTests : IDisposable
{
    private readonly string _folder = Path.Combine(Path.GetTempPath(), $"backups-{Guid.NewGuid():N}");
    private readonly LoggedLines _log = new();

    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    public void Dispose()
    {
        if (Directory.Exists(_folder))
        {
            Directory.Delete(_folder, recursive: true);
        }
    }

    [Fact]
    public async Task Once_a_night_each_book_is_in_a_file_that_was_restored_beside_the_books()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        await household.FillAsync("ferry-fares", "60.00");
        var backups = Of(server, new BackupSettings(_folder, new TimeOnly(0, 0)));

        var made = await backups.MakeUpAsync(Stop);
        var again = await backups.MakeUpAsync(Stop);
        server.Clock.Advance(TimeSpan.FromDays(1));
        var next = await backups.MakeUpAsync(Stop);

        Assert.Null(made!.Failure);
        Assert.True(made.Restored);
        Assert.Equal(await household.LineAsync(), made.Lines);
        Assert.Null(again);
        Assert.NotEqual(made.File, next!.File);
        Assert.Equal([next.File, made.File], KeptBackups.NightsIn(_folder).Select(n => KeptBackups.FileOf(_folder, n)));
        Assert.Equal(next, LastBackup.In(_folder));
        Assert.Equal("0", await Database.AskAsync(server.Database,
            "select count(*) from pg_database where datname like 'cashevents_scratch_%'"));
    }

    [Fact]
    public async Task A_book_that_does_not_agree_is_told_once_and_takes_no_place_of_a_good_backup()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        var line = (await household.FillAsync("ferry-fares", "60.00")).Lines[0];
        var backups = Of(server, new BackupSettings(_folder, new TimeOnly(0, 0)));
        var good = await backups.MakeUpAsync(Stop);
        server.Clock.Advance(TimeSpan.FromDays(1));
        await Database.AskAsync(server.Database,
            $"update cashevents.mt_events set user_name = 'nobody' where version = {line}");

        var failed = await backups.MakeUpAsync(Stop);
        await backups.MakeUpAsync(Stop);

        Assert.Contains("does not agree", failed!.Failure);
        Assert.Equal(failed.Failure, LastBackup.In(_folder)!.Failure);
        Assert.Single(_log.Lines);
        Assert.Equal("1", await Database.AskAsync(server.Database,
            "select count(*) from cashevents.notice_alarm where kind = 'backupFailed' and tenant_id = "
                + $"'{household.Id}'"));
        Assert.Equal(good!.File, KeptBackups.FileOf(_folder, Assert.Single(KeptBackups.NightsIn(_folder))));
        Assert.Equal(["last-backup.json", Path.GetFileName(good.File)!],
            Directory.EnumerateFiles(_folder).Select(Path.GetFileName).Order().Reverse());
    }

    [Fact]
    public async Task Where_its_user_may_make_no_database_it_is_read_back_and_said_to_be_no_more()
    {
        await using var server = await RunningServer.StartAsync();
        await (await Household.OpenAsync(server)).FillAsync("ferry-fares", "60.00");
        var reader = $"reader_{Guid.NewGuid():N}";
        await Database.AskAsync(server.Database, $"create role {reader} login in role pg_read_all_data");
        var backups = new NightlyBackups(new BackupSettings(_folder, new TimeOnly(0, 0)),
            server.Services.GetRequiredService<BackupMaker>(), server.Services.GetRequiredService<KeyRing>(),
            server.Services.GetRequiredService<Alarms>(),
            new Npgsql.NpgsqlConnectionStringBuilder(server.Database) { Username = reader }.ConnectionString,
            server.Clock, _log.Of<NightlyBackups>());

        var made = await backups.MakeUpAsync(Stop);

        Assert.Null(made!.Failure);
        Assert.False(made.Restored);
        Assert.True(File.Exists(made.File));
    }

    [Fact]
    public async Task A_folder_that_can_not_be_written_is_told_and_nothing_breaks()
    {
        await using var server = await RunningServer.StartAsync();
        await Household.OpenAsync(server);
        await File.WriteAllTextAsync(_folder + ".file", "", Stop);
        var backups = Of(server, new BackupSettings(Path.Combine(_folder + ".file", "backups"), new TimeOnly(0, 0)));

        var failed = await backups.MakeUpAsync(Stop);

        Assert.NotNull(failed!.Failure);
        Assert.Single(_log.Lines);
        File.Delete(_folder + ".file");
    }

    [Theory]
    [InlineData("2026-11-15T02:59", "2026-11-14")]
    [InlineData("2026-11-15T03:00", "2026-11-15")]
    [InlineData("2026-11-15T23:59", "2026-11-15")]
    public void A_night_begins_at_its_time(string now, string night) => Assert.Equal(
        DateOnly.Parse(night, System.Globalization.CultureInfo.InvariantCulture),
        new BackupSettings(_folder, new TimeOnly(3, 0))
            .LastNight(DateTime.Parse(now, System.Globalization.CultureInfo.InvariantCulture)));

    private NightlyBackups Of(RunningServer server, BackupSettings settings) => new(settings,
        server.Services.GetRequiredService<BackupMaker>(), server.Services.GetRequiredService<KeyRing>(),
        server.Services.GetRequiredService<Alarms>(), server.Database, server.Clock, _log.Of<NightlyBackups>());

    /// <summary>What is logged as an error.</summary>
    private sealed class LoggedLines : ILoggerProvider
    {
        public List<string> Lines { get; } = [];

        public ILogger<T> Of<T>() => new LoggerFactory([this]).CreateLogger<T>();

        public ILogger CreateLogger(string categoryName) => new Log(Lines);

        public void Dispose()
        {
        }

        private sealed class Log(List<string> lines) : ILogger
        {
            public IDisposable? BeginScope<TState>(TState state)
                where TState : notnull => null;

            public bool IsEnabled(LogLevel logLevel) => logLevel >= LogLevel.Error;

            void ILogger.Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception,
                Func<TState, Exception?, string> formatter)
            {
                if (IsEnabled(logLevel))
                {
                    lines.Add(formatter(state, exception));
                }
            }
        }
    }
}
