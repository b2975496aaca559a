using Microsoft.Extensions.DependencyInjection;
using Npgsql;
using Xunit;

namespace CashEvents.Api.Tests.Writing;

/// <summary>Two servers that write in one book take turns, and none of them can keep the other out for good.</summary>
public sealed class TurnTests(SharedServer shared)
{
    [Fact]
    public async Task Turns_are_given_in_the_order_in_which_they_were_asked_for()
    {
        var household = await shared.HarbourRowAsync();
        var database = household.Server.Services.GetRequiredService<NpgsqlDataSource>();
        var given = new List<int>();
        var first = await Turn.TakeAsync(database, household.Id);
        var asked = new List<Task>();
        for (var i = 0; i < 4; i++)
        {
            asked.Add(TakeAsync(i));
            await WaitAsync(household, asked.Count);
        }

        await first.DisposeAsync();
        await Task.WhenAll(asked);

        Assert.Equal([0, 1, 2, 3], given);

        async Task TakeAsync(int i)
        {
            await using var turn = await Turn.TakeAsync(database, household.Id);
            given.Add(i);
        }
    }

    [ThoroughFact]
    public async Task Whoever_freezes_in_its_turn_is_cut_off_and_the_other_writes()
    {
        var household = await shared.HarbourRowAsync();
        var database = household.Server.Services.GetRequiredService<NpgsqlDataSource>();
        await using var frozen = await Turn.TakeAsync(database, household.Id);

        await household.FillAsync("ferry-fares", "1.00");

        await using var late = frozen.CreateBatch();
        late.Add("select 1", []);
        await Assert.ThrowsAnyAsync<NpgsqlException>(() =>
            late.ExecuteNonQueryAsync(TestContext.Current.CancellationToken));
        Assert.Equal("1.00", await household.HoldsAsync("ferry-fares"));
    }

    private static async Task WaitAsync(Household household, int waiting)
    {
        while (await Database.AskAsync(household.Server.Database,
            "select count(*) from pg_locks where locktype = 'advisory' and not granted")
            != waiting.ToString(System.Globalization.CultureInfo.InvariantCulture))
        {
            await Task.Delay(10, TestContext.Current.CancellationToken);
        }
    }
}
