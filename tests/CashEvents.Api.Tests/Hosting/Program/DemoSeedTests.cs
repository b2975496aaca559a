using System.Globalization;
using System.Text.Json;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CashEvents.Api.Tests.Hosting;

/// <summary>
/// The demo household, on whatever day the program is started with it. Its movements end on 20 November 2026.
/// </summary>
public sealed class DemoSeedTests
{
    [ThoroughFact]
    public async Task On_whatever_day_it_is_loaded_it_has_the_same_past_and_something_to_look_ahead_to()
    {
        await using var server = await RunningServer.StartAsync();
        string? past = null;
        foreach (var today in new[] { "2026-11-20", "2026-11-25", "2027-04-15", "2027-04-16", "2028-02-29",
            "2031-08-30" })
        {
            server.Clock.SetUtcNow(DateTimeOffset.Parse($"{today}T12:00:00Z", CultureInfo.InvariantCulture));
            var household = await Household.OpenEmptyAsync(server);
            await server.Services.GetRequiredService<DemoSeed>().LoadAsync(household.Id, "keeper");

            var balances = (await household.Keeper.GetAsync("/api/balances")).MustBe(200).Text;
            var payday = (await household.Keeper.PostAsync("/api/fill-runs",
                """{"payday": "2026-12-01", "pay": 1050.00, "dryRun": true}""", ("Accept", "text/csv")))
                .MustBe(200).Text;
            // What the README shows of both; further ranks ask for what is to come.
            var shown = balances + string.Join('\n', payday.Split('\n').Take(8));
            past ??= shown;
            Assert.Equal(past, shown);
            Assert.Contains("chimney-sweep,contribution", payday, StringComparison.Ordinal);

            var goals = (await household.Keeper.GetAsync("/api/goals")).MustBe(200).Json.GetProperty("goals")
                .EnumerateArray().Select(g => g.GetProperty("nextDue").GetString()!).ToList();
            Assert.Equal(2, goals.Count);
            Assert.All(goals, due => Assert.InRange(due, today, Later(today)));
            Assert.Equal(today, (await household.Keeper.GetAsync("/api/saving-plans")).MustBe(200).Json
                .GetProperty("savingPlans")[0].GetProperty("next").GetProperty("due").GetString());
            await LooksAheadAsync(household, today);
        }
    }

    [Fact]
    public async Task Started_in_November_it_meets_its_bills_in_the_spring()
    {
        await using var server = await RunningServer.StartAsync();
        server.Clock.SetUtcNow(new DateTimeOffset(2026, 11, 20, 12, 0, 0, TimeSpan.Zero));
        var household = await Household.OpenEmptyAsync(server);
        await server.Services.GetRequiredService<DemoSeed>().LoadAsync(household.Id, "keeper");

        var outlook = (await household.Keeper.GetAsync("/api/outlook?months=6")).MustBe(200).Json;

        Assert.DoesNotContain(outlook.GetProperty("shortages").EnumerateArray(),
            s => s.GetProperty("what").GetString() is "bill" or "bank" or "step");
        Assert.Equal(2, outlook.GetProperty("stretches").EnumerateArray().SelectMany(Rows)
            .Count(row => row.GetProperty("bills").GetDecimal() > 0m));
    }

    private static async Task LooksAheadAsync(Household household, string today)
    {
        var outlook = (await household.Keeper.GetAsync("/api/outlook")).MustBe(200).Json;
        var stretches = outlook.GetProperty("stretches").EnumerateArray().ToList();
        Assert.Contains(stretches.SelectMany(Rows), row => row.GetProperty("bills").GetDecimal() > 0m);
        Assert.Contains(stretches.SelectMany(Rows), row => row.GetProperty("saved").GetDecimal() > 0m);
        Assert.DoesNotContain(outlook.GetProperty("shortages").EnumerateArray(),
            s => s.TryGetProperty("due", out var due) && string.CompareOrdinal(due.GetString(), today) < 0);
    }

    private static IEnumerable<JsonElement> Rows(JsonElement stretch) =>
        stretch.GetProperty("compartments").EnumerateArray();

    private static string Later(string day) =>
        DateOnly.Parse(day, CultureInfo.InvariantCulture).AddYears(1)
            .ToString("yyyy-MM-dd", CultureInfo.InvariantCulture);
}
