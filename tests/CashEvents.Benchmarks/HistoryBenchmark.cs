using System.Diagnostics;
using System.Globalization;
using CashEvents.Api.Hosting;
using CashEvents.Store.PostgreSql;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;

namespace CashEvents.Benchmarks;

/// <summary>What a long book costs: reading, appending and rebuilding, each beside the same on a short one or beside the plain way.</summary>
internal static class HistoryBenchmark
{
    public static async Task<int> RunAsync(long lines)
    {
        var folder = Environment.GetEnvironmentVariable("CASHEVENTS_BENCHMARK_DATA") ?? Path.Combine(Path.GetTempPath(), "cashevents-benchmark-" + Guid.NewGuid().ToString("N"));
        await using var postgres = await EmbeddedPostgres.StartAsync(new EmbeddedPostgresOptions { DataFolder = folder, MaxConnections = 200 });
        var clock = new ToldClock(default);
        var start = Stopwatch.GetTimestamp();
        var database = await postgres.CreateDatabaseAsync($"book_{lines}");
        await using var server = Server.Build(database, ["--urls", "http://127.0.0.1:0"], services => services.AddSingleton<TimeProvider>(clock).AddLogging(log => log.ClearProviders()));
        await server.StartAsync();
        await LongBook.WriteAsync(server, clock, lines, seed: 1);
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{lines} lines written in {Stopwatch.GetElapsedTime(start).TotalSeconds:0} s"));
        await server.StopAsync();
        return 0;
    }
}
