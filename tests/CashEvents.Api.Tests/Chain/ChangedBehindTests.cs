using System.Globalization;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CashEvents.Api.Tests.Chain;

/// <summary>
/// A dump is restored under the running program, or another database stands in its stead: what the program had in hand
/// is not believed.
/// </summary>
public sealed class ChangedBehindTests : IAsyncLifetime
{
    private RunningServer _one = null!;
    private RunningServer _other = null!;

    public async ValueTask InitializeAsync()
    {
        _one = await RunningServer.StartAsync();
        _other = await RunningServer.StartAsync(_one.Database);
    }

    public async ValueTask DisposeAsync()
    {
        await _other.DisposeAsync();
        await _one.DisposeAsync();
    }

    // Each server knows a history of 13 lines and 100.00; the database is given back one of so many lines and 5.00 a
    // line after the eleventh.
    [Theory]
    [InlineData(11)]
    [InlineData(12)]
    [ThoroughData(13)]
    [ThoroughData(14)]
    [ThoroughData(20)]
    public async Task What_is_decided_after_a_restore_is_decided_on_the_restored_book(int restoredLines)
    {
        var (household, restored) = await TwoHistoriesAsync(restoredLines);
        var (here, there) = (household, household.At(_other));

        await restored.PutBackAsync();

        var left = 5.00m * (restoredLines - 11);
        foreach (var server in new[] { here, there })
        {
            (await server.Keeper.PostAsync("/api/spends", """{"compartment": "ferry-fares", "amount": 90.00}"""))
                .MustBeProblem(409, "not-enough");
        }

        Assert.Equal(restoredLines, await here.LineAsync());
        await here.FillAsync("ferry-fares", "0.25");
        await there.FillAsync("ferry-fares", "0.25");
        Assert.Equal((left + 0.50m).ToString("0.00", CultureInfo.InvariantCulture),
            await here.HoldsAsync("ferry-fares"));
        Assert.Equal(restoredLines + 2, await there.LineAsync());
        await MustBeWholeAsync(here);
    }

    [Theory]
    [InlineData(11)]
    [ThoroughData(13)]
    [ThoroughData(15)]
    public async Task The_first_write_after_a_restore_stands_on_the_restored_book(int restoredLines)
    {
        var (household, restored) = await TwoHistoriesAsync(restoredLines);

        await restored.PutBackAsync();
        await household.FillAsync("ferry-fares", "0.25");

        Assert.Equal((5.00m * (restoredLines - 11) + 0.25m).ToString("0.00", CultureInfo.InvariantCulture),
            await household.HoldsAsync("ferry-fares"));
        Assert.Equal(restoredLines + 1, await household.LineAsync());
        await MustBeWholeAsync(household);
    }

    [Theory]
    [InlineData(12)]
    [ThoroughData(13)]
    [ThoroughData(14)]
    public async Task A_server_whose_history_is_gone_does_not_take_the_lines_of_another_for_what_followed(
        int restoredLines)
    {
        var (household, restored) = await TwoHistoriesAsync(restoredLines);
        await restored.PutBackAsync();

        // The other server writes on until the line that the first one stands at is there again, and passed.
        for (var line = restoredLines; line < 15; line++)
        {
            await household.At(_other).FillAsync("market-days", "1.00");
        }

        await household.FillAsync("ferry-fares", "0.25");

        Assert.Equal((5.00m * (restoredLines - 11) + 0.25m).ToString("0.00", CultureInfo.InvariantCulture),
            await household.HoldsAsync("ferry-fares"));
        await MustBeWholeAsync(household);
    }

    [Fact]
    public async Task What_writes_nothing_is_decided_on_the_restored_book_too()
    {
        var (household, restored) =
            await TwoHistoriesAsync(13,
                last: household => household.Keeper.PutAsync("/api/compartments/ferry-fares/fill-rule",
                    """{"kind": "fixed", "amount": 40.00}"""));
        Assert.Empty((await household.Keeper.PutAsync("/api/compartments/ferry-fares/fill-rule",
            """{"kind": "fixed", "amount": 40.00}""")).MustBe(200).Lines);

        await restored.PutBackAsync();

        Assert.Equal(14, (await household.Keeper.PutAsync("/api/compartments/ferry-fares/fill-rule",
            """{"kind": "fixed", "amount": 40.00}""")).MustBe(200).Lines.Single());
        await MustBeWholeAsync(household);
    }

