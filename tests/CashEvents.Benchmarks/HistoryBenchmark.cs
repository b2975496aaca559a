using System.Diagnostics;
using System.Globalization;
using System.Net.Http.Headers;
using System.Text.Json;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;
using Microsoft.Extensions.DependencyInjection;
using Npgsql;

namespace CashEvents.Benchmarks;

/// <summary>
/// What a long book costs: reading and appending beside the same on a short one, and rebuilding beside the plain way of
/// reading the same rows.
/// </summary>
internal static class HistoryBenchmark
{
    private const int Rounds = 9;
    private const int Reads = 200;
    private const int Writes = 400;

    private static readonly string[] _reads = ["/api/balances", "/api/months/2026-11/trail", "/api/weeks/2026-W46"];

    public static async Task<int> RunAsync(long lines)
    {
        var folder = Environment.GetEnvironmentVariable("CASHEVENTS_BENCHMARK_DATA") is { Length: > 0 } kept
            ? kept
            : Path.Combine(Path.GetTempPath(), "cashevents-benchmark-" + Guid.NewGuid().ToString("N"));
        try
        {
            await using var postgres =
                await PrivatePostgres.StartAsync(
                    OwnPostgres.In(folder) with { MaxConnections = 200 });
            await using var longest = await ServedBook.OpenAsync(postgres, lines);
            await using var short10 = await ServedBook.OpenAsync(postgres, Math.Min(lines, 10_000));
            await using var short1 = await ServedBook.OpenAsync(postgres, Math.Min(lines, 1_000));
            Console.WriteLine($"PostgreSQL {postgres.Version}, {Environment.ProcessorCount} cores for the server, its "
                + $"PostgreSQL and the client together. {LongBook.LinesADay} lines a day, 20 compartments; times in "
                + $"milliseconds, medians of {Rounds} rounds turn about; of the ratios too, each of one round, since "
                + $"the machine may be slower in some rounds than in others.");
            Console.WriteLine();
            await CompareReadsAsync(longest, short10);
            await CompareWritesAsync(longest, short1);
            await RebuildAsync(longest);
            return 0;
        }
        finally
        {
            if (Environment.GetEnvironmentVariable("CASHEVENTS_BENCHMARK_DATA") is null or ""
                && Directory.Exists(folder))
            {
                Directory.Delete(folder, recursive: true);
            }
        }
    }

    private static async Task CompareReadsAsync(ServedBook longBook, ServedBook shortBook)
    {
        Console.WriteLine(
            $"{"reading",-28}  {$"{longBook.Lines} lines",16}  {$"{shortBook.Lines} lines",16}  {"ratio",6}");
        foreach (var address in _reads)
        {
            await ServedBook.TimesAsync(Reads / 4, () => longBook.GetAsync(address));
            await ServedBook.TimesAsync(Reads / 4, () => shortBook.GetAsync(address));
            var rounds = await TurnAboutAsync(
                () => ServedBook.TimesAsync(address.Contains("trail", StringComparison.Ordinal) ? Reads / 10 : Reads,
                    () => longBook.GetAsync(address)),
                () => ServedBook.TimesAsync(address.Contains("trail", StringComparison.Ordinal) ? Reads / 10 : Reads,
                    () => shortBook.GetAsync(address)));
            Tell($"GET {address}", rounds);
        }

        Console.WriteLine();
    }

    private static async Task CompareWritesAsync(ServedBook longBook, ServedBook shortBook)
    {
        Console.WriteLine(
            $"{"appending",-28}  {$"{longBook.Lines} lines",16}  {$"{shortBook.Lines} lines",16}  {"ratio",6}");
        await ServedBook.TimesAsync(Writes / 4, longBook.SpendAsync);
        await ServedBook.TimesAsync(Writes / 4, shortBook.SpendAsync);
        Tell("POST /api/spends", await TurnAboutAsync(() => ServedBook.TimesAsync(Writes, longBook.SpendAsync),
            () => ServedBook.TimesAsync(Writes, shortBook.SpendAsync)));
        Console.WriteLine();
    }

