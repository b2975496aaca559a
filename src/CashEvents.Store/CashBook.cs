using System.Diagnostics.Metrics;
using JasperFx.Events;
using JasperFx.MultiTenancy;
using Marten;
using Marten.Services;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.DependencyInjection.Extensions;
using Npgsql;

namespace CashEvents.Store;

/// <summary>
/// Registers the store: Marten with one stream a household, the projection, the writer and the readers.
/// </summary>
public static class CashBook
{
    /// <summary>
    /// Adds the store on a PostgreSQL database; its schema is created or brought up to date when the host starts.
    /// </summary>
    /// <param name="services">Where it is added.</param>
    /// <param name="database">Makes the connections when they are first needed.</param>
    public static IServiceCollection AddCashBook(this IServiceCollection services,
        Func<IServiceProvider, NpgsqlDataSource> database)
    {
        services.AddSingleton(database);
        services.AddSingleton<BookReader>();
        services.AddSingleton<LineReader>();
        services.AddSingleton<CopyReader>();
        services.AddSingleton<TrackerReader>();
        services.AddSingleton<CountRoundReader>();
        services.AddSingleton<PlanReader>();
        services.AddSingleton<SuggestionReader>();
        services.AddSingleton<ColumnReader>();
        services.AddSingleton<WeekReader>();
        services.AddSingleton<FillRunReader>();
        services.AddSingleton<CalendarAddresses>();
        services.AddSingleton<TrailReader>();
        services.AddSingleton<MonthReader>();
        services.AddSingleton<VerificationReader>();
        services.AddSingleton<Rebuilder>();
        services.AddSingleton<BackupMaker>().AddSingleton<BackupRestorer>();
        services.AddSingleton<KeyRing>();
        services.AddSingleton<ForgottenHousehold>();
        services.AddSingleton<PageOrigins>();
        services.AddSingleton<Sessions>();
        services.AddSingleton<OutageLog>();
        services.AddSingleton<NewLines>();
        services.TryAddSingleton(_ => new Meter(WritingMeasures.Name));
        services.AddSingleton<WritingMeasures>();
        services.AddSingleton<NoticeBook>().AddSingleton<Alarms>().AddSingleton<WebhookBook>();
        services.AddSingleton<BookWriter>();
        services.AddSingleton<DatabaseClock>();
        services.AddMarten(provider =>
        {
            var options = new StoreOptions { DatabaseSchemaName = BookTables.Schema };
            options.Connection(provider.GetRequiredService<NpgsqlDataSource>());
            // Marten sets the names' casing of its own accord, whatever the options say.
            var json = new SystemTextJsonSerializer(BookJson.Options);
            json.Configure(o => o.PropertyNamingPolicy = BookJson.Options.PropertyNamingPolicy);
            options.Serializer(json);

            options.Events.StreamIdentity = StreamIdentity.AsString;
            options.Events.TenancyStyle = TenancyStyle.Conjoined;
            // The sender's clock stamps the lines, and the version is checked under a lock before anything is inserted.
            options.Events.AppendMode = EventAppendMode.QuickWithServerTimestamps;
            options.Events.UseExclusiveLockOnConcurrentAppends = true;
            options.Events.MetadataConfig.UserNameEnabled = true;
            options.Events.MetadataConfig.CorrelationIdEnabled = true;
            // They keep the line's hash.
            options.Events.MetadataConfig.HeadersEnabled = true;
            foreach (var (type, kind) in LineKinds.Names)
            {
                options.Events.MapEventType(type, kind);
            }

            options.Schema.For<BookPage>().MultiTenanted();
            options.Storage.ExtendedSchemaObjects.AddRange(
                [BookTables.Lines(), BookTables.Trackers(), BookTables.DayClosings(), BookTables.DayTotals(),
                    BookTables.SpentToDates(), BookTables.PlannedAmounts(), BookTables.Keys(), BookTables.KeyUses(),
                    BookTables.PageOrigins(), BookTables.Sessions(), BookTables.Answers(),
                    BookTables.CalendarAddresses(), BookTables.CalendarEntries(), NoticeTables.Notices(),
                    NoticeTables.Settings(), NoticeTables.Looks(), NoticeTables.Alarms(),
                    WebhookTables.Webhooks(), WebhookTables.Deliveries()]);
            return options;
        }).ApplyAllDatabaseChangesOnStartup();
        services.TryAddSingleton(new Upgrading(MustSucceed: true, []));
        services.AddHostedService<Upgrade>();
        services.AddHostedService(provider => provider.GetRequiredService<BookWriter>());
        services.AddHostedService<Announcements>();
        return services;
    }
}
