using System.Globalization;
using System.Net;
using System.Net.Http.Headers;
using System.Net.Http.Json;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;
using Microsoft.Extensions.DependencyInjection;
using Npgsql;

namespace CashEvents.Benchmarks;

/// <summary>
/// Durable spends per second through HTTP on one household, beside the plain-SQL ledger on the same server.
/// </summary>
internal static class WritingBenchmark
{
    private const string Key = "benchmark-key-of-no-one";
    private const int Rounds = 3;
    private static readonly int[] Connections = [1, 16, 64];

    public static async Task<int> RunAsync()
    {
        var folder = Path.Combine(Path.GetTempPath(), "cashevents-benchmark-" + Guid.NewGuid().ToString("N"));
        try
        {
            await using var postgres =
                await PrivatePostgres.StartAsync(
                    OwnPostgres.In(folder) with { MaxConnections = 200 });
            await SayAsync(postgres);

            var plain = new PlainLedger(await postgres.CreateDatabaseAsync("plain"));
            await plain.CreateAsync();
            await using var server = Server.Build(postgres.ConnectionString, ["--urls", "http://127.0.0.1:0"]);
            await server.StartAsync();
            var address = server.Services.GetRequiredService<IServer>().Features
                .Get<IServerAddressesFeature>()!.Addresses.Single();
            await PrepareAsync(server, address);

            Console.WriteLine(
                $"{"connections",11}  {"plain SQL/s",11}  {"p50 ms",7}  {"p99 ms",7}  {"CashEvents/s",12}  "
                    + $"{"p50 ms",7}  {"p99 ms",7}  {"keyed/s",9}  {"ratio",6}  {"keyed",6}");
            foreach (var connections in Connections)
            {
                // Turn about, so that whatever else the machine does falls on all three alike; the median round is
                // told.
                var (sqls, https, keyeds) = (new List<Measured>(), new List<Measured>(), new List<Measured>());
                for (var round = 0; round < Rounds; round++)
                {
                    sqls.Add(await Load.RunAsync(connections, _ => plain.ConnectAsync()));
                    https.Add(await Load.RunAsync(connections, _ => Task.FromResult(Spender(address, keyed: false))));
                    keyeds.Add(await Load.RunAsync(connections, _ => Task.FromResult(Spender(address, keyed: true))));
                }

                var (sql, http, keyed) = (Median(sqls), Median(https), Median(keyeds));
                Console.WriteLine(string.Create(CultureInfo.InvariantCulture,
                    $"{connections,11}  {sql.PerSecond,11:0}  {sql.P50,7:0.00}  {sql.P99,7:0.00}  "
                        + $"{http.PerSecond,12:0}  {http.P50,7:0.00}  {http.P99,7:0.00}  {keyed.PerSecond,9:0}  "
                        + $"{http.PerSecond / sql.PerSecond,6:0.0}  {keyed.PerSecond / sql.PerSecond,6:0.0}"));
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

    private static Measured Median(List<Measured> rounds) =>
        rounds.OrderBy(r => r.PerSecond).ElementAt(rounds.Count / 2);

    private static async Task SayAsync(PrivatePostgres postgres)
    {
        await using var database = NpgsqlDataSource.Create(postgres.ConnectionString);
        await using var command =
            database.CreateCommand("select current_setting('fsync') || ' / ' || current_setting('synchronous_commit')");
        Console.WriteLine($"PostgreSQL {postgres.Version}, fsync / synchronous_commit "
            + $"{await command.ExecuteScalarAsync()}, {Environment.ProcessorCount} cores for the server, its "
            + $"PostgreSQL and the clients together.");
        Console.WriteLine("One household, one compartment. Plain SQL: lock the balance row, insert the entry, update "
            + "the balance, commit. Keyed: each spend with an Idempotency-Key of its own.");
    }

    private static async Task PrepareAsync(WebApplication server, string address)
    {
        await server.Services.GetRequiredService<Opening>().OpenAsync(Opening.FirstHousehold, "Benchmark", Key);
        using var client = Client(address);
        (await client.PutAsJsonAsync("/api/household",
            new { name = "Benchmark", currency = "EUR", timeZone = "Europe/Dublin" })).EnsureSuccessStatusCode();
        (await client.PostAsJsonAsync("/api/wallets", new { label = "Oilskin wallet" })).EnsureSuccessStatusCode();
        // As many compartments as a household has: the page that every commit rewrites has its usual size.
        foreach (var label in Enumerable.Range(1, 19).Select(i => $"Compartment {i}").Prepend("Ferry fares"))
        {
            (await client.PostAsJsonAsync("/api/compartments",
                new { label, wallet = "oilskin-wallet", purpose = "spending" })).EnsureSuccessStatusCode();
        }

        (await client.PostAsJsonAsync("/api/fills", new { compartment = "ferry-fares", amount = 999_999_999.00m }))
            .EnsureSuccessStatusCode();
    }

    private static Func<Task> Spender(string address, bool keyed)
    {
        var client = Client(address);
        return async () =>
        {
            using var request = new HttpRequestMessage(HttpMethod.Post, "/api/spends")
            {
                Content = new StringContent(
                    """{"compartment":"ferry-fares","amount":0.01,"description":"Return to the mainland"}""",
                    MediaTypeHeaderValue.Parse("application/json")),
            };
            if (keyed)
            {
                request.Headers.Add("Idempotency-Key", Guid.NewGuid().ToString());
            }

            using var response = await client.SendAsync(request);
            await response.Content.ReadAsByteArrayAsync();
            if (response.StatusCode != HttpStatusCode.Created)
            {
                throw new InvalidOperationException($"A spend was answered {response.StatusCode}.");
            }
        };
    }

    // A handler of its own: one connection each, as the plain ledger has.
    private static HttpClient Client(string address) =>
        new(new SocketsHttpHandler { UseCookies = false, UseProxy = false, MaxConnectionsPerServer = 1 })
        {
            BaseAddress = new Uri(address),
            DefaultRequestHeaders = { Authorization = new AuthenticationHeaderValue("Bearer", Key) },
        };
}
