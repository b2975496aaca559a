using Npgsql;

namespace CashEvents.Benchmarks;

/// <summary>
/// The plain way: a ledger in hand-written SQL. Lock the balance row, insert the entry, update the balance, commit.
/// </summary>
internal sealed class PlainLedger(string connectionString)
{
    public async Task CreateAsync()
    {
        await using var database = NpgsqlDataSource.Create(connectionString);
        await using var command = database.CreateCommand("""
            create table account (id text primary key, balance bigint not null check (balance >= 0));
            create table entry (id bigint generated always as identity primary key, account text not null references account, amount bigint not null,
                                occurred_on date not null, description text not null, written_by text not null, recorded_at timestamptz not null default now());
            create index on entry (account, occurred_on);
            insert into account values ('ferry-fares', 100000000000);
            """);
        await command.ExecuteNonQueryAsync();
    }

    /// <summary>Opens further accounts: as many as there are households.</summary>
    public async Task OpenAsync(int accounts)
    {
        await using var database = NpgsqlDataSource.Create(connectionString);
        await using var command = database.CreateCommand(
            "insert into account select 'account-' || i, 100000000000 from generate_series(0, $1 - 1) i");
        command.Parameters.Add(new NpgsqlParameter { Value = accounts });
        await command.ExecuteNonQueryAsync();
    }

    /// <summary>One connection; each call writes one durable spend on one account.</summary>
    public Task<Func<Task>> ConnectAsync() => ConnectAsync(() => "ferry-fares");

    /// <summary>One connection; each call writes one durable spend on any of some accounts.</summary>
    public Task<Func<Task>> ConnectAsync(int connection, int accounts)
    {
        var random = new Random(connection);
        return ConnectAsync(() => $"account-{random.Next(accounts)}");
    }

    private async Task<Func<Task>> ConnectAsync(Func<string> account)
    {
        var connection = new NpgsqlConnection(
            new NpgsqlConnectionStringBuilder(connectionString) { Pooling = false }.ConnectionString);
        await connection.OpenAsync();
        var lockRow = await PreparedAsync(connection, "select balance from account where id = $1 for update",
            "ferry-fares");
        var insert = await PreparedAsync(connection,
            "insert into entry (account, amount, occurred_on, description, written_by) values ($1, $2, $3, $4, $5)",
            "ferry-fares", -1L, new DateOnly(2026, 11, 3), "Return to the mainland", "keeper");
        var update = await PreparedAsync(connection, "update account set balance = balance - 1 where id = $1",
            "ferry-fares");
        return async () =>
        {
            var id = account();
            (lockRow.Parameters[0].Value, insert.Parameters[0].Value, update.Parameters[0].Value) = (id, id, id);
            await using var transaction = await connection.BeginTransactionAsync();
            var balance = (long)(await lockRow.ExecuteScalarAsync())!;
            if (balance < 1)
            {
                throw new InvalidOperationException("The benchmark's account is empty.");
            }

            await insert.ExecuteNonQueryAsync();
            await update.ExecuteNonQueryAsync();
            await transaction.CommitAsync();
        };
    }

    private static async Task<NpgsqlCommand> PreparedAsync(NpgsqlConnection connection, string sql,
        params object[] values)
    {
        var command = new NpgsqlCommand(sql, connection);
        foreach (var value in values)
        {
            command.Parameters.Add(new NpgsqlParameter { Value = value });
        }

        await command.PrepareAsync();
        return command;
    }
}
