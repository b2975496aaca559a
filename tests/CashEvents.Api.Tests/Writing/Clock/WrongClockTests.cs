using Xunit;

namespace CashEvents.Api.Tests.Writing;

/// <summary>A machine that forgets the time when it is off must not date lines wrong in silence.</summary>
public sealed class WrongClockTests
{
    private const string Fill = """{"compartment": "ferry-fares", "amount": 1.00}""";

    [Fact]
    public async Task Nothing_is_written_while_the_clock_is_behind_the_book()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        await household.FillAsync("ferry-fares", "20.00");
        var line = await household.LineAsync();

        server.Clock.AdjustTime(RunningServer.Noon.AddYears(-3));
        var refused = await household.Keeper.PostAsync("/api/fills", Fill);

        refused.MustBeProblem(503, "clock-behind");
        Assert.Equal(line, await household.LineAsync());
        server.Clock.AdjustTime(RunningServer.Noon.AddMinutes(1));
        (await household.Keeper.PostAsync("/api/fills", Fill)).MustBe(201);
    }

    [Fact]
    public async Task A_small_step_back_keeps_the_lines_in_the_order_of_their_instants()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        await household.FillAsync("ferry-fares", "20.00");

        server.Clock.AdjustTime(RunningServer.Noon.AddSeconds(-30));
        (await household.Keeper.PostAsync("/api/fills", Fill)).MustBe(201);

        var line = await household.LineAsync();
        var before = (await household.Keeper.GetAsync($"/api/lines/{line - 1}")).Json.GetProperty("recordedAt")
            .GetDateTimeOffset();
        var after = (await household.Keeper.GetAsync($"/api/lines/{line}")).Json.GetProperty("recordedAt")
            .GetDateTimeOffset();
        Assert.Equal(before, after);
    }
}
