using System.Collections.Concurrent;
using System.Diagnostics;
using System.Globalization;
using Xunit;

namespace CashEvents.Api.Tests.Hosting;

/// <summary>
/// The private PostgreSQL ends by itself under a program that goes on: it comes back without anybody doing something.
/// </summary>
public sealed class KilledPostgresTests : IDisposable
{
    private const string Key = "a-key-that-the-keeper-chose-and-tells-nobody";

    // More take longer and show the same: CASHEVENTS_TEST_KILLS=50.
    private static readonly int _kills =
        Environment.GetEnvironmentVariable("CASHEVENTS_TEST_KILLS") is { } kills
            ? int.Parse(kills, CultureInfo.InvariantCulture)
            : Thorough.Times(atHand: 3, all: 8);

    private static CancellationToken Stop => TestContext.Current.CancellationToken;
    private readonly TemporaryDataFolder _folder = new();
    private readonly ConcurrentDictionary<int, string> _acknowledged = new();
    private int _next;

    public void Dispose() => _folder.Dispose();

    [ThoroughFact]
    public async Task However_often_it_is_killed_under_load_it_comes_back_with_all_that_was_acknowledged()
    {
        Assert.SkipWhen(OperatingSystem.IsWindows(), "Signals are a matter of Unix.");
        var key = await StartedFolder.CopyToAsync(_folder);
        await using var program = await CashEventsProcess.ServeAsync(_folder.Path);
        var keeper = program.Client(key);
        await SetUpAsync(keeper);
        using var enough = CancellationTokenSource.CreateLinkedTokenSource(Stop);
        var load = LoadAsync(keeper, enough.Token);

        for (var kill = 1; kill <= _kills; kill++)
        {
            await UntilMoreAreAcknowledgedAsync(20);
            using var postgres = Process.GetProcessById(program.PostgresId);
            // With all its helpers, or alone: those that are left then hold its memory for a while.
            postgres.Kill(entireProcessTree: kill % 3 == 0);
            await UntilReadyAsync(program, restarts: kill);
        }

        await UntilMoreAreAcknowledgedAsync(20);
        await enough.CancelAsync();
        await load;

        Assert.Equal(_kills, await RestartsAsync(program));
        var lines = await keeper.LinesAsync();
        Assert.Equal(Enumerable.Range(1, lines.Count).Select(n => (long)n),
            lines.Select(l => l.GetProperty("line").GetInt64()));
        var found = lines.Where(l => l.GetProperty("kind").GetString() == "spend")
            .Select(l => l.GetProperty("description").GetString()).ToList();
        Assert.Equal(found.Count, found.Distinct().Count());
        Assert.Empty(_acknowledged.Keys.Select(i => $"spend {i}").Except(found));
        Assert.Equal(lines.Count,
            (await keeper.GetAsync("/api/verification")).MustBe(200).Json.GetProperty("lines").GetInt64());
    }

    [ThoroughFact]
    public async Task One_that_starts_no_more_ends_the_program_with_a_status_that_says_so()
    {
        Assert.SkipWhen(OperatingSystem.IsWindows(), "Signals are a matter of Unix.");
        var key = await StartedFolder.CopyToAsync(_folder);
        await using var program =
            CashEventsProcess.Start(_folder.Path, null, null, [], ("CASHEVENTS_POSTGRES_STARTS", "3"));
        await program.UntilServingAsync();
        var control = Path.Combine(_folder.Path, "postgresql", "cluster", "global", "pg_control");
        File.Move(control, control + ".away");

        using var postgres = Process.GetProcessById(program.PostgresId);
        postgres.Kill(entireProcessTree: true);
        Reply ready;
        for (var since = Stopwatch.StartNew(); !(ready =
            await program.Client(null).GetAsync("/health/ready")).Text.Contains("failed.",
                StringComparison.Ordinal); await Task.Delay(10, Stop))
            Assert.True(since.Elapsed < TimeSpan.FromMinutes(2), ready.Text);

        ready.MustBeProblem(503, "storage-failed");
        Assert.Matches("PostgreSQL ended by itself at 20[0-9T:-]+Z. (One start|[0-9]+ starts) failed. (It is (being "
            + ")?started again|The program ends)", ready.Json.GetProperty("detail").GetString());
        Assert.Equal("1", ready.Headers["Retry-After"]);

        Assert.Equal(75, await program.EndAsync());
        Assert.Contains("3 starts in a row failed", program.Output);

        File.Move(control + ".away", control);
        await using var next = await CashEventsProcess.ServeAsync(_folder.Path);
        (await next.Client(key).GetAsync("/api/balances")).MustBe(200);
    }

