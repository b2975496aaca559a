using Npgsql;

namespace CashEvents.Store.Books;

/// <summary>How the database is.</summary>
/// <param name="Bytes">Its size on disk.</param>
/// <param name="LinesBehind">Lines that the pages of the books do not have yet; above zero only while a book is not
/// rebuilt, or after the database was changed by others.</param>
public sealed record StoreFacts(long Bytes, long LinesBehind)
{
    private const string Sql = $"""
        select pg_database_size(current_database()),
            (select coalesce(sum(abs(s.version - coalesce((p.data ->> 'line')::bigint, 0))), 0)::bigint
             from {BookTables.Schema}.mt_streams s
             left join {BookTables.Schema}.mt_doc_bookpage p on p.tenant_id = s.tenant_id and p.id = '{BookPage.TheOne}'
             where s.id = '{BookTables.Stream}')
        """;

    /// <summary>Asks it.</summary>
    public static async Task<StoreFacts> ReadAsync(NpgsqlDataSource database, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(database);
        await using var command = database.CreateCommand(Sql);
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        await reader.ReadAsync(cancellation).ConfigureAwait(false);
        return new StoreFacts(reader.GetInt64(0), reader.GetInt64(1));
    }
}
