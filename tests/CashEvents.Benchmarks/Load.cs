using System.Diagnostics;
using HdrHistogram;

namespace CashEvents.Benchmarks;

/// <summary>What a load measured.</summary>
/// <param name="PerSecond">Operations finished per second.</param>
/// <param name="P50">Median latency in milliseconds.</param>
/// <param name="P99">99th percentile latency in milliseconds.</param>
internal sealed record Measured(double PerSecond, double P50, double P99);

/// <summary>A number of connections, each doing one operation after another.</summary>
internal static class Load
{
    private static readonly TimeSpan WarmUp = TimeSpan.FromSeconds(2);
    private static readonly TimeSpan Measure = TimeSpan.FromSeconds(4);

    public static async Task<Measured> RunAsync(int connections, Func<int, Task<Func<Task>>> connect)
    {
        var operations = new List<Func<Task>>();
        for (var i = 0; i < connections; i++)
        {
            operations.Add(await connect(i));
        }

        await ForAsync(WarmUp, operations);
        return await ForAsync(Measure, operations);
    }

    private static async Task<Measured> ForAsync(TimeSpan time, List<Func<Task>> operations)
    {
        var start = Stopwatch.GetTimestamp();
        var histograms = await Task.WhenAll(operations.Select(operation => Task.Run(async () =>
        {
            var latencies = new LongHistogram(TimeSpan.TicksPerMinute, 3);
            while (Stopwatch.GetElapsedTime(start) < time)
            {
                var began = Stopwatch.GetTimestamp();
                await operation();
                latencies.RecordValue(Math.Max(1, Stopwatch.GetElapsedTime(began).Ticks));
            }

            return latencies;
        })));
        var elapsed = Stopwatch.GetElapsedTime(start);
        var all = new LongHistogram(TimeSpan.TicksPerMinute, 3);
        foreach (var histogram in histograms)
        {
            all.Add(histogram);
        }

        return new Measured(
            all.TotalCount / elapsed.TotalSeconds,
            all.GetValueAtPercentile(50) / (double)TimeSpan.TicksPerMillisecond,
            all.GetValueAtPercentile(99) / (double)TimeSpan.TicksPerMillisecond);
    }
}
