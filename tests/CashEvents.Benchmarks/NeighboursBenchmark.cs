using System.Collections.Concurrent;
using System.Diagnostics;
using System.Globalization;
using System.Net.Http.Headers;
using System.Text;
using System.Text.Json;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;

namespace CashEvents.Benchmarks;

/// <summary>
/// What a household waits for its balances while another asks for all that takes long. Server, its PostgreSQL and both
/// senders share the machine.
/// </summary>
internal static class NeighboursBenchmark
{
    private const int Senders = 8;
    private static readonly TimeSpan _time = TimeSpan.FromSeconds(8);
    private static readonly TimeSpan _pause = TimeSpan.FromMilliseconds(20);

    public static async Task<int> RunAsync()
    {
        var folder = Path.Combine(Path.GetTempPath(), "cashevents-benchmark-" + Guid.NewGuid().ToString("N"));
        try
        {
            await using var postgres =
                await PrivatePostgres.StartAsync(OwnPostgres.In(folder));
            await using var server = Server.Build(postgres.ConnectionString, ["--urls", "http://127.0.0.1:0"],
                services => services.AddLogging(log => log.ClearProviders()));
            await server.StartAsync();
            using var quiet = await OpenAsync(server, "quiet", compartments: 12);
            using var busy = await OpenAsync(server, "busy", compartments: 60);
            await PlanFarAheadAsync(busy);
            Console.WriteLine($"neighbours: balances of one household every {_pause.TotalMilliseconds} ms, while "
                + $"{Senders} senders of another ask without a pause, {_time.TotalSeconds} s each; "
                + $"{Environment.ProcessorCount} cores for all; milliseconds");
            Console.WriteLine($"  {"the other asks for",-34}  {"median",8}  {"p99",8}  {"longest",8}   its answers: "
                + $"times, status, longest");
            await MeasureAsync("nothing", quiet,
                () => Task.Delay(_pause).ContinueWith(_ => (0, 0d), TaskScheduler.Default));
            await MeasureAsync("outlook, 60 months", quiet, () => AskAsync(busy, "GET", "/api/outlook?months=60"));
            await MeasureAsync("outlook, 4 months", quiet, () => AskAsync(busy, "GET", "/api/outlook?months=4"));
            await MeasureAsync("its page", quiet,
                () => AskAsync(busy, "GET", "/api/outlook?months=4", accept: "text/html"));
            await MeasureAsync("sinking funds", quiet, () => AskAsync(busy, "GET", "/api/sinking-funds"));
            await MeasureAsync("packing, 40 compartments", quiet,
                () => AskAsync(busy, "POST", "/api/packings", Packing(40)));
            foreach (var rows in new[] { 240_000, 10_000 })
            {
                var sheet = Sheet(rows);
                await MeasureAsync(string.Create(CultureInfo.InvariantCulture, $"import, {rows:N0} rows"), quiet,
                    () => AskAsync(busy, "POST", "/api/imports?compartment=compartment-1&dryRun=true", sheet,
                        "text/csv"));
            }

            await server.StopAsync();
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

    private static async Task<HttpClient> OpenAsync(WebApplication server, string household, int compartments)
    {
        var key = $"key-of-the-{household}-household-of-the-benchmark";
        await server.Services.GetRequiredService<Opening>().OpenAsync(household, household, key);
        var client = new HttpClient(new SocketsHttpHandler { UseCookies = false, UseProxy = false })
        {
            BaseAddress = new Uri(server.Services.GetRequiredService<IServer>().Features
                .Get<IServerAddressesFeature>()!.Addresses.Single()),
            DefaultRequestHeaders = { Authorization = new AuthenticationHeaderValue("Bearer", key) },
            Timeout = TimeSpan.FromMinutes(5),
        };
        await WriteAsync(client, "PUT", "/api/household",
            """{"name": "Harbour Row", "currency": "EUR", "timeZone": "Europe/Dublin", "country": "IE"}""");
        await WriteAsync(client, "POST", "/api/wallets", """{"label": "Sea chest"}""");
        for (var n = 1; n <= compartments; n++)
        {
            var purpose = n % 10 == 0 ? "sinkingFund" : "spending";
            await WriteAsync(client, "POST", "/api/compartments",
                $$"""{"label": "Compartment {{n}}", "wallet": "sea-chest", "purpose": "{{purpose}}"}""");
            await WriteAsync(client, "POST", "/api/fills",
                $$"""{"compartment": "compartment-{{n}}", "amount": 500.00}""");
        }

        return client;
    }

    // Paid every day by 31 sources, with 61 bills a month to save for.
    private static async Task PlanFarAheadAsync(HttpClient busy)
    {
        var first = DateTime.Today.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture);
        for (var n = 1; n <= 31; n++)
        {
            await WriteAsync(busy, "PUT", $"/api/income-sources/source-{n}",
                $$"""{"label": "Source {{n}}", "rule": "FREQ=DAILY", "first": "{{first}}", "notBankDay": "next", "amount": 40.00}""");
        }

        for (var n = 1; n <= 61; n++)
        {
            await WriteAsync(busy, "POST", "/api/goals",
                $$"""{"compartment": "compartment-{{10 * (1 + (n % 6))}}", "label": "Bill {{n}}", "amount": 25.00, "due": "{{DateTime.Today.AddDays(20 + n).ToString("yyyy-MM-dd", CultureInfo.InvariantCulture)}}", "every": "P1M"}""");
        }

        for (var fund = 10; fund <= 60; fund += 10)
        {
            await WriteAsync(busy, "PUT", $"/api/sinking-funds/compartment-{fund}",
                """{"bankPercent": 60, "interestPercent": 2.75}""");
            await WriteAsync(busy, "PUT", $"/api/compartments/compartment-{fund}/fill-rule",
                """{"kind": "contribution", "rank": 1}""");
        }
    }

    // No stack of these values comes to all the amounts, and no piece is left over to try with.
    private static string Packing(int compartments)
    {
        var random = new Random(2026);
        var (values, held) = (new[] { 200m, 100m, 50m, 20m, 10m, 5m, 2m }, new int[7]);
        var amounts = new Dictionary<string, decimal>();
        for (var n = 1; n <= compartments; n++)
        {
            var pieces = values.Select((_, i) => random.Next(0, i < 2 ? 2 : 4)).ToArray();
            amounts.Add($"compartment-{n}", Math.Max(2m, values.Zip(pieces, (value, count) => value * count).Sum()));
            held = [.. held.Zip(pieces, (a, b) => a + b)];
        }

        held[^1] -= 1;
        held[^2] += 1;
        return JsonSerializer.Serialize(
            new
            {
                inHand = values.Zip(held)
                .ToDictionary(p => p.First.ToString(CultureInfo.InvariantCulture), p => p.Second),
                amounts
            });
    }

    private static string Sheet(int rows)
    {
        var sheet = new StringBuilder("date,description,amount,balance\n");
        for (var row = 1; row <= rows; row++)
        {
            sheet.Append("2026-11-02,,1,\n");
        }

        return sheet.ToString();
    }

    private static async Task MeasureAsync(string what, HttpClient quiet, Func<Task<(int Status, double Took)>> ask)
    {
        using var stop = new CancellationTokenSource(_time);
        var answers = new ConcurrentBag<(int Status, double Took)>();
        var senders = Enumerable.Range(0, Senders).Select(_ => Task.Run(async () =>
        {
            while (!stop.IsCancellationRequested)
            {
                answers.Add(await ask());
            }
        })).ToList();
        var waits = new List<double>();
        while (!stop.IsCancellationRequested)
        {
            var (status, took) = await AskAsync(quiet, "GET", "/api/balances");
            waits.Add(status == 200
                ? took
                : throw new InvalidOperationException($"The balances were answered {status}."));
            await Task.Delay(_pause);
        }

        await Task.WhenAll(senders);
        waits.Sort();
        var told = string.Join("; ",
            answers.Where(a => a.Status != 0).GroupBy(a => a.Status).OrderBy(g => g.Key)
                .Select(g => string.Create(CultureInfo.InvariantCulture,
                    $"{g.Count()} x {g.Key}, {g.Max(a => a.Took):F0}")));
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture,
            $"  {what,-34}  {waits[waits.Count / 2],8:F1}  {waits[waits.Count * 99 / 100],8:F1}  {waits[^1],8:F1}   "
                + $"{told}"));
    }

    private static async Task WriteAsync(HttpClient client, string method, string address, string json)
    {
        using var request = Request(method, address, json, "application/json");
        using var response = await client.SendAsync(request);
        if (!response.IsSuccessStatusCode)
        {
            throw new InvalidOperationException($"{method} {address}: {await response.Content.ReadAsStringAsync()}");
        }
    }

    private static async Task<(int Status, double Took)> AskAsync(HttpClient client, string method, string address,
        string? body = null, string type = "application/json", string accept = "application/json")
    {
        using var request = Request(method, address, body, type);
        request.Headers.Accept.Add(MediaTypeWithQualityHeaderValue.Parse(accept));
        var start = Stopwatch.GetTimestamp();
        using var response = await client.SendAsync(request);
        await response.Content.ReadAsByteArrayAsync();
        return ((int)response.StatusCode, Stopwatch.GetElapsedTime(start).TotalMilliseconds);
    }

    private static HttpRequestMessage Request(string method, string address, string? body, string type) =>
        new(new HttpMethod(method),
            new Uri(address, UriKind.Relative))
        {
            Content =
                body is null ? null : new StringContent(body, Encoding.UTF8, type)
        };
}
