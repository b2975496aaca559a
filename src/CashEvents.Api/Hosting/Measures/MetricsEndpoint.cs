namespace CashEvents.Api.Hosting;

/// <summary>
/// The measures, for a monitor. With a household's key they have that household's book, with the server's key, or on a
/// port of their own, all books.
/// </summary>
internal static class MetricsEndpoint
{
    public const string Address = "/metrics";

    private const string TextForm = "text/plain; version=0.0.4; charset=utf-8";

    public static void MapMetrics(this IEndpointRouteBuilder app) =>
        app.MapGet(Address, (HttpContext http, Exposition told) =>
        {
            Reads.OnlyTakes(http);
            return TellAsync(http, told, Caller.IfKnown(http)?.Household);
        }).ExcludeFromDescription();

    /// <summary>Tells them.</summary>
    public static Task TellAsync(HttpContext http, Exposition told, string? household)
    {
        http.Response.ContentType = TextForm;
        http.Response.Headers.CacheControl = "no-store";
        return told.WriteAsync(http.Response.Body, household, http.RequestAborted);
    }
}

/// <summary>
/// Serves the measures alone, without a key, where a setting says: at an address that only the monitor reaches.
/// </summary>
internal sealed class MetricsPort(Exposition told, IConfiguration settings) : IHostedService, IAsyncDisposable
{
    /// <summary>Where to listen, such as <c>http://127.0.0.1:9464</c>.</summary>
    public const string Setting = "CASHEVENTS_METRICS_URL";

    private WebApplication? _server;

    /// <summary>Where it listens; null where it does not.</summary>
    public string? ListensAt => _server?.Urls.Single();

    public async Task StartAsync(CancellationToken cancellationToken)
    {
        if (settings[Setting] is not { Length: > 0 } address)
        {
            return;
        }

        if (!Uri.TryCreate(address, UriKind.Absolute, out var url) || url.Scheme != Uri.UriSchemeHttp)
        {
            throw new StartException($"{Setting} is '{address}': write an address such as http://127.0.0.1:9464.");
        }

        var builder = WebApplication.CreateSlimBuilder(new WebApplicationOptions
        {
            Args = ["--urls", address],
            ContentRootPath = AppContext.BaseDirectory,
        });
        builder.Logging.ClearProviders();
        builder.Configuration[KnownHosts.Setting] = settings[KnownHosts.Setting];
        builder.Services.ConfigureHttpJsonOptions(json => ApiJson.Apply(json.SerializerOptions));
        _server = builder.Build();
        _server.UseMiddleware<KnownHosts>();
        _server.MapGet(MetricsEndpoint.Address, http => MetricsEndpoint.TellAsync(http, told, household: null));
        await _server.StartAsync(cancellationToken).ConfigureAwait(false);
    }

    public Task StopAsync(CancellationToken cancellationToken) =>
        _server?.StopAsync(cancellationToken) ?? Task.CompletedTask;

    public ValueTask DisposeAsync() => _server?.DisposeAsync() ?? ValueTask.CompletedTask;
}
