using System.Text.Json;
using FluentValidation;
using Microsoft.AspNetCore.Cors.Infrastructure;
using Microsoft.Extensions.DependencyInjection.Extensions;
using Npgsql;

namespace CashEvents.Api.Hosting;

/// <summary>The HTTP server over a database.</summary>
internal static class Server
{
    // PostgreSQL takes a hundred unless told otherwise: enough are left for a second server, a backup and an added
    // household.
    private const int MostConnections = 40;
    private const int LargePiece = 64 * 1024;

    /// <summary>Builds the server; the database's schema is brought up to date when it starts.</summary>
    /// <param name="connectionString">The database that the books are in; asked for when it is first needed.</param>
    /// <param name="settings">What ASP.NET Core reads itself, such as <c>--urls</c>.</param>
    /// <param name="configure">Services to use instead of the usual ones, such as another clock.</param>
    /// <param name="fillsByItself">Whether paydays are filled where a household has the program fill by itself.</param>
    /// <param name="upgrading">How books of an older program are brought up to date; all of them if left out.</param>
    /// <param name="network">The home network that it listens on too; null for this machine alone.</param>
    /// <param name="firstStart">How the first book is opened before the server listens; null to leave that.</param>
    public static WebApplication Build(Func<string> connectionString, string[] settings,
        Action<IServiceCollection>? configure = null, bool fillsByItself = true, FirstStart? firstStart = null,
        Upgrading? upgrading = null, HomeNetwork? network = null)
    {
        var builder = WebApplication.CreateBuilder(
            new WebApplicationOptions
            {
                Args = settings,
                ContentRootPath = AppContext.BaseDirectory,
                // Whichever program it is built in.
                ApplicationName = typeof(Server).Assembly.GetName().Name,
            });
        builder.UsePageFiles();
        builder.ListenOn(network);
        WriteLog(builder.Logging, builder.Configuration);
        KeepLogShort(builder.Logging);
        builder.WebHost.ConfigureKestrel(kestrel =>
        {
            kestrel.AddServerHeader = false;
            kestrel.Limits.MaxRequestBodySize = BodyLimit.LargestTaken;
        });
        builder.Services.Configure<HostOptions>(host => host.ShutdownTimeout = TimeSpan.FromSeconds(30));
        configure?.Invoke(builder.Services);
        builder.Services.TryAddSingleton(TimeProvider.System);
        builder.Services.TryAddSingleton(
            new ClockTrust(Always: builder.Configuration.GetValue<bool>(Setting.TrustClock)));
        builder.Services.AddSingleton(upgrading ?? new Upgrading(MustSucceed: true, []));
        builder.AddTelemetry();
        builder.Services.AddCashBook(_ => NpgsqlDataSource.Create(Connections(connectionString())));
        builder.Services.AddHttp();
        if (firstStart is not null)
        {
            builder.Services.AddSingleton(ServerKey.TakeOrMake(builder.Configuration[ServerKey.Variable],
                firstStart.DataFolder));
            builder.Services.AddSingleton(firstStart).AddSingleton<FirstBook>()
                .AddHostedService(provider => provider.GetRequiredService<FirstBook>());
        }

        builder.Services.TryAddSingleton(new ServerKey(null));
        builder.Services.AddSingleton<AutomaticFillRuns>();
        builder.Services.TryAddSingleton(provider => SteadyTime.Of(provider.GetRequiredService<TimeProvider>()));
        builder.Services.AddSingleton(provider => new SecondWitness(
            provider.GetRequiredService<TimeProvider>(), provider.GetRequiredService<SteadyTime>(),
            provider.GetRequiredService<ClockTrust>(), provider.GetRequiredService<DatabaseClock>().ReadAsync));
        builder.Services.AddSingleton<OldAnswers>();
        builder.Services.AddSingleton<NoticeWatch>().AddSingleton<WebhookPost>().AddSingleton<WebhookSender>();
        if (fillsByItself)
        {
            builder.Services.ActByItself<AutomaticFillRuns>().ActByItself<OldAnswers>().ActByItself<NoticeWatch>()
                .ActByItself<WebhookSender>().ActByItself<MetricsPort>();
            builder.Services.AddSingleton<OwnApi>().AddHostedService<BrokerLink>();
        }

        builder.Services.AddCodings();
        builder.Services.AddCors().AddSingleton<ICorsPolicyProvider, PagesElsewhere>();
        builder.Services.AddValidators();
        builder.Services.AddOpenApiDocument();

        var app = builder.Build();
        app.UseWhatStandsBefore();
        app.MapCashEvents();
        return app;
    }

