using System.Diagnostics;
using System.Globalization;
using System.Text.Json;
using CashEvents.Api.Hosting;
using CashEvents.Store.PostgreSql;
using CashEvents.Store.Rebuilds;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;
using Npgsql;

namespace CashEvents.Benchmarks;

/// <summary>Lines a second that a rebuild takes in, beside reading the same rows with Npgsql and parsing their JSON.</summary>
internal static class RebuildBenchmark
{
    public static async Task<int> RunAsync(long lines)
    {
        var folder = Environment.GetEnvironmentVariable("CASHEVENTS_BENCHMARK_DATA")!;
        await using var postgres = await EmbeddedPostgres.StartAsync(new EmbeddedPostgresOptions { DataFolder = folder, MaxConnections = 200 });
        var database = await postgres.CreateDatabaseAsync($"book_{lines}");
        await using var server = Server.Build(database, ["--urls", "http://127.0.0.1:0"], services => services.AddLogging(log => log.ClearProviders()));
        await server.StartAsync();
        for (var i = 0; i < 3; i++)
        {
            var plain = await PlainAsync(database);
            Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"plain: {plain.Lines} lines in {plain.Time.TotalSeconds:0.00} s"));
            var start = Stopwatch.GetTimestamp();
            var found = await server.Services.GetRequiredService<Rebuilder>().RebuildAsync(Opening.FirstHousehold);
            Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"rebuild: {found.Lines} lines, {found.Drifts.Count} drifts in {Stopwatch.GetElapsedTime(start).TotalSeconds:0.00} s"));
            foreach (var drift in found.Drifts.Take(10))
            {
                Console.WriteLine(drift);
            }
        }

        await server.StopAsync();
        return 0;
    }

    private static async Task<(long Lines, TimeSpan Time)> PlainAsync(string connectionString)
    {
        await using var database = NpgsqlDataSource.Create(connectionString);
        var start = Stopwatch.GetTimestamp();
        await using var command = database.CreateCommand("select version, timestamp, user_name, type, data from cashevents.mt_events where tenant_id = 'household' and stream_id = 'book' order by version");
        command.CommandTimeout = 0;
        await using var reader = await command.ExecuteReaderAsync();
        var lines = 0L;
        while (await reader.ReadAsync())
        {
            using var json = JsonDocument.Parse(reader.GetString(4));
            lines += reader.GetInt64(0) > 0 && reader.GetDateTime(1) > default(DateTime) && reader.GetString(2).Length + reader.GetString(3).Length > 0 && json.RootElement.ValueKind == JsonValueKind.Object ? 1 : 0;
        }

        return (lines, Stopwatch.GetElapsedTime(start));
    }
}
