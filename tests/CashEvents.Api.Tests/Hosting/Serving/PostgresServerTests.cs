using Xunit;

namespace CashEvents.Api.Tests.Hosting;

public sealed class PostgresServerTests
{
    [Fact]
    public async Task Gives_each_caller_a_database_of_its_own()
    {
        var first = await PostgresServer.NewDatabaseAsync();
        var second = await PostgresServer.NewDatabaseAsync();
        await Database.AskAsync(first, "CREATE TABLE note (text text)");

        await Database.AskAsync(second, "CREATE TABLE note (text text)");

        Assert.NotEqual(first, second);
    }
}
