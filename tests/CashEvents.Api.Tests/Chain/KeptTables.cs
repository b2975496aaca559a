using Npgsql;

namespace CashEvents.Api.Tests.Chain;

/// <summary>
/// Every table of the books as it stood once, put back as a restored dump would: emptied and filled again, in one
/// transaction.
/// </summary>
internal sealed class KeptTables
{
    private readonly string _database;
    private readonly string _kept;
    private readonly string[] _tables;

    private KeptTables(string database, string kept, string[] tables) =>
        (_database, _kept, _tables) = (database, kept, tables);

    public static async Task<KeptTables> OfAsync(string database)
    {
        var tables = (await Database.AskAsync(database,
            "select string_agg(tablename, ',') from pg_tables where schemaname = 'cashevents'"))!.Split(',');
        var kept = "kept_" + Guid.NewGuid().ToString("N");
        await Database.AskAsync(database,
            $"create schema {kept};" + string.Concat(
                tables.Select(t => $"create table {kept}.{t} as table cashevents.{t};")));
        return new KeptTables(database, kept, tables);
    }

    /// <param name="only">The tables to put back; all if none is named.</param>
    public async Task PutBackAsync(params string[] only)
    {
        var tables = only.Length == 0 ? _tables : only;
        var script = "begin;"
            + (only.Length == 0
                ? $"truncate {string.Join(", ", tables.Select(t => $"cashevents.{t}"))};"
                : "set local session_replication_role = replica;"
                    + string.Concat(tables.Select(t => $"delete from cashevents.{t};")))
            + string.Concat(tables.Select(t => $"insert into cashevents.{t} select * from {_kept}.{t};")) + "commit;";
        while (!await TriedAsync(script))
        {
        }
    }

    // The program looks at the book meanwhile, and takes its tables in another order.
    private async Task<bool> TriedAsync(string script)
    {
        try
        {
            await Database.AskAsync(_database, script);
            return true;
        }
        catch (PostgresException failure) when (failure.SqlState == PostgresErrorCodes.DeadlockDetected)
        {
            return false;
        }
    }
}
