using System.Text.Json;
using CashEvents.Api.Balances;
using CashEvents.Api.Http;
using CashEvents.Api.Tests.Serving;
using Npgsql;
using Xunit;

namespace CashEvents.Api.Tests.Agreement;

/// <summary>Everything that is kept beside the lines agrees with the lines, whatever was written.</summary>
public sealed class GeneratedHistoryTests(SharedServer shared)
{
    private const string SumOfLines = """
        with posting (compartment, holding, amount) as (
            select data->>'compartment', data->>'holding',
                case type when 'spend' then -(data->>'amount')::bigint when 'settlement' then (data->>'difference')::bigint else (data->>'amount')::bigint end
            from cashevents.mt_events where tenant_id = $1 and type in ('fill', 'spend', 'refund', 'settlement')
            union all
            select data->'from'->>'compartment', data->'from'->>'holding', -(data->>'amount')::bigint
            from cashevents.mt_events where tenant_id = $1 and type in ('transfer', 'sweep')
            union all
            select data->'to'->>'compartment', data->'to'->>'holding', (data->>'amount')::bigint
            from cashevents.mt_events where tenant_id = $1 and type in ('transfer', 'sweep'))
        select compartment, holding, sum(amount)::bigint from posting group by 1, 2 having sum(amount) <> 0 order by 1, 2
        """;

    private static readonly string[] _holdings = ["bank", "cash"];
    private static readonly string[] _months = ["2026-09", "2026-10", "2026-11"];

    private const string DayClosings = "select compartment, holding, to_char(day, 'YYYY-MM-DD'), closing from cashevents.day_closing where tenant_id = $1 order by 1, 2, 3";

    [Fact]
    public async Task Balances_sheets_and_daily_closings_agree_with_the_lines()
    {
        var seed = Random.Shared.Next();
        TestContext.Current.TestOutputHelper?.WriteLine($"Seed {seed}");
        var household = await shared.HarbourRowAsync();
        var history = new GeneratedHistory(household, seed);
        await history.SendAsync(400);
        Assert.True(history is { Written: > 150, Refused: > 5 }, $"Seed {seed}: {history.Written} written, {history.Refused} refused");

        var balances = (await household.Keeper.GetAsync("/api/balances")).MustBe(200);
        var replayed = await household.Server.Books.ReplayAsync(household.Id);
        var lines = await household.LinesAsync();

        Assert.Equal(JsonSerializer.Serialize(BalancesAnswer.Of(replayed), ApiJson.Options), balances.Text);
        Assert.Equal(Enumerable.Range(1, (int)replayed.Line).Select(n => (long)n), lines.Select(l => l.GetProperty("line").GetInt64()));
        Assert.Equal(await AskAsync(household, SumOfLines, r => (r.GetString(0), r.GetString(1), r.GetInt64(2))), Held(balances));
        var closings = await AskAsync(household, DayClosings, r => (Compartment: r.GetString(0), Holding: r.GetString(1), Day: r.GetString(2), Closing: r.GetInt64(3)));
        Assert.Equal(Recomputed(lines), closings);
        Assert.All(closings, closing => Assert.True(closing.Closing >= 0, $"Seed {seed}: {closing}"));
        await SheetsMustAgreeAsync(household, balances);
    }

    private static async Task SheetsMustAgreeAsync(Household household, Reply balances)
    {
        foreach (var (compartment, holding, amount) in Held(balances))
        {
            var carried = 0m;
            foreach (var month in _months)
            {
                var sheet = (await household.Keeper.GetAsync($"/api/compartments/{compartment}/tracker?month={month}&holding={holding}")).MustBe(200).Json;
                Assert.Equal(carried, sheet.GetProperty("openingBalance").GetDecimal());
                foreach (var row in sheet.GetProperty("rows").EnumerateArray())
                {
                    carried += row.GetProperty("amount").GetDecimal();
                    Assert.Equal(carried, row.GetProperty("balance").GetDecimal());
                }

                Assert.Equal(carried, sheet.GetProperty("closingBalance").GetDecimal());
            }

            Assert.Equal(amount, carried * 100m);
        }
    }

    /// <summary>What the places hold by GET /api/balances, in cents.</summary>
    private static List<(string, string, long)> Held(Reply balances) =>
    [
        .. balances.Json.GetProperty("compartments").EnumerateArray()
            .SelectMany(c => _holdings.Select(h => (c.GetProperty("compartment").GetString()!, h, (long)(c.GetProperty(h).GetDecimal() * 100m))))
            .Where(p => p.Item3 != 0)
            .OrderBy(p => p.Item1, StringComparer.Ordinal),
    ];

    /// <summary>Closing balances day by day, summed anew from all lines for each of them.</summary>
    private static List<(string, string, string, long)> Recomputed(List<JsonElement> lines)
    {
        var postings = lines.SelectMany(Postings).ToList();
        return
        [
            .. postings.Select(p => (p.Compartment, p.Holding, p.Day)).Distinct()
                .OrderBy(p => p.Compartment, StringComparer.Ordinal).ThenBy(p => p.Holding, StringComparer.Ordinal).ThenBy(p => p.Day, StringComparer.Ordinal)
                .Select(p => (p.Compartment, p.Holding, p.Day,
                    postings.Where(o => o.Compartment == p.Compartment && o.Holding == p.Holding && string.CompareOrdinal(o.Day, p.Day) <= 0).Sum(o => o.Cents))),
        ];
    }

    private static IEnumerable<(string Compartment, string Holding, string Day, long Cents)> Postings(JsonElement line)
    {
        long Cents(string field) => (long)(line.GetProperty(field).GetDecimal() * 100m);
        (string, string, string, long) At(JsonElement place, long cents) =>
            (place.GetProperty("compartment").GetString()!, place.GetProperty("holding").GetString()!, line.GetProperty("occurredOn").GetString()!, cents);
        return line.GetProperty("kind").GetString() switch
        {
            "fill" or "refund" => [At(line, Cents("amount"))],
            "spend" => [At(line, -Cents("amount"))],
            "settlement" => [At(line, Cents("difference"))],
            "transfer" or "sweep" => [At(line.GetProperty("from"), -Cents("amount")), At(line.GetProperty("to"), Cents("amount"))],
            _ => [],
        };
    }

    private static async Task<List<T>> AskAsync<T>(Household household, string sql, Func<NpgsqlDataReader, T> read)
    {
        await using var database = NpgsqlDataSource.Create(household.Server.Database);
        await using var command = database.CreateCommand(sql);
        command.Parameters.Add(new NpgsqlParameter { Value = household.Id });
        await using var reader = await command.ExecuteReaderAsync();
        var rows = new List<T>();
        while (await reader.ReadAsync())
        {
            rows.Add(read(reader));
        }

        return rows;
    }
}
