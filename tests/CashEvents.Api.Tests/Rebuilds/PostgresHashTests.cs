using CsCheck;
using Npgsql;
using NpgsqlTypes;
using Xunit;

namespace CashEvents.Api.Tests.Rebuilds;

/// <summary>The hashes made here are PostgreSQL's own: the running server is the reference.</summary>
public sealed class PostgresHashTests
{
    private static readonly Gen<(string? Text, long? Number, DateOnly? Day, long Seed)> _rows = Gen.Select(
        Gen.OneOf(Gen.String[0, 400], Gen.String.AlphaNumeric,
            Gen.OneOf(Gen.Const(""), Gen.Const("spend"), Gen.Const("Brød og mælk"), Gen.Const("12 letters.."),
                Gen.Const("🍞"))).Select(t => t.Replace("\0", "", StringComparison.Ordinal)).Where(IsText).Null(),
        Gen.OneOf(Gen.Long, Gen.Int.Select(i => (long)i),
            Gen.OneOf(Gen.Const(0L), Gen.Const(-1L), Gen.Const(long.MinValue), Gen.Const(long.MaxValue))).Nullable(),
        Gen.DateOnly.Nullable(),
        Gen.OneOf(Gen.Long, Gen.Const(0L)));

    [Fact]
    public async Task A_record_has_the_hash_that_PostgreSQL_gives_it()
    {
        await using var server = await RunningServer.StartAsync();
        await using var database = NpgsqlDataSource.Create(server.Database);
        await _rows.Array[500].SampleAsync(async rows =>
        {
            await using var command =
                database.CreateCommand("select hash_record_extended(row(t, n, d), s) from unnest($1, $2, $3, $4) with "
                    + "ordinality as r(t, n, d, s, o) order by o");
            command.Parameters.Add(new NpgsqlParameter
            {
                Value = rows.Select(r => r.Text).ToArray(),
                NpgsqlDbType = NpgsqlDbType.Array | NpgsqlDbType.Text
            });
            command.Parameters.Add(new NpgsqlParameter
            {
                Value = rows.Select(r => r.Number).ToArray(),
                NpgsqlDbType = NpgsqlDbType.Array | NpgsqlDbType.Bigint
            });
            command.Parameters.Add(new NpgsqlParameter
            {
                Value = rows.Select(r => r.Day).ToArray(),
                NpgsqlDbType = NpgsqlDbType.Array | NpgsqlDbType.Date
            });
            command.Parameters.Add(new NpgsqlParameter
            {
                Value = rows.Select(r => r.Seed).ToArray(),
                NpgsqlDbType = NpgsqlDbType.Array | NpgsqlDbType.Bigint
            });
            await using var reader = await command.ExecuteReaderAsync();
            foreach (var (text, number, day, seed) in rows)
            {
                Assert.True(await reader.ReadAsync());
                var hash = PostgresHash.Record(
                    PostgresHash.Record(PostgresHash.Text(text, (ulong)seed), PostgresHash.Number(number, (ulong)seed)),
                    PostgresHash.Day(day, (ulong)seed));
                Assert.Equal(reader.GetInt64(0), (long)hash);
            }
        }, iter: 10, threads: 1);
    }

    // Half a surrogate pair is no text in UTF-8.
    private static bool IsText(string text)
    {
        for (var i = 0; i < text.Length; i++)
        {
            if (char.IsSurrogate(text[i]) && (!char.IsSurrogatePair(text, i) || ++i == text.Length))
            {
                return false;
            }
        }

        return true;
    }
}
