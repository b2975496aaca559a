using System.Globalization;
using System.Net;
using System.Net.Http.Headers;
using Microsoft.AspNetCore.Builder;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;

namespace CashEvents.Benchmarks;

/// <summary>
/// Durable spends per second through HTTP across many households, beside the plain-SQL ledger with as many accounts on
/// the same PostgreSQL, and what a line costs. Both are driven by this process, in .NET. Then what two servers on one
/// household do together, beside one.
/// </summary>
internal static class HouseholdsBenchmark
{
    private static readonly int[] _connections = [1, 16, 64];

    /// <summary>Measures.</summary>
    /// <param name="households">How many there are.</param>
    /// <param name="rounds">How often each is measured; the median is told.</param>
    public static async Task<int> RunAsync(int households, int rounds)
    {
        var folder = Path.Combine(Path.GetTempPath(), "cashevents-benchmark-" + Guid.NewGuid().ToString("N"));
        try
        {
            var options = OwnPostgres.In(folder) with { MaxConnections = 300 };
            await using (var first = await PrivatePostgres.StartAsync(options))
            {
                await Account.PrepareAsync(first);
            }

            await using var postgres = await PrivatePostgres.StartAsync(options);
            var plain = new PlainLedger(await postgres.CreateDatabaseAsync("plain"));
            await plain.CreateAsync();
            await plain.OpenAsync(households);
            await PrepareAsync(postgres, households);
            Console.WriteLine($"households: {households} of them, each with 20 compartments; PostgreSQL "
                + $"{postgres.Version} with fsync, server, clients (.NET, both sides) on "
                + $"{Environment.ProcessorCount} cores");
            await MeasureFirstAsync(postgres, households);
            await MeasureAsync(postgres, plain, households, rounds);
            await MeasureTwoServersAsync(postgres);
            return 0;
        }
        finally
        {
            if (Directory.Exists(folder))
            {
                Directory.Delete(folder, recursive: true);
            }
        }
    }

    private static async Task MeasureAsync(PrivatePostgres postgres, PlainLedger plain, int households, int rounds)
    {
        await using var server = await StartAsync(postgres);
        Console.WriteLine($"{"connections",11}  {"plain SQL/s",11}  {"p50 ms",7}  {"p99 ms",7}  {"CashEvents/s",12}  "
            + $"{"p50 ms",7}  {"p99 ms",7}  {"ratio",6}");
        foreach (var (connections, spread) in _connections.Select(c => (c, c == 1 ? 1 : households)))
        {
            // Turn about, so that whatever else the machine does falls on both alike.
            var (sqls, https) = (new List<Measured>(), new List<Measured>());
            for (var round = 0; round < rounds; round++)
            {
                sqls.Add(await Load.RunAsync(connections, i => plain.ConnectAsync(i, spread)));
                https.Add(await Load.RunAsync(connections,
                    i => Task.FromResult(Spender(server.Urls.First(), i, spread))));
            }

            var (sql, http) = (Median(sqls), Median(https));
            Console.WriteLine(string.Create(CultureInfo.InvariantCulture,
                $"{connections,11}  {sql.PerSecond,11:0}  {sql.P50,7:0.00}  {sql.P99,7:0.00}  "
                    + $"{http.PerSecond,12:0}  {http.P50,7:0.00}  {http.P99,7:0.00}  "
                    + $"{http.PerSecond / sql.PerSecond,6:0.00}"));
            await Account.TellAsync(postgres,
                () => Load.RunAsync(connections, i => Task.FromResult(Spender(server.Urls.First(), i, spread))));
        }

        await server.StopAsync();
    }