    private static async Task RebuildAsync(ServedBook book)
    {
        var rounds = await TurnAboutAsync(book.RebuildAsync, book.ReadPlainlyAsync);
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture,
            $"rebuilding {book.Lines} lines   {Median(rounds, r => r.First),10:0} lines/s"));
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture,
            $"reading them, parsing JSON  {Median(rounds, r => r.Second),10:0} lines/s   ratio "
                + $"{Median(rounds, r => r.First / r.Second):0.00}"));
    }

    private static async Task<IReadOnlyList<(double First, double Second)>> TurnAboutAsync(Func<Task<double>> first,
        Func<Task<double>> second)
    {
        var rounds = new List<(double, double)>();
        for (var round = 0; round < Rounds; round++)
        {
            rounds.Add((await first(), await second()));
        }

        return rounds;
    }

    private static double Median(IReadOnlyList<(double First, double Second)> rounds,
        Func<(double First, double Second), double> of) => rounds.Select(of).Order().ElementAt(rounds.Count / 2);

    private static void Tell(string what, IReadOnlyList<(double First, double Second)> rounds) =>
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture,
            $"{what,-28}  {Median(rounds, r => r.First),16:0.000}  {Median(rounds, r => r.Second),16:0.000}  "
                + $"{Median(rounds, r => r.First / r.Second),6:0.00}"));

    /// <summary>A book in a database of its own, and the server over it.</summary>
    private sealed class ServedBook : IAsyncDisposable
    {
        private readonly string _database;
        private readonly WebApplication _server;
        private readonly HttpClient _client;

        private ServedBook(string database, WebApplication server)
        {
            (_database, _server) = (database, server);
            _client = new HttpClient(
                new SocketsHttpHandler { UseCookies = false, UseProxy = false, MaxConnectionsPerServer = 1 })
            {
                BaseAddress = new Uri(server.Services.GetRequiredService<IServer>().Features
                    .Get<IServerAddressesFeature>()!.Addresses.Single()),
                DefaultRequestHeaders = { Authorization = new AuthenticationHeaderValue("Bearer", LongBook.Key) },
            };
        }

        public long Lines { get; private init; }

        public static async Task<ServedBook> OpenAsync(PrivatePostgres postgres, long lines)
        {
            var database = await LongBook.KeptAsync(postgres, lines);
            // As in a household, the book is there when the program starts: what loading it left in memory is not
            // timed.
            var server = await LongBook.ServeAsync(database,
                new ToldClock(new DateTimeOffset(LongBook.Today, new TimeOnly(21, 0), TimeSpan.Zero)));
            return new ServedBook(database, server) { Lines = lines };
        }

        public async Task GetAsync(string address)
        {
            using var response = await _client.GetAsync(new Uri(address, UriKind.Relative));
            response.EnsureSuccessStatusCode();
            await response.Content.ReadAsByteArrayAsync();
        }

        public async Task SpendAsync()
        {
            using var body = new StringContent(
                """{"compartment":"compartment-1","amount":0.01,"description":"Bread and milk"}""",
                MediaTypeHeaderValue.Parse("application/json"));
            using var response = await _client.PostAsync(new Uri("/api/spends", UriKind.Relative), body);
            response.EnsureSuccessStatusCode();
        }

        /// <summary>Milliseconds that one of so many takes.</summary>
        public static async Task<double> TimesAsync(int times, Func<Task> operation)
        {
            var start = Stopwatch.GetTimestamp();
            for (var i = 0; i < times; i++)
            {
                await operation();
            }

            return Stopwatch.GetElapsedTime(start).TotalMilliseconds / times;
        }

        /// <summary>Lines a second that a rebuild takes in and compares.</summary>
        public async Task<double> RebuildAsync()
        {
            var start = Stopwatch.GetTimestamp();
            var finding = await _server.Services.GetRequiredService<Rebuilder>().RebuildAsync(Opening.FirstHousehold);
            return !finding.Switched ? finding.Lines / Stopwatch.GetElapsedTime(start).TotalSeconds
                : throw new InvalidOperationException($"The rebuild found {finding.Drifts[0]}.");
        }

        /// <summary>The plain way: lines a second, read with Npgsql in their order, their JSON parsed.</summary>
        public async Task<double> ReadPlainlyAsync()
        {
            await using var database = NpgsqlDataSource.Create(_database);
            var start = Stopwatch.GetTimestamp();
            await using var command =
                database.CreateCommand("select version, correlation_id, timestamp, user_name, type, data from "
                    + "cashevents.mt_events where tenant_id = 'household' and stream_id = 'book' order by version");
            command.CommandTimeout = 0;
            await using var reader = await command.ExecuteReaderAsync();
            var lines = 0L;
            while (await reader.ReadAsync())
            {
                using var json = JsonDocument.Parse(reader.GetString(5));
                lines += reader.GetInt64(0) > 0
                    && reader.GetString(1).Length + reader.GetString(3).Length + reader.GetString(4).Length > 0
                    && reader.GetDateTime(2) > default(DateTime) && json.RootElement.ValueKind == JsonValueKind.Object
                        ? 1
                        : 0;
            }

            return lines / Stopwatch.GetElapsedTime(start).TotalSeconds;
        }

        public async ValueTask DisposeAsync()
        {
            _client.Dispose();
            await _server.StopAsync();
            await _server.DisposeAsync();
        }
    }
}
