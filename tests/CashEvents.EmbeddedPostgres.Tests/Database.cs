using Npgsql;
using Xunit;

namespace CashEvents.EmbeddedPostgres.Tests;

/// <summary>One statement sent to a database over a connection of its own.</summary>
internal static class Database
{
    /// <returns>The first column of the first row; null when there is none.</returns>
    public static Task<string?> AskAsync(this PrivatePostgres server, string sql) =>
        AskAsync(server.ConnectionString, sql);

    public static async Task<string?> AskAsync(string connectionString, string sql)
    {
        await using var source = NpgsqlDataSource.Create(connectionString);
        await using var command = source.CreateCommand(sql);
        return (await command.ExecuteScalarAsync(TestContext.Current.CancellationToken))?.ToString();
    }
}
