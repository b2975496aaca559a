using System.Collections.Immutable;
using System.Text.Json;
using Npgsql;

namespace CashEvents.Store.Writing;

/// <summary>Where a book ends by its lines, and the answers that it gave under some idempotency keys.</summary>
internal sealed record BookState(BookEnd End, IReadOnlyDictionary<string, Answer> Answers)
{
    /// <summary>None were asked for.</summary>
    public static IReadOnlyDictionary<string, Answer> NoAnswers { get; } = new Dictionary<string, Answer>();
}

/// <summary>Reads the states of books, in one round trip for all of them.</summary>
internal static class BookStates
{
    private const string EndsOf = $"""
        select s.tenant_id, s.version, e.headers->>'{LineHash.Header}'
        from unnest((select $1)) as k(household)
        cross join lateral (select * from {BookTables.Schema}.mt_streams where tenant_id = k.household and id = '{BookTables.Stream}' offset 0) s
        left join lateral (select * from {BookTables.Schema}.mt_events where tenant_id = s.tenant_id and stream_id = s.id and version = s.version offset 0) e on true
        """;

    // Each key is looked up by itself (offset 0 keeps it so): in a young database, without statistics, all answers
    // would be read for one key.
    private const string AnswersOf = $"""
        select k.household, a.idempotency_key, a.fingerprint, a.entry
        from unnest((select $1), (select $2)) as k(household, key)
        cross join lateral (select * from {BookTables.Schema}.answer where tenant_id = k.household and idempotency_key = k.key offset 0) a
        """;

    /// <summary>The idempotency keys of some requests, each once.</summary>
    public static string[] KeysOf(ImmutableArray<WriteRequest> requests) =>
        [.. requests.SelectMany(r => r.Entries).Select(e => e.IdempotencyKey).OfType<string>().Distinct()];

    /// <summary>Reads the ends of some books, each once, and the answers given under keys of theirs.</summary>
    public static async Task<IReadOnlyDictionary<string, BookState>> ReadAsync(NpgsqlDataSource database,
        IReadOnlyList<(string Household, string[] Keys)> books)
    {
        await using var batch = database.CreateBatch();
        batch.Add(EndsOf, [books.Select(b => b.Household).ToArray()]);
        var keys = books.SelectMany(b => b.Keys, (b, key) => (b.Household, Key: key)).ToArray();
        if (keys.Length > 0)
        {
            batch.Add(AnswersOf, [keys.Select(k => k.Household).ToArray(), keys.Select(k => k.Key).ToArray()]);
        }

        var ends = new Dictionary<string, BookEnd>(StringComparer.Ordinal);
        var answers = books.ToDictionary(b => b.Household, _ => new Dictionary<string, Answer>(StringComparer.Ordinal),
            StringComparer.Ordinal);
        await using var reader = await batch.ExecuteReaderAsync().ConfigureAwait(false);
        while (await reader.ReadAsync().ConfigureAwait(false))
        {
            ends.Add(reader.GetString(0),
                new BookEnd(reader.GetInt64(1), reader.IsDBNull(2) ? null : reader.GetString(2)));
        }

        if (await reader.NextResultAsync().ConfigureAwait(false))
        {
            while (await reader.ReadAsync().ConfigureAwait(false))
            {
                var entry = JsonSerializer.Deserialize<Entry>(reader.GetString(3), BookJson.Options)!;
                answers[reader.GetString(0)].Add(reader.GetString(1),
                    new Answer(reader.GetFieldValue<byte[]>(2), entry));
            }
        }

        return books.ToDictionary(b => b.Household,
            b => new BookState(ends.GetValueOrDefault(b.Household), answers[b.Household]), StringComparer.Ordinal);
    }
}