    [ThoroughFact]
    public async Task A_full_disk_is_told_and_it_goes_on_when_there_is_room_again()
    {
        await using var disk = await SmallDisk.MountAsync();
        await using var program = await CashEventsProcess.ServeAsync(disk.Folder, Key);
        var keeper = program.Client(Key);
        await SetUpAsync(keeper);
        using var enough = CancellationTokenSource.CreateLinkedTokenSource(Stop);
        var load = LoadAsync(keeper, enough.Token);
        await UntilMoreAreAcknowledgedAsync(20);

        disk.Fill();
        // The write-ahead log has to grow to notice.
        await UseUpLogAsync(disk.Folder);
        for (var since = Stopwatch.StartNew(); !program.Output.Contains("No space left on device",
            StringComparison.Ordinal)
                || (await program.Client(null).GetAsync("/health/ready")).Status != 503; await Task.Delay(20, Stop))
            Assert.True(since.Elapsed < TimeSpan.FromMinutes(2), program.Output);
        (await program.Client(null).GetAsync("/health/live")).MustBe(200);

        disk.Empty();
        await UntilReadyAsync(program, restarts: 1);
        await UntilMoreAreAcknowledgedAsync(20);
        await enough.CancelAsync();
        await load;

        var found = (await keeper.LinesAsync()).Where(l => l.GetProperty("kind").GetString() == "spend")
            .Select(l => l.GetProperty("description").GetString()).ToList();
        Assert.Equal(found.Count, found.Distinct().Count());
        Assert.Empty(_acknowledged.Keys.Select(i => $"spend {i}").Except(found));
    }

    private static async Task UseUpLogAsync(string folder)
    {
        var connection = PrivatePostgres.ConnectionStringOfRunning(OwnPostgres.In(folder))!;
        try
        {
            for (var segment = 0; segment < 100; segment++)
                await Database.AskAsync(connection,
                    "SELECT pg_logical_emit_message(false, 'test', repeat('x', 100000)); SELECT pg_switch_wal()");
            Assert.Fail("The write-ahead log went on growing on a disk that is full.");
        }
        catch (Npgsql.NpgsqlException)
        {
            // The server is gone.
        }
    }

    private static async Task SetUpAsync(ApiClient keeper)
    {
        (await keeper.PutAsync("/api/household",
            """{"name": "Harbour Row", "currency": "EUR", "timeZone": "Europe/Dublin"}""")).MustBe(200);
        (await keeper.PostAsync("/api/wallets", """{"label": "Oilskin wallet"}""")).MustBe(201);
        (await keeper.PostAsync("/api/compartments",
            """{"label": "Ferry fares", "wallet": "oilskin-wallet", "purpose": "spending"}""")).MustBe(201);
        (await keeper.PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 1000000.00}""")).MustBe(201);
    }

    /// <summary>
    /// Sends spends, eight at a time, and keeps the answers that came; one that failed is sent again under the same
    /// key.
    /// </summary>
    private Task LoadAsync(ApiClient keeper, CancellationToken enough) =>
        Task.WhenAll(Enumerable.Range(0, 8).Select(async _ =>
    {
        while (!enough.IsCancellationRequested)
        {
            var i = Interlocked.Increment(ref _next);
            while (true)
            {
                var reply = await keeper.PostAsync("/api/spends",
                    $$"""{"compartment": "ferry-fares", "amount": 1.00, "description": "spend {{i}}"}""",
                    ("Idempotency-Key", $"spend-{i}"));
                if (reply.Status == 201)
                {
                    _acknowledged[i] = reply.Text;
                    break;
                }

                reply.MustBe(503);
                if (enough.IsCancellationRequested)
                    break;
                await Task.Delay(20, Stop);
            }
        }
    }));

    private async Task UntilMoreAreAcknowledgedAsync(int more)
    {
        for (var before = _acknowledged.Count; _acknowledged.Count < before + more;)
            await Task.Delay(5, Stop);
    }

    private static async Task UntilReadyAsync(CashEventsProcess program, int restarts)
    {
        for (var since = Stopwatch.StartNew(); await RestartsAsync(program) < restarts; await Task.Delay(20, Stop))
            Assert.True(since.Elapsed < TimeSpan.FromMinutes(2), program.Output);
    }

    private static async Task<int> RestartsAsync(CashEventsProcess program)
    {
        var ready = await program.Client(null).GetAsync("/health/ready");
        return ready.Status == 200 && ready.Json.TryGetProperty("postgres", out var postgres)
            ? postgres.GetProperty("restarts").GetInt32()
            : 0;
    }
}
