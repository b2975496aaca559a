using Npgsql;
using Xunit;

namespace CashEvents.Api.Tests.Hosting;

public sealed class HealthTests(SharedServer shared)
{
    [Theory]
    [InlineData("live")]
    [InlineData("ready")]
    public async Task A_serving_program_is_live_and_ready_and_says_so_without_a_key(string what)
    {
        var server = await shared.ServerAsync();

        (await server.Client(null).GetAsync($"/health/{what}")).MustBe(200).MustSay($$"""{"status": "{{what}}"}""");
    }

    [ThoroughFact]
    public async Task Without_its_database_it_is_live_but_not_ready_and_asks_to_try_again()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        var name = new NpgsqlConnectionStringBuilder(server.Database).Database;
        var elsewhere = new NpgsqlConnectionStringBuilder(server.Database) { Database = "postgres" }.ConnectionString;
        await Database.AskAsync(elsewhere, $"alter database \"{name}\" allow_connections false");
        await Database.AskAsync(elsewhere,
            $"select pg_terminate_backend(pid) from pg_stat_activity where datname = '{name}'");

        (await server.Client(null).GetAsync("/health/live")).MustBe(200);
        var ready = await server.Client(null).GetAsync("/health/ready");
        var read = await household.Keeper.GetAsync("/api/balances");
        var written = await household.Keeper.PostAsync("/api/fills",
            """{"compartment": "ferry-fares", "amount": 1.00}""");

        foreach (var refused in new[] { ready, read, written })
        {
            refused.MustBeProblem(503, "storage-failed");
            Assert.Equal("1", refused.Headers["Retry-After"]);
        }

        await Database.AskAsync(elsewhere, $"alter database \"{name}\" allow_connections true");
        (await server.Client(null).GetAsync("/health/ready")).MustBe(200);
        (await household.Keeper.PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 1.00}"""))
            .MustBe(201);
        Assert.Equal("1.00", await household.HoldsAsync("ferry-fares"));
    }
}
