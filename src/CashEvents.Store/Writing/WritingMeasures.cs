using System.Diagnostics;
using System.Diagnostics.Metrics;

namespace CashEvents.Store.Writing;

/// <summary>
/// What is measured while books are written in, as OpenTelemetry has it: no amounts, no names, no households.
/// </summary>
public sealed class WritingMeasures
{
    /// <summary>The name of the measures and of the traces.</summary>
    public const string Name = "cashevents";

    private static readonly ActivitySource _traces = new(Name);

    private readonly Histogram<double> _duration;
    private readonly Histogram<long> _lines;
    private readonly Counter<long> _failures;

    /// <summary>Measures that stand in a meter.</summary>
    public WritingMeasures(Meter meter)
    {
        ArgumentNullException.ThrowIfNull(meter);
        _duration = meter.CreateHistogram("cashevents.commit.duration", "s", "How long PostgreSQL took for a commit.",
            advice: new InstrumentAdvice<double>
            {
                HistogramBucketBoundaries = [0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10],
            });
        _lines = meter.CreateHistogram("cashevents.commit.lines", "{line}", "Lines that were committed together.",
            advice: new InstrumentAdvice<long> { HistogramBucketBoundaries = [1, 2, 5, 10, 20, 50, 100, 200, 500] });
        _failures = meter.CreateCounter<long>("cashevents.commit.failures", "{commit}",
            "Commits that failed, also those that were tried again since another server came between.");
    }

    /// <summary>Commits, and notes how long it took.</summary>
    /// <param name="lines">How many lines go together.</param>
    /// <param name="commit">Does it.</param>
    internal async Task CommitAsync(int lines, Func<Task> commit)
    {
        using var trace = _traces.StartActivity("commit");
        trace?.SetTag("cashevents.lines", lines);
        var since = Stopwatch.GetTimestamp();
        try
        {
            await commit().ConfigureAwait(false);
            _duration.Record(Stopwatch.GetElapsedTime(since).TotalSeconds);
            _lines.Record(lines);
        }
        catch
        {
            _failures.Add(1);
            trace?.SetStatus(ActivityStatusCode.Error);
            throw;
        }
    }
}
