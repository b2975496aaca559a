using System.Diagnostics;
using System.Globalization;
using System.Net;
using System.Net.Http.Headers;
using System.Net.Http.Json;
using System.Net.Sockets;
using HdrHistogram;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;

namespace CashEvents.Benchmarks;

/// <summary>
/// How long it takes from a commit until who listens has the line, with many streams on one book, and one of them that
/// takes nothing.
/// </summary>
internal static class FeedBenchmark
{
    private const string Key = "benchmark-key-of-no-one";
    private const int LinesASecond = 200;
    private static readonly TimeSpan _time = TimeSpan.FromSeconds(15);

    public static async Task<int> RunAsync()
    {
        var folder = Path.Combine(Path.GetTempPath(), "cashevents-benchmark-" + Guid.NewGuid().ToString("N"));
        try
        {
            await using var postgres = await PrivatePostgres.StartAsync(OwnPostgres.In(folder));
            await using var server = Server.Build(postgres.ConnectionString, ["--urls", "http://127.0.0.1:0"],
                services => services.AddLogging(log => log.ClearProviders()));
            await server.StartAsync();
            var address = server.Services.GetRequiredService<IServer>().Features
                .Get<IServerAddressesFeature>()!.Addresses.Single();
            await server.Services.GetRequiredService<Opening>().OpenAsync(Opening.FirstHousehold, "Benchmark", Key);
            using var keeper = Client(address, Key);
            var keys = await PrepareAsync(keeper);
            Console.WriteLine($"feed: {LinesASecond} lines a second on one book for {_time.TotalSeconds} s, server, "
                + $"its "
                + $"PostgreSQL, writer and listeners on {Environment.ProcessorCount} cores; from the commit until a "
                + "listener has the line");
            Console.WriteLine(
                $"{"streams",8}  {"lines/s",8}  {"median ms",9}  {"p99 ms",8}  {"longest",8}  {"told",10}  "
                + $"{"missing",7}  {"managed MB",10}");
            foreach (var streams in new[] { 1, 50, 500 })
            {
                await MeasureAsync(server.Services.GetRequiredService<BookWriter>(), address, keys, streams);
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

    private static async Task<List<string>> PrepareAsync(HttpClient keeper)
    {
        (await keeper.PutAsJsonAsync("/api/household",
            new { name = "Benchmark", currency = "EUR", timeZone = "Europe/Dublin" })).EnsureSuccessStatusCode();
        (await keeper.PostAsJsonAsync("/api/wallets", new { label = "Oilskin wallet" })).EnsureSuccessStatusCode();
        (await keeper.PostAsJsonAsync("/api/compartments",
            new { label = "Ferry fares", wallet = "oilskin-wallet", purpose = "spending" })).EnsureSuccessStatusCode();
        var keys = new List<string>();
        for (var n = 0; n < 17; n++)
        {
            var issued = await keeper.PostAsJsonAsync("/api/keys", new { name = $"display {n}", role = "viewer" });
            keys.Add((await issued.Content.ReadFromJsonAsync<Issued>())!.Key);
        }

        return keys;
    }

    private static async Task MeasureAsync(BookWriter writer, string address, List<string> keys, int streams)
    {
        // When each line was committed, by its number.
        var committed = new long[1_000_000];
        using var over = new CancellationTokenSource();
        var heard = await Task.WhenAll(Enumerable.Range(0, streams)
            .Select(n => ListenAsync(address, keys[n % 16], committed, over.Token)));
        using var still = await StandStillAsync(address, keys[16]);
        var (first, last, took) = await WriteAsync(writer, committed);
        await Task.Delay(TimeSpan.FromSeconds(2));
        var memory = GC.GetTotalMemory(forceFullCollection: true) / 1024 / 1024;
        await over.CancelAsync();
        var all = new LongHistogram(TimeSpan.TicksPerMinute, 3);
        var told = 0L;
        foreach (var listener in heard)
        {
            var (waits, lines) = await listener;
            all.Add(waits);
            told += lines;
        }

        double Ms(long ticks) => ticks / (double)TimeSpan.TicksPerMillisecond;
        var written = last - first + 1;
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture,
            $"{streams,8}  {written / took.TotalSeconds,8:0}  {Ms(all.GetValueAtPercentile(50)),9:0.0}  "
                + $"{Ms(all.GetValueAtPercentile(99)),8:0.0}  {Ms(all.GetMaxValue()),8:0.0}  {told,10}  "
                + $"{(written * streams) - told,7}  {memory,10}"));
    }

    private static async Task<(long First, long Last, TimeSpan Took)> WriteAsync(BookWriter writer, long[] committed)
    {
        var (first, last) = (long.MaxValue, 0L);
        var begun = Stopwatch.GetTimestamp();
        var writes = new List<Task>();
        for (var n = 0; Stopwatch.GetElapsedTime(begun) < _time; n++)
        {
            var due = TimeSpan.FromSeconds((double)n / LinesASecond) - Stopwatch.GetElapsedTime(begun);
            if (due > TimeSpan.Zero)
            {
                await Task.Delay(due);
            }

            writes.Add(WriteOneAsync());
        }

        await Task.WhenAll(writes);
        return (first, last, Stopwatch.GetElapsedTime(begun));

        async Task WriteOneAsync()
        {
            var written = await writer.WriteAsync(new WriteRequest(Opening.FirstHousehold, "keeper",
                [new EntryRequest(new RecordFill("ferry-fares", Holding.Cash, 0.01m, null,
                    "Return to the mainland"))]));
            var line = written.Outcomes[0].Entry!.Lines[0];
            Volatile.Write(ref committed[line], Stopwatch.GetTimestamp());
            lock (committed)
            {
                (first, last) = (Math.Min(first, line), Math.Max(last, line));
            }
        }
    }

    private static async Task<Task<(LongHistogram Waits, long Lines)>> ListenAsync(string address, string key,
        long[] committed, CancellationToken over)
    {
        var client = Client(address, key);
        var response = await client.GetAsync("/api/feed", HttpCompletionOption.ResponseHeadersRead, over);
        response.EnsureSuccessStatusCode();
        return Task.Run(() => HearAsync(client, response, committed, over), CancellationToken.None);
    }

    // Looks for numbers and nothing else: what it costs to listen is not to be measured.
    private static async Task<(LongHistogram Waits, long Lines)> HearAsync(HttpClient client,
        HttpResponseMessage response, long[] committed, CancellationToken over)
    {
        var (waits, lines) = (new LongHistogram(TimeSpan.TicksPerMinute, 2), 0L);
        var (buffer, kept) = (new byte[64 * 1024], 0);
        using (client)
        using (response)
        using (var stream = await response.Content.ReadAsStreamAsync(over))
        {
            try
            {
                while (await stream.ReadAsync(buffer.AsMemory(kept), over) is > 0 and var read)
                {
                    kept += read;
                    var taken = 0;
                    while (buffer.AsSpan(taken, kept - taken).IndexOf("\nid: "u8) is >= 0 and var at
                        && buffer.AsSpan(taken + at + 1, kept - taken - at - 1) is var said
                        && said.IndexOf((byte)'\n') is >= 0 and var end && end + 1 < said.Length)
                    {
                        taken += at + 1 + end;
                        // The number by which the stream begins is no event.
                        if (said[end + 1] == 'e')
                        {
                            lines++;
                            // Who hears of a line before its writer does has it at once.
                            var since = Volatile.Read(
                                ref committed[int.Parse(said[4..end], CultureInfo.InvariantCulture)]);
                            waits.RecordValue(since == 0 ? 1 : Math.Max(1, Stopwatch.GetElapsedTime(since).Ticks));
                        }
                    }

                    // What may be the beginning of a number is looked at again.
                    var rest = Math.Max(taken, kept - 64);
                    buffer.AsSpan(rest, kept - rest).CopyTo(buffer);
                    kept -= rest;
                }
            }
            catch (Exception ended) when (ended is OperationCanceledException or IOException)
            {
                // The measurement is over.
            }
        }

        return (waits, lines);
    }

    // Asks for the feed and takes nothing of it.
    private static async Task<Socket> StandStillAsync(string address, string key)
    {
        var socket = new Socket(SocketType.Stream, ProtocolType.Tcp) { ReceiveBufferSize = 4096 };
        await socket.ConnectAsync(IPAddress.Loopback, new Uri(address).Port);
        await socket.SendAsync(System.Text.Encoding.ASCII.GetBytes(
            $"GET /api/feed HTTP/1.1\r\nHost: 127.0.0.1\r\nAuthorization: Bearer {key}\r\n\r\n"));
        return socket;
    }

    private static HttpClient Client(string address, string key) =>
        new(new SocketsHttpHandler { UseCookies = false, UseProxy = false })
        {
            BaseAddress = new Uri(address),
            DefaultRequestHeaders = { Authorization = new AuthenticationHeaderValue("Bearer", key) },
        };

    private sealed record Issued(string Key);
}
