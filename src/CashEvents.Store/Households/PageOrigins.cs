using Npgsql;

namespace CashEvents.Store.Households;

/// <summary>
/// The origins of web pages that keepers let use their household's book from a browser (RFC 6454). They stand beside
/// the book: a page reads and writes with a key all the same, and no figure depends on them.
/// </summary>
public sealed class PageOrigins(NpgsqlDataSource database)
{
    /// <summary>Those of a household, in the order of the alphabet.</summary>
    public async Task<IReadOnlyList<string>> OfAsync(string household, CancellationToken cancellation = default)
    {
        await using var command = database.CreateCommand(
            $"select origin from {BookTables.Schema}.page_origin where tenant_id = $1 order by origin collate \"C\"");
        command.Parameters.Add(new NpgsqlParameter { Value = household });
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        var origins = new List<string>();
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            origins.Add(reader.GetString(0));
        }

        return origins;
    }

    /// <summary>Names those of a household, instead of those before.</summary>
    public async Task NameAsync(string household, IEnumerable<string> origins, CancellationToken cancellation = default)
    {
        await using var batch = database.CreateBatch();
        var gone = new NpgsqlBatchCommand($"delete from {BookTables.Schema}.page_origin where tenant_id = $1");
        gone.Parameters.Add(new NpgsqlParameter { Value = household });
        var named = new NpgsqlBatchCommand(
            $"insert into {BookTables.Schema}.page_origin (tenant_id, origin) select $1, unnest($2) "
                + "on conflict do nothing");
        named.Parameters.Add(new NpgsqlParameter { Value = household });
        named.Parameters.Add(new NpgsqlParameter { Value = origins.Distinct().ToArray() });
        batch.BatchCommands.Add(gone);
        batch.BatchCommands.Add(named);
        await batch.ExecuteNonQueryAsync(cancellation).ConfigureAwait(false);
    }

    /// <summary>Whether an origin is named: by a household, or by any.</summary>
    /// <param name="origin">As a browser sends it.</param>
    /// <param name="household">By whom; null for any.</param>
    /// <param name="cancellation">Stops it.</param>
    public async Task<bool> IsNamedAsync(string origin, string? household, CancellationToken cancellation = default)
    {
        await using var command = database.CreateCommand($"select exists (select from {BookTables.Schema}.page_origin "
            + "where origin = $1 and ($2 is null or tenant_id = $2))");
        command.Parameters.Add(new NpgsqlParameter { Value = origin });
        command.Parameters.Add(new NpgsqlParameter<string?> { TypedValue = household });
        return await command.ExecuteScalarAsync(cancellation).ConfigureAwait(false) is true;
    }
}
