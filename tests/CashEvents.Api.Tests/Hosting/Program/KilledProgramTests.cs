using System.Collections.Concurrent;
using System.Diagnostics;
using Xunit;

namespace CashEvents.Api.Tests.Hosting;

public sealed class KilledProgramTests : IDisposable
{
    private const int Requests = 1500;

    private readonly TemporaryDataFolder _folder = new();
    private readonly ConcurrentDictionary<int, string> _acknowledged = new();

    public void Dispose() => _folder.Dispose();

    [Theory]
    [InlineData(false)]
    [ThoroughData(true)]
    public async Task What_was_acknowledged_outlives_a_kill_and_what_is_sent_again_is_written_once(bool killPostgresToo)
    {
        Assert.SkipWhen(OperatingSystem.IsWindows(), "Signals are a matter of Unix.");
        var key = await StartedFolder.CopyToAsync(_folder);
        await using (var killed = await CashEventsProcess.ServeAsync(_folder.Path))
        {
            await SetUpAsync(killed.Client(key));
            var load = SendAllAsync(killed.Client(key));
            await UntilAcknowledgedAsync(200);
            if (killPostgresToo)
            {
                using var postgres = Process.GetProcessById(killed.PostgresId);
                postgres.Kill();
                await postgres.WaitForExitAsync(TestContext.Current.CancellationToken);
            }

            await killed.KillAsync();
            await load;
        }

        Assert.InRange(_acknowledged.Count, 200, Requests - 1);
        await using var program = await CashEventsProcess.ServeAsync(_folder.Path);
        var keeper = program.Client(key);

        var lines = await keeper.LinesAsync();
        Assert.Equal(Enumerable.Range(1, lines.Count).Select(n => (long)n),
            lines.Select(l => l.GetProperty("line").GetInt64()));
        var found = lines.Where(l => l.GetProperty("kind").GetString() == "spend")
            .Select(l => l.GetProperty("description").GetString()).ToHashSet();
        Assert.All(_acknowledged, sent => Assert.Contains($"spend {sent.Key}", found));

        var before = new Dictionary<int, string>(_acknowledged);
        _acknowledged.Clear();
        await SendAllAsync(keeper);

        Assert.Equal(Requests, _acknowledged.Count);
        Assert.All(before, sent => Assert.Equal(sent.Value, _acknowledged[sent.Key]));
        var after = await keeper.LinesAsync();
        Assert.Equal(Enumerable.Range(1, after.Count).Select(n => (long)n),
            after.Select(l => l.GetProperty("line").GetInt64()));
        Assert.Equal(
            Enumerable.Range(0, Requests).Select(i => $"spend {i}").Order(StringComparer.Ordinal),
            after.Where(l => l.GetProperty("kind").GetString() == "spend")
                .Select(l => l.GetProperty("description").GetString()).Order(StringComparer.Ordinal));
        var ferry = (await keeper.GetAsync("/api/compartments/ferry-fares")).MustBe(200).Json;
        Assert.Equal("85000.00", ferry.GetProperty("cash").GetRawText());
    }

    [ThoroughFact]
    public async Task A_program_that_is_asked_to_stop_answers_what_it_accepted_and_ends_well()
    {
        Assert.SkipWhen(OperatingSystem.IsWindows(), "Signals are a matter of Unix.");
        var key = await StartedFolder.CopyToAsync(_folder);
        await using (var stopped = await CashEventsProcess.ServeAsync(_folder.Path))
        {
            await SetUpAsync(stopped.Client(key));
            var load = SendAllAsync(stopped.Client(key));
            await UntilAcknowledgedAsync(200);

            await stopped.TerminateAsync();

            Assert.Equal(0, await stopped.EndAsync());
            await load;
        }

        Assert.InRange(_acknowledged.Count, 200, Requests - 1);
        await using var program = await CashEventsProcess.ServeAsync(_folder.Path);
        var spends = (await program.Client(key).LinesAsync()).Where(l => l.GetProperty("kind").GetString() == "spend")
            .Select(l => l.GetProperty("description").GetString());

        // Not one more: what was written was answered, before the connection closed.
        Assert.Equal(_acknowledged.Keys.Select(i => $"spend {i}").Order(StringComparer.Ordinal),
            spends.Order(StringComparer.Ordinal));
    }

    private static async Task SetUpAsync(ApiClient keeper)
    {
        (await keeper.PutAsync("/api/household",
            """{"name": "Harbour Row", "currency": "EUR", "timeZone": "Europe/Dublin"}""")).MustBe(200);
        (await keeper.PostAsync("/api/wallets", """{"label": "Oilskin wallet"}""")).MustBe(201);
        (await keeper.PostAsync("/api/compartments",
            """{"label": "Ferry fares", "wallet": "oilskin-wallet", "purpose": "spending"}""")).MustBe(201);
        (await keeper.PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 100000.00}""")).MustBe(201);
    }

    /// <summary>Sends every spend once, sixteen at a time, and keeps the answers that came.</summary>
    private Task SendAllAsync(ApiClient keeper)
    {
        var next = -1;
        return Task.WhenAll(Enumerable.Range(0, 16).Select(async _ =>
        {
            for (var i = Interlocked.Increment(ref next); i < Requests; i = Interlocked.Increment(ref next))
            {
                try
                {
                    var reply = await keeper.PostAsync("/api/spends",
                        $$"""{"compartment": "ferry-fares", "amount": 10.00, "description": "spend {{i}}"}""",
                        ("Idempotency-Key", $"spend-{i}"));
                    if (reply.Status == 201)
                    {
                        _acknowledged[i] = reply.Text;
                    }
                    else
                    {
                        reply.MustBe(503);
                    }
                }
                catch (HttpRequestException)
                {
                    // The program is gone: whether it was written is not known, and the same key will tell.
                }
            }
        }));
    }

    private async Task UntilAcknowledgedAsync(int count)
    {
        while (_acknowledged.Count < count)
        {
            await Task.Delay(5, TestContext.Current.CancellationToken);
        }
    }
}
