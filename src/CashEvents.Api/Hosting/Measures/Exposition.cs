using System.Diagnostics.Metrics;
using Prometheus;

namespace CashEvents.Api.Hosting;

/// <summary>
/// The measures of this server in the text form that monitors ask for (Prometheus exposition format 0.0.4). Names and
/// units are made of the instruments' as OpenTelemetry's compatibility specification says.
/// </summary>
internal sealed class Exposition : IDisposable
{
    /// <summary>
    /// The instruments that are told beside the program's own, and the labels of those that have some.
    /// </summary>
    private static readonly Dictionary<string, string[]> _labels = new()
    {
        ["http.server.request.duration"] = ["http.request.method", "http.route", "http.response.status_code"],
        ["http.server.active_requests"] = [],
        ["cashevents.deliveries"] = ["channel", "outcome"],
    };

    private static readonly Dictionary<string, string> _units = new() { ["s"] = "_seconds", ["By"] = "_bytes" };

    private readonly CollectorRegistry _registry = Metrics.NewCustomRegistry();
    private readonly MeterListener _listener = new();
    private readonly ServerMeasures _measures;
    private readonly BookMeasures _books;

    public Exposition(IMeterFactory meters, ServerMeasures measures, BookMeasures books)
    {
        (_measures, _books) = (measures, books);
        _listener.InstrumentPublished = (instrument, listener) =>
        {
            // Another server in the same process has its own.
            if (instrument.Meter.Scope == meters
                && (instrument.Meter.Name == WritingMeasures.Name || _labels.ContainsKey(instrument.Name)))
            {
                listener.EnableMeasurementEvents(instrument, CollectorOf(instrument));
            }
        };
        _listener.SetMeasurementEventCallback<double>((_, value, tags, told) => ((Collector)told!)(value, tags));
        _listener.SetMeasurementEventCallback<long>((_, value, tags, told) => ((Collector)told!)(value, tags));
        _listener.SetMeasurementEventCallback<int>((_, value, tags, told) => ((Collector)told!)(value, tags));
        _listener.Start();
    }

    private delegate void Collector(double value, ReadOnlySpan<KeyValuePair<string, object?>> tags);

    /// <summary>Writes them.</summary>
    /// <param name="to">Where to.</param>
    /// <param name="household">Whose book is measured too; null for all.</param>
    /// <param name="cancellation">Gives up.</param>
    public async Task WriteAsync(Stream to, string? household, CancellationToken cancellation)
    {
        await _measures.RefreshAsync(cancellation).ConfigureAwait(false);
        _listener.RecordObservableInstruments();
        var ofBooks = Metrics.NewCustomRegistry();
        try
        {
            await _books.AddToAsync(ofBooks, household, cancellation).ConfigureAwait(false);
        }
        catch (Exception failure) when (failure is Npgsql.NpgsqlException or TimeoutException)
        {
            // `cashevents_database_up` tells; what does not need the database is told all the same.
        }

        await _registry.CollectAndExportAsTextAsync(to, cancellation).ConfigureAwait(false);
        await ofBooks.CollectAndExportAsTextAsync(to, cancellation).ConfigureAwait(false);
    }

    public void Dispose() => _listener.Dispose();

    private Collector CollectorOf(Instrument instrument)
    {
        var said = _labels.GetValueOrDefault(instrument.Name, []);
        var labels = Array.ConvertAll(said, label => label.Replace('.', '_'));
        var (told, help) = (Metrics.WithCustomRegistry(_registry), instrument.Description ?? instrument.Name);
        var name = instrument.Name.Replace('.', '_') + _units.GetValueOrDefault(instrument.Unit ?? "");
        switch (instrument)
        {
            case Histogram<double> seconds:
                return Observed(seconds.Advice?.HistogramBucketBoundaries?.ToArray());
            case Histogram<long> counts:
                return Observed(counts.Advice?.HistogramBucketBoundaries?.Select(bound => (double)bound).ToArray());
            case Counter<long>:
                var counter = told.CreateCounter(name + "_total", help, labels);
                return (value, tags) => counter.WithLabels(Values(said, tags)).Inc(value);
            case UpDownCounter<long>:
                var sum = told.CreateGauge(name, help, labels);
                return (value, tags) => sum.WithLabels(Values(said, tags)).Inc(value);
            default:
                var gauge = told.CreateGauge(name, help, labels);
                return (value, tags) => gauge.WithLabels(Values(said, tags)).Set(value);
        }

        Collector Observed(double[]? bounds)
        {
            var distribution = told.CreateHistogram(name, help, labels,
                bounds is null ? null : new HistogramConfiguration { Buckets = bounds });
            return (value, tags) => distribution.WithLabels(Values(said, tags)).Observe(value);
        }
    }

    private static string[] Values(string[] labels, ReadOnlySpan<KeyValuePair<string, object?>> tags)
    {
        var values = new string[labels.Length];
        Array.Fill(values, "");
        foreach (var tag in tags)
        {
            if (Array.IndexOf(labels, tag.Key) is >= 0 and var place)
            {
                values[place] = Convert.ToString(tag.Value, System.Globalization.CultureInfo.InvariantCulture) ?? "";
            }
        }

        return values;
    }
}
