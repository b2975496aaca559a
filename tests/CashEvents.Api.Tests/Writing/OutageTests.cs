using System.Diagnostics;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;
using Microsoft.Extensions.Time.Testing;
using Npgsql;
using Xunit;

namespace CashEvents.Api.Tests.Writing;

public sealed class OutageTests : IDisposable
{
    private readonly TemporaryDataFolder _folder = new();
    private readonly FakeTimeProvider _clock = new();
    private readonly KeptLog _log = new();

    public void Dispose() => _folder.Dispose();

    [ThoroughFact]
    public async Task While_PostgreSQL_is_away_the_log_says_why_once_however_much_is_asked()
    {
        await using var postgres =
            await PrivatePostgres.StartAsync(new PrivatePostgresOptions { DataFolder = _folder.Path },
                cancellationToken: TestContext.Current.CancellationToken);
        await using var server = await RunningServer.StartAsync(postgres.ConnectionString,
            services => services.AddLogging(logging => logging.AddProvider(_log)));
        var household = await Household.OpenAsync(server);
        await household.FillAsync("ferry-fares", "60.00");
        // It is started again in vain: there is nothing that it could start on.
        var control = Path.Combine(_folder.Path, "postgresql", "cluster", "global", "pg_control");
        File.Move(control, control + ".away");
        using (var postmaster = Process.GetProcessById(postgres.ProcessId))
        {
            postmaster.Kill(entireProcessTree: true);
            await postmaster.WaitForExitAsync(TestContext.Current.CancellationToken);
        }

        for (var asked = 0; asked < 20; asked++)
        {
            (await household.Keeper.GetAsync("/api/balances")).MustBeProblem(503, "storage-failed");
            (await household.Keeper.PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 1.00}"""))
                .MustBeProblem(503, "storage-failed");
            (await server.Client(null).GetAsync("/health/ready")).MustBe(503);
        }

        var told = Assert.Single(_log.Messages);
        Assert.StartsWith("PostgreSQL does not answer", told, StringComparison.Ordinal);
        Assert.InRange(told.Length, 1, 1000);
    }

    [Fact]
    public void A_cause_that_is_back_is_told_again_and_one_that_goes_on_is_recalled()
    {
        var outages = Outages();
        outages.Tell(new NpgsqlException("Failed to connect"));
        outages.Tell(new NpgsqlException("Failed to connect"));
        _clock.Advance(OutageLog.Over);
        outages.Tell(new NpgsqlException("Failed to connect"));
        Assert.Equal(2, _log.Messages.Count);
        Assert.Contains("1 more times", _log.Messages.Last(), StringComparison.Ordinal);

        for (var minutes = 0d; minutes < OutageLog.Reminder.TotalMinutes; minutes += 0.5)
        {
            _clock.Advance(TimeSpan.FromMinutes(0.5));
            outages.Tell(new NpgsqlException("Failed to connect"));
        }

        Assert.Equal(3, _log.Messages.Count);
        Assert.Contains("19 more times", _log.Messages.Last(), StringComparison.Ordinal);
    }

    [Fact]
    public void Each_cause_is_told_and_one_within_the_server_with_its_trace()
    {
        var outages = Outages();
        outages.Tell(new NpgsqlException("Failed to connect"));
        foreach (var state in new[] { PostgresErrorCodes.AdminShutdown, PostgresErrorCodes.CannotConnectNow,
            PostgresErrorCodes.DiskFull, PostgresErrorCodes.SyntaxError, PostgresErrorCodes.DiskFull })
        {
            outages.Tell(new InvalidOperationException("Not written",
                new PostgresException("Said by PostgreSQL", "ERROR", "ERROR", state)));
        }

        Assert.Equal([false, true, true], _log.Errors.Select(told => told is InvalidOperationException));
    }

    private OutageLog Outages()
    {
        using var logs = LoggerFactory.Create(logging => logging.AddProvider(_log));
        return new OutageLog(logs.CreateLogger<OutageLog>(), _clock);
    }
}
