using System.Diagnostics;
using System.Globalization;
using Npgsql;

namespace CashEvents.Benchmarks;

/// <summary>What a line costs: statements, rows, write-ahead log, processor time, allocations.</summary>
internal static class Account
{
    private const string Counters = """
        select (select count(*) from cashevents.mt_events), pg_wal_lsn_diff(pg_current_wal_lsn(), '0/0')::bigint,
            xact_commit, tup_inserted + tup_updated from pg_stat_database where datname = current_database()
        """;

    private const string Statements = """
        select calls, total_exec_time, rows, wal_bytes, regexp_replace(left(query, 400), '\s+', ' ', 'g')
        from pg_stat_statements where dbid = (select oid from pg_database where datname = current_database())
        order by 2 desc limit 16
        """;

    /// <summary>Has the server count its statements from its next start on, where it can.</summary>
    public static async Task PrepareAsync(PrivatePostgres postgres)
    {
        await using var database = NpgsqlDataSource.Create(postgres.ConnectionString);
        try
        {
            await Of(database, "load 'pg_stat_statements'").ExecuteNonQueryAsync();
            await Of(database, "create extension pg_stat_statements").ExecuteNonQueryAsync();
            await Of(database, "alter system set shared_preload_libraries = 'pg_stat_statements'")
                .ExecuteNonQueryAsync();
        }
        catch (PostgresException absent)
        {
            Console.WriteLine($"Statements are not counted: {absent.MessageText}");
        }
    }

    /// <summary>Runs a load and tells what each of its lines cost.</summary>
    public static async Task TellAsync(PrivatePostgres postgres, Func<Task> load)
    {
        await using var database = NpgsqlDataSource.Create(postgres.ConnectionString);
        var isCounted = await IsCountedAsync(database);
        if (isCounted)
        {
            await Of(database, "select pg_stat_statements_reset()").ExecuteNonQueryAsync();
        }

        var before = await ReadAsync(database, postgres);
        await load();
        // Counters of the database come a moment later.
        await Task.Delay(TimeSpan.FromSeconds(1.5));
        var after = await ReadAsync(database, postgres);
        var lines = after.Lines - before.Lines;
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture,
            $"             a line: {(double)(after.Commits - before.Commits) / lines:0.00} transactions, "
                + $"{(double)(after.Rows - before.Rows) / lines:0.0} rows, {(after.Wal - before.Wal) / lines} bytes of "
                + $"write-ahead log, PostgreSQL {(after.Postgres - before.Postgres).TotalMilliseconds / lines:0.00} ms "
                + $"of processor, server with clients {(after.Own - before.Own).TotalMilliseconds / lines:0.00} ms, "
                + $"{(after.Allocated - before.Allocated) / lines} bytes allocated"));
        if (isCounted && Environment.GetEnvironmentVariable("CASHEVENTS_BENCHMARK_STATEMENTS") is not null)
        {
            await TellStatementsAsync(database, lines);
        }
    }

    private static async Task TellStatementsAsync(NpgsqlDataSource database, long lines)
    {
        await using var reader = await Of(database, Statements).ExecuteReaderAsync();
        while (await reader.ReadAsync())
        {
            Console.WriteLine(string.Create(CultureInfo.InvariantCulture,
                $"    {reader.GetDouble(1) / lines,7:0.0000} ms  {(double)reader.GetInt64(0) / lines,6:0.000} calls  "
                    + $"{(double)reader.GetInt64(2) / lines,6:0.00} rows  {reader.GetDecimal(3) / lines,6:0} B  "
                    + $"{reader.GetString(4)}"));
        }
    }

    private static async Task<bool> IsCountedAsync(NpgsqlDataSource database) =>
        await Of(database, "select 1 from pg_extension where extname = 'pg_stat_statements'").ExecuteScalarAsync()
            is not null;

    private static async Task<Counted> ReadAsync(NpgsqlDataSource database, PrivatePostgres postgres)
    {
        await using var reader = await Of(database, Counters).ExecuteReaderAsync();
        await reader.ReadAsync();
        return new Counted(reader.GetInt64(0), reader.GetInt64(1), reader.GetInt64(2), reader.GetInt64(3),
            ProcessorOf(postgres.ProcessId), Process.GetCurrentProcess().TotalProcessorTime,
            GC.GetTotalAllocatedBytes());
    }

    // The postmaster and all its processes; those that ended are counted with it.
    private static TimeSpan ProcessorOf(int postmaster)
    {
        var ticks = 0L;
        foreach (var folder in Directory.EnumerateDirectories("/proc")
            .Where(f => char.IsAsciiDigit(Path.GetFileName(f)[0])))
        {
            try
            {
                var stat = File.ReadAllText(Path.Combine(folder, "stat"));
                var fields = stat[(stat.LastIndexOf(')') + 2)..].Split(' ');
                var isPostmaster = Path.GetFileName(folder) == postmaster.ToString(CultureInfo.InvariantCulture);
                if (isPostmaster || fields[1] == postmaster.ToString(CultureInfo.InvariantCulture))
                {
                    ticks += fields[11..(isPostmaster ? 15 : 13)].Sum(f => long.Parse(f, CultureInfo.InvariantCulture));
                }
            }
            catch (IOException)
            {
                // It has ended meanwhile.
            }
        }

        return TimeSpan.FromMilliseconds(ticks * 10);
    }

    private static NpgsqlCommand Of(NpgsqlDataSource database, string sql) => database.CreateCommand(sql);

    private sealed record Counted(long Lines, long Wal, long Commits, long Rows, TimeSpan Postgres, TimeSpan Own,
        long Allocated);
}
