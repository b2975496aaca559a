using Npgsql;
using Xunit;

namespace CashEvents.Api.Tests.Hosting;

/// <summary>A book whose end somebody else holds, so that whoever writes in it waits in the middle of that.</summary>
internal sealed class HeldBook : IAsyncDisposable
{
    private readonly NpgsqlDataSource _database;
    private readonly NpgsqlConnection _holder;

    private HeldBook(NpgsqlDataSource database, NpgsqlConnection holder) => (_database, _holder) = (database, holder);

    public static async Task<HeldBook> HoldAsync(Household household)
    {
        var database = NpgsqlDataSource.Create(
            new NpgsqlConnectionStringBuilder(household.Server.Database) { Pooling = false }.ConnectionString);
        var holder = await database.OpenConnectionAsync(TestContext.Current.CancellationToken);
        await using var hold = new NpgsqlCommand($"begin; select 1 from cashevents.mt_streams where tenant_id = "
            + $"'{household.Id}' for update", holder);
        await hold.ExecuteNonQueryAsync(TestContext.Current.CancellationToken);
        return new HeldBook(database, holder);
    }

    /// <summary>Comes back when a writer waits, with the id of its process.</summary>
    public Task<int> WriterAsync() => WaitingAsync(_holder, "wait_event_type = 'Lock'");

    /// <summary>Comes back when a process of the holder's database waits for something, with its id.</summary>
    public static async Task<int> WaitingAsync(NpgsqlConnection asks, string what)
    {
        while (true)
        {
            await using var ask = new NpgsqlCommand($"select pg_stat_clear_snapshot(); select pid from "
                + $"pg_stat_activity where datname = current_database() and {what} limit 1", asks);
            await using var reader = await ask.ExecuteReaderAsync(TestContext.Current.CancellationToken);
            await reader.NextResultAsync(TestContext.Current.CancellationToken);
            if (await reader.ReadAsync(TestContext.Current.CancellationToken))
            {
                return reader.GetInt32(0);
            }
        }
    }

    public async ValueTask DisposeAsync()
    {
        await _holder.DisposeAsync();
        await _database.DisposeAsync();
    }
}
