using Npgsql;
using Xunit;

namespace CashEvents.Api.Tests.Months;

/// <summary>
/// How PostgreSQL means to read a sheet: by the rows on it, whether or not it has statistics, and never through all
/// lines of the book.
/// </summary>
public sealed class SheetPlanTests
{
    private static readonly string[] _compartments =
        ["ferry-fares", "market-days", "bakery-van", "boat-insurance", "rainy-day"];
    private static readonly string[] _holdings = ["cash", "bank"];

    [ThoroughFact]
    public async Task A_sheet_reads_no_table_from_end_to_end()
    {
        await using var server = await RunningServer.StartAsync();
        await using var database = NpgsqlDataSource.Create(server.Database);
        foreach (var table in new[] { "line", "tracker_row", "day_closing", "mt_events" })
        {
            await SayAsync(database, $"alter table cashevents.{table} set (autovacuum_enabled = false)");
        }

        var household = await Household.OpenAsync(server);
        foreach (var compartment in _compartments)
        {
            await household.FillAsync(compartment, "9000.00", on: "2025-11-01");
        }

        for (var i = 0; i < 30; i++)
        {
            await server.Writer.WriteAsync(new WriteRequest(household.Id, "keeper",
                [.. Enumerable.Range(0, 100)
                    .Select(j => new EntryRequest(
                        new RecordSpend(_compartments[j % 5], Holding.Cash, 1.25m,
                            new DateOnly(2025, 11, 15).AddDays((i * 12) + (j % 12)), "Bread")))]));
        }

        await MustFollowIndexesAsync(database, household.Id);
        await SayAsync(database, "analyze");
        await MustFollowIndexesAsync(database, household.Id);
    }

    private static async Task MustFollowIndexesAsync(NpgsqlDataSource database, string household)
    {
        var (first, last) = (new DateOnly(2026, 5, 1), new DateOnly(2026, 5, 31));
        foreach (var (sql, values) in new (string, object[])[]
        {
            (TrackerReader.Sheet, [household, "ferry-fares", _holdings, first, last]),
            (TrackerReader.EarlierSheet, [household, "ferry-fares", _holdings, first, last, 2500L]),
            (TrackerReader.RowsSince, [household, "ferry-fares", new DateOnly(2026, 11, 1), 3000L, 50]),
            (LineReader.LateCorrections, [household]),
        })
        {
            var plan = await SayAsync(database, "explain " + sql, values);
            Assert.DoesNotContain("Seq Scan on line", plan, StringComparison.Ordinal);
            Assert.DoesNotContain("Seq Scan on tracker_row", plan, StringComparison.Ordinal);
            Assert.DoesNotContain("Seq Scan on day_closing", plan, StringComparison.Ordinal);
            Assert.DoesNotContain("Seq Scan on mt_events", plan, StringComparison.Ordinal);
        }
    }

    private static async Task<string> SayAsync(NpgsqlDataSource database, string sql, params object[] values)
    {
        await using var command = database.CreateCommand(sql);
        foreach (var value in values)
        {
            command.Parameters.Add(new NpgsqlParameter { Value = value });
        }

        var said = new StringWriter();
        await using var reader = await command.ExecuteReaderAsync(TestContext.Current.CancellationToken);
        while (await reader.ReadAsync(TestContext.Current.CancellationToken))
        {
            await said.WriteLineAsync(reader.GetString(0));
        }

        return said.ToString();
    }
}