    /// <summary>Builds the server on a database that is there.</summary>
    public static WebApplication Build(string connectionString, string[] settings,
        Action<IServiceCollection>? configure = null, bool fillsByItself = true, FirstStart? firstStart = null,
        Upgrading? upgrading = null, HomeNetwork? network = null) =>
        Build(() => connectionString, settings, configure, fillsByItself, firstStart, upgrading, network);

    /// <summary>Has the log written in the form that is set.</summary>
    public static ILoggingBuilder WriteLog(ILoggingBuilder logging, IConfiguration configuration)
    {
        logging.ClearProviders();
        return Setting.LogsJson(configuration)
            ? logging.AddJsonConsole(console =>
            {
                console.UseUtcTimestamp = true;
                console.TimestampFormat = "yyyy-MM-dd'T'HH:mm:ss.fff'Z'";
            })
            : logging.AddConsole();
    }

    /// <summary>
    /// Puts the endpoints together; otherwise the first request waits for that.
    /// </summary>
    public static void MakeReady(this WebApplication server) =>
        _ = server.Services.GetRequiredService<EndpointDataSource>().Endpoints;

    // What is worth telling the keeper, once, and nothing secret.
    private static void KeepLogShort(ILoggingBuilder logging)
    {
        logging.AddFilter("Microsoft", LogLevel.Warning).AddFilter("Npgsql", LogLevel.Warning);
        // What Marten logs as an error it throws too; it is told where it is caught, once.
        logging.AddFilter("Marten", LogLevel.Critical);
        // A start that fails is told once, by the program, with the mend.
        logging.AddFilter("Microsoft.Extensions.Hosting.Internal.Host", LogLevel.Critical);
        // These write addresses, and some addresses are secret; whatever else is set, they stay quiet.
        foreach (var category in (string[])["Hosting.Diagnostics", "Routing.Matching.DfaMatcher"])
        {
            logging.AddFilter($"Microsoft.AspNetCore.{category}", LogLevel.Warning);
        }
    }

    /// <summary>
    /// Does something with a server of which only the services over the store are wanted, the schema first among them:
    /// nobody is told where it listens. It is stopped whatever came of it; one that is only let go tells the log of
    /// what it broke off.
    /// </summary>
    public static async Task<T> ForOneCommandAsync<T>(this WebApplication server, Func<Task<T>> command,
        CancellationToken cancellation = default)
    {
        server.Urls.Clear();
        server.Urls.Add("http://127.0.0.1:0");
        try
        {
            await server.StartAsync(cancellation).ConfigureAwait(false);
            return await command().ConfigureAwait(false);
        }
        finally
        {
            await server.StopAsync(CancellationToken.None).ConfigureAwait(false);
        }
    }

    private static IServiceCollection ActByItself<T>(this IServiceCollection services)
        where T : class, IHostedService =>
        services.AddHostedService(provider => provider.GetRequiredService<T>());

    private static void ListenOn(this WebApplicationBuilder builder, HomeNetwork? network)
    {
        if (string.IsNullOrEmpty(builder.Configuration[WebHostDefaults.ServerUrlsKey]))
        {
            builder.WebHost.UseUrls("http://127.0.0.1:5080");
        }

        if (network is null)
        {
            return;
        }

        builder.Configuration[WebHostDefaults.ServerUrlsKey] =
            network.Urls(builder.Configuration[WebHostDefaults.ServerUrlsKey]!);
        builder.Services.AddSingleton(network);
        if (network.Authority is not null)
        {
            builder.WebHost.ConfigureKestrel(kestrel => kestrel.ConfigureHttpsDefaults(https =>
                https.ServerCertificateSelector = (_, _) => network.Certificate()));
        }
    }

