using Npgsql;
using Xunit;

namespace CashEvents.Api.Tests.Writing;

public sealed class ManyReadersTests
{
    // A worker of PostgreSQL's own, such as autovacuum, takes none of the places.
    private const string Connections = """
        select count(*) from pg_stat_activity
        where datname = current_database() and backend_type = 'client backend' and pid <> pg_backend_pid()
        """;

    [Fact]
    public async Task However_many_read_at_once_the_database_keeps_connections_for_others()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);

        var replies = await Task.WhenAll(
            Enumerable.Range(0, 400).Select(_ => household.Keeper.GetAsync("/api/balances")));

        Assert.All(replies, reply => reply.MustBe(200));
        // PostgreSQL takes a hundred unless told otherwise, and a second server or a backup needs some of them. What
        // was opened stays open a while.
        var open = await Database.AskAsync(server.Database,
            Connections);
        Assert.InRange(int.Parse(open!), 1, 40);
    }

    [Fact]
    public async Task A_number_of_connections_that_was_asked_for_is_kept_to()
    {
        var database = new NpgsqlConnectionStringBuilder(
            await PostgresServer.NewDatabaseAsync())
        { MaxPoolSize = 3 }.ConnectionString;
        await using var server = await RunningServer.StartAsync(database);
        var household = await Household.OpenAsync(server);

        await Task.WhenAll(Enumerable.Range(0, 100).Select(_ => household.Keeper.GetAsync("/api/balances")));

        var open = await Database.AskAsync(server.Database,
            Connections);
        Assert.InRange(int.Parse(open!), 1, 3);
    }
}
