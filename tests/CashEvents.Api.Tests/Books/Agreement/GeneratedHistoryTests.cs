using System.Text.Json;
using Npgsql;
using Xunit;

namespace CashEvents.Api.Tests.Books;

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
            from cashevents.mt_events where tenant_id = $1 and type in ('transfer', 'sweep')
            union all
            select fill->>'compartment', held.holding, (fill->>held.holding)::bigint
            from cashevents.mt_events, jsonb_array_elements(data->'run'->'fills') fill, unnest(array['cash', 'bank']) held(holding) where tenant_id = $1 and type = 'fillRun'
            union all
            select change->'place'->>'compartment', change->'place'->>'holding', (change->>'amount')::bigint
            from cashevents.mt_events, jsonb_array_elements(data->'changes') change where tenant_id = $1 and type = 'reversal')
        select compartment, holding, sum(amount)::bigint from posting group by 1, 2 having sum(amount) <> 0 order by 1, 2
        """;

    private static readonly string[] _holdings = ["bank", "cash"];
    private static readonly string[] _months = ["2026-09", "2026-10", "2026-11"];

    private const string DayClosings =
        "select compartment, holding, to_char(day, 'YYYY-MM-DD'), closing from cashevents.day_closing where tenant_id "
            + "= $1 order by 1, 2, 3";

    [Fact]
    public async Task Balances_sheets_and_daily_closings_agree_with_the_lines()
    {
        var seed = SameSeedsAttribute.Next();
        TestContext.Current.TestOutputHelper?.WriteLine($"Seed {seed}");
        var household = await shared.HarbourRowAsync();
        var history = new GeneratedHistory(household, seed);
        await history.SendAsync(300);
        (await household.Keeper.PostAsync("/api/months/2026-09/close", """{"reason": "Not counted"}""")).MustBe(201);
        await history.SendAsync(100);
        Assert.True(history is { Written: > 150, Refused: > 5 },
            $"Seed {seed}: {history.Written} written, {history.Refused} refused");

        var balances = (await household.Keeper.GetAsync("/api/balances")).MustBe(200);
        var replayed = await household.Server.Books.ReplayAsync(household.Id);
        var lines = await household.LinesAsync();

        Assert.Equal(JsonSerializer.Serialize(BalancesAnswer.Of(replayed), ApiJson.Options), balances.Text);
        Assert.Equal(Enumerable.Range(1, (int)replayed.Line).Select(n => (long)n),
            lines.Select(l => l.GetProperty("line").GetInt64()));
        Assert.Equal(await AskAsync(household, SumOfLines, r => (r.GetString(0), r.GetString(1), r.GetInt64(2))),
            Held(balances));
        var closings = await AskAsync(household, DayClosings,
            r => (Compartment: r.GetString(0), Holding: r.GetString(1), Day: r.GetString(2), Closing: r.GetInt64(3)));
        Assert.Equal(Recomputed(lines), closings);
        Assert.All(closings, closing => Assert.True(closing.Closing >= 0, $"Seed {seed}: {closing}"));
        await SheetsMustAgreeAsync(household, balances);
        Assert.Contains(lines, l => l.GetProperty("kind").GetString() == "fillRun");
        Assert.Equal(replayed.FillRuns, (await household.Server.Books.ReadWholeAsync(household.Id)).FillRuns);
        CorrectionsMustAgree(lines, replayed, await household.Server.Books.ReadWholeAsync(household.Id));
    }

    // A line and what corrects it name each other, each line is corrected once, and the book knows it whether it was
    // replayed or read from its tables.
    private static void CorrectionsMustAgree(List<JsonElement> lines, Book replayed, Book read)
    {
        long? Number(JsonElement line, string field) =>
            line.TryGetProperty(field, out var number) ? number.GetInt64() : null;
        Assert.Contains(lines, l => Number(l, "reverses") is not null);
        Assert.Contains(lines, l => Number(l, "amends") is not null);
        Assert.All(lines, line =>
        {
            var number = Number(line, "line")!.Value;
            var reversals = lines.Where(l => Number(l, "reverses") == number).Select(l => Number(l, "line")).ToList();
            var replacements = lines.Where(l => Number(l, "amends") == number).ToList();
            Assert.Equal(reversals.SingleOrDefault(), Number(line, "reversedBy"));
            Assert.Equal(replacements.Select(l => Number(l, "line")).FirstOrDefault(), Number(line, "amendedBy"));
            Assert.True(replacements.Select(l => Number(l, "entryId")).Distinct().Count() <= 1);
            Assert.Equal((replayed.Corrections.By(number), replayed.Corrections.Origin(number)),
                (read.Corrections.By(number), read.Corrections.Origin(number)));
        });
        // As text: two lists of the same notes are not the same list.
        Assert.Equal(JsonSerializer.Serialize(replayed, BookJson.Options),
            JsonSerializer.Serialize(read, BookJson.Options));
        Assert.All(replayed.Days, part => Assert.Equal(part.Value.Days, read.Days[part.Key].Days));
    }

    private static async Task SheetsMustAgreeAsync(Household household, Reply balances)
    {
        foreach (var (compartment, holding, amount) in Held(balances))
        {
            var carried = 0m;
            foreach (var month in _months)
            {
                var sheet = (await household.Keeper.GetAsync(
                    $"/api/compartments/{compartment}/tracker?month={month}&holding={holding}")).MustBe(200).Json;
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
            .SelectMany(c => _holdings.Select(
                h => (c.GetProperty("compartment").GetString()!, h, (long)(c.GetProperty(h).GetDecimal() * 100m))))
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
                .OrderBy(p => p.Compartment, StringComparer.Ordinal).ThenBy(p => p.Holding, StringComparer.Ordinal)
                .ThenBy(p => p.Day, StringComparer.Ordinal)
                .Select(p => (p.Compartment, p.Holding, p.Day,
                    postings.Where(o => o.Compartment == p.Compartment && o.Holding == p.Holding
                        && string.CompareOrdinal(o.Day, p.Day) <= 0).Sum(o => o.Cents))),
        ];
    }

    private static IEnumerable<(string Compartment, string Holding, string Day, long Cents)> Postings(JsonElement line)
    {
        long Cents(string field) => (long)(line.GetProperty(field).GetDecimal() * 100m);
        (string, string, string, long) At(JsonElement place, long cents) =>
            (place.GetProperty("compartment").GetString()!, place.GetProperty("holding").GetString()!,
                line.GetProperty("occurredOn").GetString()!, cents);
        return line.GetProperty("kind").GetString() switch
        {
            "fill" or "refund" => [At(line, Cents("amount"))],
            "spend" => [At(line, -Cents("amount"))],
            "settlement" => [At(line, Cents("difference"))],
            "reversal" or "fillRun" =>
                line.GetProperty("changes").EnumerateArray()
                    .Select(change => At(change, (long)(change.GetProperty("change").GetDecimal() * 100m))),
            "transfer" or "sweep" => [At(line.GetProperty("from"), -Cents("amount")),
                At(line.GetProperty("to"), Cents("amount"))],
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