    // A server that has just started knows no book: each household's first write has it read.
    private static async Task MeasureFirstAsync(PrivatePostgres postgres, int households)
    {
        await using var server = await StartAsync(postgres);
        var next = -1;
        var since = System.Diagnostics.Stopwatch.GetTimestamp();
        await Task.WhenAll(Enumerable.Range(0, 16).Select(async _ =>
        {
            var client = Client(server.Urls.First());
            for (var i = Interlocked.Increment(ref next); i < households; i = Interlocked.Increment(ref next))
            {
                await SpendAsync(client, i);
            }
        }));
        var took = System.Diagnostics.Stopwatch.GetElapsedTime(since);
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture,
            $"first write of each after a start, 16 connections: {households / took.TotalSeconds:0}/s"));
        await server.StopAsync();
    }

    // All connections write in one household: at one server, then half of them at each of two.
    private static async Task MeasureTwoServersAsync(PrivatePostgres postgres)
    {
        await using var one = await StartAsync(postgres);
        await using var other = await StartAsync(postgres);
        foreach (var connections in _connections.Where(c => c > 1))
        {
            var alone = await Load.RunAsync(connections, i => Task.FromResult(Spender(one.Urls.First(), i, 1)));
            var written = new int[2];
            var both = await Load.RunAsync(connections, i =>
            {
                var spend = Spender((i % 2 == 0 ? one : other).Urls.First(), i, 1);
                return Task.FromResult<Func<Task>>(async () =>
                {
                    await spend();
                    Interlocked.Increment(ref written[i % 2]);
                });
            });
            Console.WriteLine(string.Create(CultureInfo.InvariantCulture,
                $"one household, {connections} connections: one server {alone.PerSecond:0}/s, p99 {alone.P99:0.0} ms; "
                    + $"two servers {both.PerSecond:0}/s ({both.PerSecond / alone.PerSecond:0.00}), p99 "
                    + $"{both.P99:0.0} ms, the first wrote {100.0 * written[0] / written.Sum():0} % of it"));
        }

        await other.StopAsync();
        await one.StopAsync();
    }

    private static async Task<WebApplication> StartAsync(PrivatePostgres postgres)
    {
        var server = Server.Build(postgres.ConnectionString, ["--urls", "http://127.0.0.1:0"],
            services => services.AddLogging(log => log.ClearProviders()));
        await server.StartAsync();
        return server;
    }

    private static async Task PrepareAsync(PrivatePostgres postgres, int households)
    {
        await using var server = await StartAsync(postgres);
        var opening = server.Services.GetRequiredService<Opening>();
        var writer = server.Services.GetRequiredService<BookWriter>();
        ICommand[] commands =
        [
            new DescribeHousehold("Benchmark", "EUR", "Europe/Dublin", DayOfWeek.Monday),
            new OpenWallet("Oilskin wallet"), new OpenCompartment("Ferry fares", "oilskin-wallet", Purpose.Spending),
            .. Enumerable.Range(1, 19)
                .Select(i => new OpenCompartment($"Compartment {i}", "oilskin-wallet", Purpose.Spending)),
            new RecordFill("ferry-fares", Holding.Cash, 999_999_999m, null, "draw"),
        ];
        await Parallel.ForEachAsync(Enumerable.Range(0, households),
            new ParallelOptions { MaxDegreeOfParallelism = 16 }, async (i, _) =>
            {
                await opening.OpenAsync(Household(i), "Benchmark", Key(i));
                var written = await writer.WriteAsync(
                    new WriteRequest(Household(i), "keeper", [.. commands.Select(c => new EntryRequest(c))]));
                if (written.Outcomes.Any(o => o.Refusal is not null))
                {
                    throw new InvalidOperationException("A book of the benchmark was not opened.");
                }
            });
        await server.StopAsync();
    }

    // Connections go around all households, each from its own beginning.
    private static Func<Task> Spender(string address, int connection, int households)
    {
        var client = Client(address);
        var random = new Random(connection);
        return () => SpendAsync(client, random.Next(households));
    }

    private static async Task SpendAsync(HttpClient client, int household)
    {
        using var request = new HttpRequestMessage(HttpMethod.Post, "/api/spends")
        {
            Headers = { Authorization = new AuthenticationHeaderValue("Bearer", Key(household)) },
            Content = new StringContent(
                """{"compartment":"ferry-fares","amount":0.01,"description":"Return to the mainland"}""",
                MediaTypeHeaderValue.Parse("application/json")),
        };
        using var response = await client.SendAsync(request);
        await response.Content.ReadAsByteArrayAsync();
        if (response.StatusCode != HttpStatusCode.Created)
        {
            throw new InvalidOperationException($"A spend was answered {response.StatusCode}.");
        }
    }

    private static Measured Median(List<Measured> rounds) =>
        rounds.OrderBy(r => r.PerSecond).ElementAt(rounds.Count / 2);

    private static string Household(int i) => $"household-{i}";

    private static string Key(int i) => $"benchmark-key-of-household-{i}";

    private static HttpClient Client(string address) =>
        new(new SocketsHttpHandler { UseCookies = false, UseProxy = false, MaxConnectionsPerServer = 1 })
        {
            BaseAddress = new Uri(address),
        };
}