    [Fact]
    public async Task An_idempotency_key_answers_by_the_restored_book()
    {
        var (household, restored) = await TwoHistoriesAsync(13);
        var before = await household.Keeper.PostAsync("/api/fills",
            """{"compartment": "ferry-fares", "amount": 7.00}""", ("Idempotency-Key", "pay-1"));
        Assert.Equal(14, before.MustBe(201).Lines.Single());

        await restored.PutBackAsync();

        foreach (var server in new[] { household, household.At(_other) })
        {
            Assert.Equal(14, (await server.Keeper.PostAsync("/api/fills",
                """{"compartment": "ferry-fares", "amount": 7.00}""", ("Idempotency-Key", "pay-1"))).MustBe(201).Lines
                .Single());
        }

        Assert.Equal("17.00", await household.HoldsAsync("ferry-fares"));
        await MustBeWholeAsync(household);
    }

    [Fact]
    public async Task A_key_that_the_restored_book_never_had_writes_nothing()
    {
        var household = await Household.OpenAsync(_one);
        var kept = await KeptTables.OfAsync(_one.Database);
        var partner = await household.IssueAsync("partner", "member");
        (await partner.PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 7.00}""")).MustBe(201);

        await kept.PutBackAsync();

        (await partner.PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 7.00}"""))
            .MustBeProblem(401, "key-unknown");
        (await partner.GetAsync("/api/balances")).MustBeProblem(401, "key-unknown");
        Assert.Equal(Household.SetUpLines, await household.LineAsync());
    }

    [ThoroughFact]
    public async Task A_key_that_another_server_revoked_writes_nothing_from_then_on()
    {
        var household = await Household.OpenAsync(_one);
        var partner = await household.IssueAsync("partner", "member");
        var there = _other.Client(partner.Key);
        (await there.PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 7.00}""",
            ("Idempotency-Key", "pay-1"))).MustBe(201);
        (await household.Keeper.DeleteAsync("/api/keys/partner")).MustBe(204);

        (await there.PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 1.00}"""))
            .MustBeProblem(401, "key-unknown");
        (await there.PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 7.00}""",
            ("Idempotency-Key", "pay-1"))).MustBeProblem(401, "key-unknown");

        Assert.Equal("7.00", await household.HoldsAsync("ferry-fares"));
    }

    [Fact]
    public async Task Nothing_is_written_where_only_a_part_was_restored_until_it_is_rebuilt()
    {
        var (household, restored) = await TwoHistoriesAsync(13);
        await restored.PutBackAsync("mt_events", "mt_streams");

        foreach (var server in new[] { household, household.At(_other) })
        {
            (await server.Keeper.PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 1.00}"""))
                .MustBeProblem(503, "book-misfit");
            (await server.Keeper.PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 1.00}""",
                ("Idempotency-Key", "pay-1"))).MustBeProblem(503, "book-misfit");
        }

        Assert.False((await household.Keeper.GetAsync("/api/verification")).MustBe(200).Json.GetProperty("agrees")
            .GetBoolean());
        await _one.Services.GetRequiredService<Rebuilder>()
            .RebuildAsync(household.Id, cancellation: TestContext.Current.CancellationToken);
        await household.FillAsync("ferry-fares", "0.25");
        await household.At(_other).FillAsync("ferry-fares", "0.25");
        Assert.Equal("10.50", await household.HoldsAsync("ferry-fares"));
        await MustBeWholeAsync(household);
    }

    /// <summary>
    /// A household of 13 lines and 100.00 that both servers know, and the tables as another history of so many lines
    /// left them.
    /// </summary>
    private async Task<(Household Household, KeptTables Restored)> TwoHistoriesAsync(int restoredLines,
        Func<Household, Task<Reply>>? last = null)
    {
        var household = await Household.OpenAsync(_one);
        await household.FillAsync("market-days", "1.00");
        var common = await KeptTables.OfAsync(_one.Database);
        for (var line = Household.SetUpLines + 1; line < restoredLines; line++)
        {
            await household.FillAsync("ferry-fares", "5.00");
        }

        var restored = await KeptTables.OfAsync(_one.Database);
        await common.PutBackAsync();
        await household.FillAsync("ferry-fares", "100.00");
        await (last?.Invoke(household) ?? household.FillAsync("bakery-van", "2.00"));
        (await household.At(_other).Keeper
            .PostAsync("/api/spends", """{"compartment": "ferry-fares", "amount": 900.00}"""))
            .MustBeProblem(409, "not-enough");
        Assert.Equal(13, await household.LineAsync());
        return (household, restored);
    }

    private static async Task MustBeWholeAsync(Household household)
    {
        var verified = (await household.Keeper.GetAsync("/api/verification")).MustBe(200);
        Assert.True(verified.Json.GetProperty("agrees").GetBoolean(), verified.Text);
        Assert.Equal(await household.LineAsync(), verified.Json.GetProperty("lines").GetInt64());
    }
}
