using System.Diagnostics.Metrics;
using OpenTelemetry;
using OpenTelemetry.Metrics;
using OpenTelemetry.Resources;
using OpenTelemetry.Trace;

namespace CashEvents.Api.Hosting;

/// <summary>
/// Measures and traces by OpenTelemetry. They are sent where its own environment variables say, and nowhere without
/// them.
/// </summary>
internal static class Telemetry
{
    private const string Postgres = "Npgsql";

    private static readonly string[] _whereTo =
        ["OTEL_EXPORTER_OTLP_ENDPOINT", "OTEL_EXPORTER_OTLP_TRACES_ENDPOINT", "OTEL_EXPORTER_OTLP_METRICS_ENDPOINT"];

    public static void AddTelemetry(this WebApplicationBuilder builder)
    {
        var services = builder.Services;
        services.AddSingleton(provider => provider.GetRequiredService<IMeterFactory>().Create(WritingMeasures.Name));
        services.AddSingleton(provider => ActivatorUtilities.CreateInstance<ServerMeasures>(provider));
        services.AddSingleton<BookMeasures>();
        services.AddSingleton<Exposition>();
        services.AddSingleton<MetricsPort>();
        if (!_whereTo.Any(setting => !string.IsNullOrWhiteSpace(builder.Configuration[setting])))
        {
            return;
        }

        services.AddOpenTelemetry()
            .ConfigureResource(resource => resource.AddService(WritingMeasures.Name,
                serviceVersion: ProgramVersion.Text))
            .WithMetrics(metrics => metrics.AddMeter(WritingMeasures.Name, "Microsoft.AspNetCore.Hosting"))
            .WithTracing(tracing => tracing.AddSource(WritingMeasures.Name, Postgres)
                .AddAspNetCoreInstrumentation(requests =>
                {
                    // The address of a calendar is a secret, and of others the route tells enough: ids are the
                    // household's words.
                    requests.Filter = http => !CalendarEndpoint.IsSecret(http.Request.Path);
                    requests.EnrichWithHttpResponse = (trace, response) =>
                    {
                        trace.SetTag("url.path", trace.GetTagItem("http.route"));
                        trace.SetTag("url.query", null);
                    };
                }))
            .UseOtlpExporter();
    }
}
