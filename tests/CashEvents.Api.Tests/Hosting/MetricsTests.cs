using System.Collections.Concurrent;
using System.Globalization;
using System.Text;
using System.Text.RegularExpressions;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Http;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;
using Xunit;

namespace CashEvents.Api.Tests.Hosting;

/// <summary>What a monitor hears: measures as text, and traces where they are sent.</summary>
public sealed class MetricsTests(SharedServer shared)
{
    [Fact]
    public async Task A_monitor_with_a_viewers_key_hears_measures_and_no_name_and_no_amount()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "61.37");
        await household.FillAsync("boat-insurance", "1.00");
        (await household.Keeper.PostAsync("/api/counts",
            """{"compartment": "ferry-fares", "total": 61.37, "occurredOn": "2026-11-03"}""")).MustBe(201);
        var monitor = await household.IssueAsync("monitor", "viewer");
        await monitor.GetAsync("/api/compartments/ferry-fares");

        var told = (await monitor.GetAsync("/metrics")).MustBe(200);

        Assert.Equal(("text/plain", "no-store"), (told.ContentType, told.Headers["Cache-Control"]));
        var label = KeyRing.Hash(household.Id)[..8];
        Assert.Equal(["count_age_days 1 12", "counted 1 1", "counted 2 0"], Wallets(told, label).Order());
        foreach (var name in new[]
        {
            "cashevents_commit_duration_seconds_count", "cashevents_commit_lines_bucket{le=\"1\"}",
            "cashevents_queue_requests", "cashevents_queue_books", "cashevents_database_size_bytes",
            "cashevents_projections_behind", "cashevents_database_up 1",
            "http_server_request_duration_seconds_count{http_request_method=\"GET\",http_route=\"/api/compartments/{id}\","
                + "http_response_status_code=\"200\"}",
        })
        {
            Assert.Contains(told.Text.Split('\n'), line => line.StartsWith(name, StringComparison.Ordinal));
        }

        foreach (var secret in new[]
        {
            "ferry", "oilskin", household.Id, "61.37", "monitor", "compartment_balance", "EUR",
        })
        {
            Assert.DoesNotContain(secret, told.Text, StringComparison.OrdinalIgnoreCase);
        }
    }

    [Fact]
    public async Task Nobody_hears_of_another_households_book_and_without_a_key_nobody_hears_anything()
    {
        var (ours, theirs) = (await shared.HarbourRowAsync(), await shared.HarbourRowAsync());
        await ours.FillAsync("ferry-fares", "60.00");
        await theirs.FillAsync("ferry-fares", "60.00");

        var told = (await ours.Keeper.GetAsync("/metrics")).MustBe(200);

        Assert.Equal(["counted 1 0"], Wallets(told, KeyRing.Hash(ours.Id)[..8]));
        Assert.DoesNotContain(KeyRing.Hash(theirs.Id)[..8], told.Text, StringComparison.Ordinal);
        (await ours.Server.Client(null).GetAsync("/metrics")).MustBeProblem(401, "key-missing");
        (await ours.Server.Client("not-a-key").GetAsync("/metrics")).MustBeProblem(401, "key-unknown");
    }

    [Fact]
    public async Task On_a_port_of_its_own_a_monitor_hears_of_all_books_without_a_key_and_there_is_nothing_else()
    {
        await using var server = await RunningServer.StartAsync(settings: ("CASHEVENTS_METRICS_URL",
            "http://127.0.0.1:0"));
        var (one, other) = (await Household.OpenAsync(server), await Household.OpenAsync(server));
        await one.FillAsync("ferry-fares", "60.00");
        await other.FillAsync("rainy-day", "5.00");
        using var http = new HttpClient();
        var address = server.Services.GetRequiredService<MetricsPort>().ListensAt!;

        var told = await http.GetStringAsync(address + "/metrics", TestContext.Current.CancellationToken);
        using var spoofed = new HttpRequestMessage(HttpMethod.Get, address + "/metrics");
        spoofed.Headers.Host = "elsewhere.example";
        using var refused = await http.SendAsync(spoofed, TestContext.Current.CancellationToken);
        using var nothing = await http.GetAsync(address + "/api/balances", TestContext.Current.CancellationToken);

        Assert.All([one, other], household => Assert.Contains(KeyRing.Hash(household.Id)[..8], told,
            StringComparison.Ordinal));
        Assert.Equal((421, 404), ((int)refused.StatusCode, (int)nothing.StatusCode));
    }

    [Fact]
    public async Task Names_and_amounts_are_told_only_where_a_setting_says_so()
    {
        await using var server = await RunningServer.StartAsync(settings: [("CASHEVENTS_METRICS_NAMES", "true"),
            ("CASHEVENTS_METRICS_AMOUNTS", "true")]);
        var household = await Household.OpenAsync(server);
        await household.FillAsync("ferry-fares", "61.37");

        var told = (await household.Keeper.GetAsync("/metrics")).MustBe(200).Text;

        Assert.Contains($"cashevents_wallet_counted{{household=\"{household.Id}\",wallet=\"oilskin-wallet\"}} 0\n",
            told, StringComparison.Ordinal);
        Assert.Contains($"cashevents_compartment_balance{{household=\"{household.Id}\",compartment=\"ferry-fares\","
            + "holding=\"cash\",currency=\"EUR\"} 61.37\n", told, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Lines_that_are_committed_and_streams_that_are_open_are_counted_and_a_dead_database_is_told()
    {
        var backups = Directory.CreateTempSubdirectory("backups-").FullName;
        var last = KeptBackups.FileOf(backups, new DateOnly(2026, 11, 14));
        await File.WriteAllTextAsync(last, "", TestContext.Current.CancellationToken);
        File.SetLastWriteTimeUtc(last, RunningServer.Noon.AddHours(-26).UtcDateTime);
        await using var server = await RunningServer.StartAsync(services: services =>
            services.AddSingleton(new BackupSettings(backups, TimeOnly.MinValue)));
        var household = await Household.OpenAsync(server);
        var before = await MeasureAsync(household, "cashevents_commit_lines_sum");
        await household.FillAsync("ferry-fares", "60.00");
        await household.SpendAsync("ferry-fares", "1.00");

        Assert.Equal(before + 2, await MeasureAsync(household, "cashevents_commit_lines_sum"));
        Assert.Equal(26 * 3600, await MeasureAsync(household, "cashevents_backup_age_seconds"));
        Directory.Delete(backups, recursive: true);
        Assert.Equal(0, await MeasureAsync(household, "cashevents_feed_streams"));
        using (var http = new HttpClient())
        {
            using var request = new HttpRequestMessage(HttpMethod.Get, server.Address + "/api/feed");
            request.Headers.Authorization = new("Bearer", household.Keeper.Key);
            using var open = await http.SendAsync(request, HttpCompletionOption.ResponseHeadersRead,
                TestContext.Current.CancellationToken);
            Assert.Equal(1, await MeasureAsync(household, "cashevents_feed_streams"));
        }

        var told = server.Services.GetRequiredService<Exposition>();
        server.Clock.Advance(TimeSpan.FromMinutes(1));
        await Database.AskAsync(server.Database, "drop table cashevents.mt_streams cascade");
        using var text = new MemoryStream();
        await told.WriteAsync(text, household.Id, TestContext.Current.CancellationToken);
        Assert.Contains("cashevents_database_up 0", Encoding.UTF8.GetString(text.ToArray()), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Traces_go_where_OpenTelemetrys_own_variables_say_without_secrets_or_words_of_the_household()
    {
        var (sent, ready) = (new ConcurrentQueue<(string Path, string Text)>(), WebApplication.CreateSlimBuilder());
        ready.Logging.ClearProviders();
        await using var collector = ready.Build();
        collector.Urls.Add("http://127.0.0.1:0");
        collector.MapPost("/v1/{of}", async (HttpContext http) =>
        {
            using var body = new MemoryStream();
            await http.Request.Body.CopyToAsync(body);
            sent.Enqueue((http.Request.Path, Encoding.Latin1.GetString(body.ToArray())));
        });
        await collector.StartAsync(TestContext.Current.CancellationToken);
        string secret, ours;
        await using (var server = await RunningServer.StartAsync(settings:
            [("OTEL_EXPORTER_OTLP_ENDPOINT", collector.Urls.Single()),
                ("OTEL_EXPORTER_OTLP_PROTOCOL", "http/protobuf")]))
        {
            var household = await Household.OpenAsync(server);
            await household.FillAsync("ferry-fares", "61.37");
            (await household.Keeper.GetAsync("/api/compartments/ferry-fares/tracker")).MustBe(200);
            (await household.Keeper.GetAsync("/api/outlook?pay=net-mending:61.37")).MustBe(422);
            var address = new Uri((await household.Keeper.PostAsync("/api/calendar-address", "{}")).MustBe(201).Json
                .GetProperty("address").GetString()!).AbsolutePath;
            (await server.Client(null).GetAsync(address)).MustBe(200);
            (secret, ours) = (address.Split('/', '.')[2], household.Id);
        }

        var traces = string.Concat(sent.Where(s => s.Path == "/v1/traces").Select(s => s.Text));
        Assert.Contains("commit", traces, StringComparison.Ordinal);
        Assert.Contains("/api/compartments/{id}/tracker", traces, StringComparison.Ordinal);
        Assert.Contains(sent, s => s.Path == "/v1/metrics"
            && s.Text.Contains("cashevents.commit.duration", StringComparison.Ordinal));
        // Statements of other tests in this process are among them: only words that are nobody else's can be missed.
        Assert.All([secret, "61.37", ours, "net-mending"],
            word => Assert.DoesNotContain(word, traces, StringComparison.Ordinal));
    }

    private static IEnumerable<string> Wallets(Reply told, string household) =>
        Regex.Matches(told.Text, $"^cashevents_wallet_(\\w+){{household=\"{household}\",wallet=\"(\\d+)\"}} (\\S+)$",
            RegexOptions.Multiline).Select(match => string.Join(' ', match.Groups.Values.Skip(1)));

    private static async Task<double> MeasureAsync(Household household, string name) => double.Parse(
        (await household.Keeper.GetAsync("/metrics")).MustBe(200).Text.Split('\n')
            .Single(line => line.StartsWith(name + " ", StringComparison.Ordinal)).Split(' ')[1],
        CultureInfo.InvariantCulture);
}