    // Each is inside those above it.
    private static void UseWhatStandsBefore(this WebApplication app)
    {
        app.UseMiddleware<AnswerHeaders>();
        app.UseMiddleware<KnownHosts>();
        app.UseCompressedReads();
        app.UseExceptionHandler();
        app.UseStatusCodePages(context => Problems.OfStatus(context.HttpContext));
        app.UseMiddleware<FormAddresses>();
        app.UseMiddleware<Methods>();
        // Behind Methods, which has HEAD go the way of GET.
        app.UseRouting();
        app.UseUnderstoodBodies();
        app.UseMiddleware<BodyLimit>();
        app.UseMiddleware<KeyMiddleware>();
        app.UseMiddleware<FeedStreams>();
        app.UseCors();
        app.UseMiddleware<Acceptable>();
        app.UseMiddleware<CurrentPeriods>();
    }

    private static string Connections(string connectionString)
    {
        // The same few statements all day long: PostgreSQL parses and plans each once a connection. No session state is
        // left that would need a reset.
        // What is long, a replay or a month, comes in fewer and larger pieces.
        var connections = new NpgsqlConnectionStringBuilder(connectionString)
        {
            MaxAutoPrepare = 100,
            AutoPrepareMinUsages = 2,
            NoResetOnClose = true,
            ReadBufferSize = LargePiece
        };
        if (!connections.ShouldSerialize("Maximum Pool Size"))
        {
            connections.MaxPoolSize = MostConnections;
        }

        return connections.ConnectionString;
    }

    private static void MapCashEvents(this WebApplication app)
    {
        var api = app.MapGroup(FormAddresses.Root).AddEndpointFilter<FormsThatThereAre>()
            .AddEndpointFilter<TaggedReads>();
        api.MapAll();
        app.MapHealth();
        app.MapProblems();
        app.MapCalendar();
        app.MapMetrics();
        app.MapOpenApiDocument();
        app.MapTrust();
        app.MapPage();
        KeepWhatIsMade(app);
#pragma warning disable ASP0014 // Added by itself they are known only once the server starts: see MakeReady.
        app.UseEndpoints(_ => { });
#pragma warning restore ASP0014
    }

    // Whoever asks these for the endpoints, the router first among them, has them made anew; this one keeps them.
    private static void KeepWhatIsMade(IEndpointRouteBuilder app)
    {
        var kept = new CompositeEndpointDataSource([.. app.DataSources]);
        app.DataSources.Clear();
        app.DataSources.Add(kept);
    }

    private static void AddHttp(this IServiceCollection services)
    {
        services.ConfigureHttpJsonOptions(json => ApiJson.Apply(json.SerializerOptions));
        services.AddExceptionHandler<Problems.Handler>();
        services.AddProblemDetails();
        services.AddSingleton<WriteDesk>();
        services.AddSingleton<HeavyWork>();
        services.AddSingleton<WrongKeys>();
        services.AddSingleton<OneTimeCodes>();
        services.AddSingleton<Entrance>();
        services.AddSingleton<Feed>().AddHostedService(provider => provider.GetRequiredService<Feed>());
        services.AddSingleton<RebuildDesk>();
        services.AddSingleton<Explaining>();
        services.AddSingleton<Opening>();
        services.AddSingleton<Checkup>();
        services.TryAddSingleton(new CheckedPlaces(null, null, false));
        services.AddSingleton<NewKeeperKey>();
        services.AddSingleton<DemoSeed>();
    }

    private static void AddValidators(this IServiceCollection services)
    {
        ValidatorOptions.Global.DefaultRuleLevelCascadeMode = CascadeMode.Stop;

        // Messages name fields as they are written in JSON.
        ValidatorOptions.Global.DisplayNameResolver =
            (_, member, _) => member is null ? null : JsonNamingPolicy.CamelCase.ConvertName(member.Name);
        foreach (var validator in typeof(Server).Assembly.GetTypes()
            .Where(t => !t.IsAbstract && typeof(IValidator).IsAssignableFrom(t)))
        {
            services.AddSingleton(typeof(IValidator<>).MakeGenericType(validator.BaseType!.GetGenericArguments()),
                validator);
        }
    }
}
