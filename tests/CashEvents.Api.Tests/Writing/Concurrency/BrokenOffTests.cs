using System.Net;
using System.Net.Sockets;
using System.Text;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;
using Npgsql;
using Xunit;

namespace CashEvents.Api.Tests.Writing;

/// <summary>
/// PostgreSQL fails in the middle of writing: the sender is told, nothing is lost or doubled, and the next request is
/// written.
/// </summary>
public sealed class BrokenOffTests
{
    private const string Pay = """{"compartment": "ferry-fares", "amount": 60.00}""";

    [Fact]
    public async Task A_connection_that_is_cut_while_writing_writes_nothing_and_its_request_can_be_sent_again()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        Task<Reply> sent;
        await using (var held = await HeldBook.HoldAsync(household))
        {
            sent = SendAsync(household);
            await CutAsync(server.Database, await held.WriterAsync());
            Told(await sent, "it may or may not stand in the book");
        }

        Assert.Equal(Household.SetUpLines, await household.LineAsync());
        await IsWrittenOnceAsync(household);
    }

    [ThoroughFact]
    public async Task A_connection_cut_after_the_commit_and_before_its_answer_leaves_a_line_that_the_same_key_finds()
    {
        using var folder = new TemporaryDataFolder();
        await using var postgres =
            await PrivatePostgres.StartAsync(new PrivatePostgresOptions { DataFolder = folder.Path },
                cancellationToken: TestContext.Current.CancellationToken);
        await using var server = await RunningServer.StartAsync(postgres.ConnectionString);
        var household = await Household.OpenAsync(server);
        await IsLookedAtAsync(household);

        // A commit that waits for a second server which never answers is on disk here and not yet told.
        await SetAsync(postgres, "alter system set synchronous_standby_names = 'nobody'");
        var sent = SendAsync(household);
        await using (var asks = new NpgsqlConnection(
            new NpgsqlConnectionStringBuilder(server.Database) { Pooling = false }.ConnectionString))
        {
            await asks.OpenAsync(TestContext.Current.CancellationToken);
            await CutAsync(server.Database, await HeldBook.WaitingAsync(asks, "wait_event = 'SyncRep'"));
        }

        var told = await sent;
        await SetAsync(postgres, "alter system reset synchronous_standby_names");

        Told(told, "it may or may not stand in the book");
        Assert.Equal(Household.SetUpLines + 1, await household.LineAsync());
        await IsWrittenOnceAsync(household);
    }

    // What is noted of it then is not taken for the writer's commit.
    private static async Task IsLookedAtAsync(Household household)
    {
        var line = (await household.LineAsync()).ToString(System.Globalization.CultureInfo.InvariantCulture);
        while (await Database.AskAsync(household.Server.Database,
            $"select line from cashevents.notice_look where tenant_id = '{household.Id}'") != line)
        {
            await Task.Delay(50, TestContext.Current.CancellationToken);
        }
    }

    [ThoroughFact]
    public async Task A_PostgreSQL_that_is_started_anew_while_writing_loses_nothing()
    {
        Assert.SkipWhen(OperatingSystem.IsWindows(), "There it would answer at another port.");
        using var folder = new TemporaryDataFolder();
        var options = new PrivatePostgresOptions { DataFolder = folder.Path };
        var postgres = await PrivatePostgres.StartAsync(options,
            cancellationToken: TestContext.Current.CancellationToken);
        await using var server = await RunningServer.StartAsync(postgres.ConnectionString);
        var household = await Household.OpenAsync(server);
        await using (var held = await HeldBook.HoldAsync(household))
        {
            var sent = SendAsync(household);
            await held.WriterAsync();
            await postgres.DisposeAsync();
            Told(await sent, "it may or may not stand in the book");
        }

        string[] reads =
        [
            "household", "wallets", "compartments", "compartments/ferry-fares", "compartments/ferry-fares/tracker",
            "compartments/ferry-fares/notes", "balances", "balances?atLine=5", "lines", "lines/3", "plan", "weeks",
            "paydays", "outlook", "fill-rules", "fill-runs", "automatic-fills", "goals", "sinking-funds",
            "saving-plans", "count-rounds", "custody", "over-and-short", "reconciliation", "months",
            "months/2026-11/trail", "verification", "keys",
        ];
        foreach (var address in reads)
        {
            (await household.Keeper.GetAsync($"/api/{address}")).MustBeProblem(503, "storage-failed");
        }

        (await household.Keeper.PostAsync("/api/fills", Pay)).MustBeProblem(503, "storage-failed");
        (await household.Keeper.PostAsync("/api/fill-runs", """{"payday": "2026-10-30", "dryRun": true}"""))
            .MustBeProblem(503, "storage-failed");
        (await household.Keeper.PostAsync("/api/rehearsals", """{"suppose": [{"reverse": 11}]}"""))
            .MustBeProblem(503, "storage-failed");
        postgres = await PrivatePostgres.StartAsync(options, cancellationToken: TestContext.Current.CancellationToken);
        await using (postgres)
        {
            await IsWrittenOnceAsync(household);
        }
    }

    [Fact]
    public async Task A_sender_that_hangs_up_while_it_is_written_finds_it_under_the_same_key()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        await using (var held = await HeldBook.HoldAsync(household))
        {
            using var sender = new TcpClient();
            await sender.ConnectAsync(IPAddress.Loopback, new Uri(server.Address).Port,
                TestContext.Current.CancellationToken);
            await sender.GetStream().WriteAsync(Encoding.ASCII.GetBytes(Written(household, Pay.Length)),
                TestContext.Current.CancellationToken);
            await held.WriterAsync();
            HangUp(sender);
        }

        await IsWrittenOnceAsync(household);
    }

    [Fact]
    public async Task A_sender_that_hangs_up_before_all_is_sent_is_no_fault_of_the_program()
    {
        var log = new KeptLog();
        await using (var server =
            await RunningServer.StartAsync(
                services: services => services.AddLogging(logging => logging.AddProvider(log))))
        {
            var household = await Household.OpenAsync(server);
            using (var sender = new TcpClient())
            {
                await sender.ConnectAsync(IPAddress.Loopback, new Uri(server.Address).Port,
                    TestContext.Current.CancellationToken);
                await sender.GetStream().WriteAsync(
                    Encoding.ASCII.GetBytes(Written(household, Pay.Length + 1, "Expect: 100-continue\r\n")),
                    TestContext.Current.CancellationToken);
                // It is read when the server says that it goes on.
                Assert.NotEqual(0, await sender.GetStream()
                    .ReadAsync(new byte[64], TestContext.Current.CancellationToken));
                HangUp(sender);
            }

            await IsWrittenOnceAsync(household);
        }

        Assert.Empty(log.Errors);
    }

    [Fact]
    public async Task A_full_disk_writes_nothing_and_says_so()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        await Database.AskAsync(server.Database, """
            create function full_disk() returns trigger language plpgsql as $$ begin raise exception 'could not extend file' using errcode = '53100'; end $$;
            create trigger full_disk before insert on cashevents.mt_events for each row execute function full_disk()
            """);

        var told = await SendAsync(household);

        Told(told, "nothing of this was written: free some room");
        Assert.Equal(Household.SetUpLines, await household.LineAsync());
        // The trigger stays: to drop it would wait for whoever reads the table.
        await Database.AskAsync(server.Database,
            "create or replace function full_disk() returns trigger language plpgsql as $$ begin return new; end $$");
        await IsWrittenOnceAsync(household);
    }

    private static Task<Reply> SendAsync(Household household) =>
        household.Keeper.PostAsync("/api/fills", Pay, ("Idempotency-Key", "pay"));

    private static string Written(Household household, int length, string more = "") =>
        $"POST /api/fills HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer "
            + $"{household.Keeper.Key}\r\nIdempotency-Key: pay\r\nContent-Type: "
            + $"application/json\r\n{more}Content-Length: {length}\r\n\r\n{Pay}";

    // Without a farewell, as when a phone leaves the network.
    private static void HangUp(TcpClient sender)
    {
        sender.Client.LingerState = new LingerOption(enable: true, seconds: 0);
        sender.Close();
    }

    private static void Told(Reply reply, string what)
    {
        Assert.Contains(what, reply.MustBeProblem(503, "storage-failed").GetProperty("detail").GetString());
        Assert.Equal("1", reply.Headers["Retry-After"]);
    }

    private static async Task IsWrittenOnceAsync(Household household)
    {
        var again = (await SendAsync(household)).MustBe(201);

        Assert.Equal([Household.SetUpLines + 1], again.Lines);
        Assert.Equal("60.00", await household.HoldsAsync("ferry-fares"));
        (await household.Keeper.PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 1.00}"""))
            .MustBe(201);
        Assert.Equal("61.00", await household.HoldsAsync("ferry-fares"));
        Assert.Equal(Enumerable.Range(1, Household.SetUpLines + 2).Select(n => (long)n),
            (await household.LinesAsync()).Select(l => l.GetProperty("line").GetInt64()));
    }

    private static async Task CutAsync(string database, int process) =>
        Assert.Equal("True", await Database.AskAsync(database, $"select pg_terminate_backend({process})"));

    private static async Task SetAsync(PrivatePostgres postgres, string setting)
    {
        await postgres.AskAsync(setting);
        await postgres.AskAsync("select pg_reload_conf()");
    }
}
