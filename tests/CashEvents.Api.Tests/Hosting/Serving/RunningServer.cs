using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Routing;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;
using Microsoft.Extensions.Time.Testing;
using Npgsql;

namespace CashEvents.Api.Tests.Hosting;

/// <summary>
/// The whole HTTP server in this process, listening on a free port, over a real database and with a clock that stands
/// until it is moved.
/// </summary>
internal sealed class RunningServer : IAsyncDisposable
{
    /// <summary>The day on which most tests happen: a Sunday in winter, when the clocks in Dublin show UTC.</summary>
    public static readonly DateTimeOffset Noon = new(2026, 11, 15, 12, 0, 0, TimeSpan.Zero);

    private readonly WebApplication _application;
    // Whoever keeps a cookie says so themselves.
    private readonly HttpClient _http = new(new HttpClientHandler { UseCookies = false });

    private RunningServer(WebApplication application, string database, FakeTimeProvider clock) =>
        (_application, Database, Clock) = (application, database, clock);

    /// <summary>How to connect to its database.</summary>
    public string Database { get; }

    public FakeTimeProvider Clock { get; }

    public IServiceProvider Services => _application.Services;

    public IEndpointRouteBuilder Routes => _application;

    public BookReader Books => Services.GetRequiredService<BookReader>();

    public BookWriter Writer => Services.GetRequiredService<BookWriter>();

    public Opening Opening => Services.GetRequiredService<Opening>();

    public string Address => _application.Urls.Single();

    /// <summary>Starts a server on a fresh database, or on one that another server uses or used.</summary>
    /// <param name="database">Its database; a fresh one if left out.</param>
    /// <param name="services">Services of the test's own.</param>
    /// <param name="map">Addresses of the test's own.</param>
    /// <param name="at">What its clock says at the start; noon of the usual day if left out.</param>
    /// <param name="settings">Settings, as they would stand in its environment.</param>
    public static async Task<RunningServer> StartAsync(string? database = null,
        Action<IServiceCollection>? services = null, Action<WebApplication>? map = null, DateTimeOffset? at = null,
        params (string Name, string Value)[] settings)
    {
        database ??= await PostgresServer.NewDatabaseAsync();
        var clock = new FakeTimeProvider(at ?? Noon);
        var application = Server.Build(
            database, ["--urls", "http://127.0.0.1:0", .. settings.Select(s => $"--{s.Name}={s.Value}")], usual =>
            {
                usual.AddSingleton<TimeProvider>(clock).AddLogging(log => log.ClearProviders());
                services?.Invoke(usual);
            });
        map?.Invoke(application);
        await application.StartAsync();
        return new RunningServer(application, database, clock);
    }

    /// <summary>A sender with a key, or with none.</summary>
    public ApiClient Client(string? key) => new(_http, Address, key);

    public async ValueTask DisposeAsync()
    {
        _http.Dispose();
        await _application.StopAsync();

        // Other tests need the connections that this server would leave idle.
        var database = Services.GetRequiredService<NpgsqlDataSource>();
        await _application.DisposeAsync();
        await database.DisposeAsync();
    }
}
