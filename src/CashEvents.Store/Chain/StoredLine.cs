using System.Globalization;
using System.Runtime.CompilerServices;
using System.Text.Json;
using Npgsql;

namespace CashEvents.Store.Chain;

/// <summary>
/// A line as its row has it, before anything is made of it: what a row says may be anything once somebody has changed
/// it.
/// </summary>
internal sealed record StoredLine(long Number, string? EntryId, string Kind, DateTimeOffset RecordedAt, string? By,
    ReadOnlyMemory<byte> Content, string? Hash)
{
    // What is archived is left out when Marten replays the book, so that it counts as missing.
    private const string InOrder = $"""
        select e.version, e.correlation_id, e.type, e.timestamp, e.user_name, e.data, e.headers->>'{LineHash.Header}'
        from {BookTables.Schema}.mt_events e
        where e.tenant_id = $1 and e.stream_id = '{BookTables.Stream}' and not e.is_archived and e.version <= $2
        order by e.version
        """;

    /// <summary>
    /// The hash it should have after the line before it; null when it says what no line of a book can.
    /// </summary>
    public string? HashAfter(string previous, string household)
    {
        try
        {
            return By is not null && long.TryParse(EntryId, NumberStyles.None, CultureInfo.InvariantCulture,
                out var entryId)
                ? LineHash.Of(previous, household, Number, entryId, Kind, RecordedAt, By, Content)
                : null;
        }
        catch (JsonException)
        {
            return null;
        }
    }

    /// <summary>A household's rows in the order of their numbers, one at a time.</summary>
    public static async IAsyncEnumerable<StoredLine> ReadAsync(
        NpgsqlConnection connection, string household, long upTo,
        [EnumeratorCancellation] CancellationToken cancellation)
    {
        // A long book takes the time it takes.
        await using var command = new NpgsqlCommand(InOrder, connection)
        {
            CommandTimeout = 0,
            Parameters = { new() { Value = household }, new() { Value = upTo } }
        };
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            yield return new StoredLine(
                reader.GetInt64(0), Text(1), reader.GetString(2), new DateTimeOffset(reader.GetDateTime(3)), Text(4),
                reader.GetFieldValue<byte[]>(5), Text(6));
        }

        string? Text(int column) => reader.IsDBNull(column) ? null : reader.GetString(column);
    }
}
