using System.Collections.Concurrent;
using Microsoft.AspNetCore.Http;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CashEvents.Api.Tests.Writing;

public sealed class HeavyWorkTests
{
    [Fact]
    public async Task Of_one_household_it_is_done_one_at_a_time_and_another_waits_for_one_of_them_only()
    {
        var (begun, mayEnd) = (new ConcurrentQueue<string>(), new SemaphoreSlim(0));
        await using var server = await RunningServer.StartAsync(
            map: app => app.MapGet("/api/slow", async (Caller caller) =>
        {
            begun.Enqueue(caller.Household);
            await mayEnd.WaitAsync();
            return TypedResults.NoContent();
        }).IsHeavy());
        var (greedy, other) = (await Household.OpenAsync(server), await Household.OpenAsync(server));

        var asked = Enumerable.Range(0, HeavyWork.MostWaiting + 1).Select(_ => greedy.Keeper.GetAsync("/api/slow"))
            .ToList();
        var refused = await FirstRefusedAsync(() => greedy.Keeper.GetAsync("/api/slow"), asked);
        var others = other.Keeper.GetAsync("/api/slow");
        (await greedy.Keeper.GetAsync("/api/balances")).MustBe(200);

        refused.MustBeProblem(503, "book-busy");
        Assert.Equal("1", refused.Headers["Retry-After"]);
        Assert.Single(begun, household => household == greedy.Id);
        // The other household waits for the one that is being done, or on more processors not even for that.
        await SettleAsync(() => begun.Contains(other.Id)
            || server.Services.GetRequiredService<HeavyWork>().HouseholdsWaiting > 0);
        mayEnd.Release(2);
        await SettleAsync(() => begun.Contains(other.Id));
        Assert.InRange(begun.ToList().IndexOf(other.Id), 0, 2);
        mayEnd.Release(asked.Count);
        Assert.All(await Task.WhenAll(asked), reply => reply.MustBe(204));
        (await others).MustBe(204);
        Assert.Equal(asked.Count, begun.Count(household => household == greedy.Id));
    }

    [Fact]
    public async Task A_sender_that_gives_up_leaves_its_turn_to_the_next()
    {
        var (begun, mayEnd) = (0, new SemaphoreSlim(0));
        await using var server = await RunningServer.StartAsync(
            map: app => app.MapGet("/api/slow", async (HttpContext http) =>
        {
            Interlocked.Increment(ref begun);
            await mayEnd.WaitAsync(http.RequestAborted);
            return TypedResults.NoContent();
        }).IsHeavy());
        var household = await Household.OpenAsync(server);
        using var impatient = new HttpClient
        {
            DefaultRequestHeaders =
            { { "Authorization", $"Bearer {household.Keeper.Key}" } }
        };
        using (var givesUp = new CancellationTokenSource())
        {
            var asked = Enumerable.Range(0, 3)
                .Select(_ => impatient.GetAsync(new Uri($"{server.Address}/api/slow"), givesUp.Token)).ToList();
            await SettleAsync(() => begun == 1);
            await givesUp.CancelAsync();
            foreach (var each in asked)
            {
                await Assert.ThrowsAnyAsync<OperationCanceledException>(() => each);
            }
        }

        mayEnd.Release(10);

        (await household.Keeper.GetAsync("/api/slow")).MustBe(204);
    }

    [Theory]
    [InlineData("/api/outlook")]
    [InlineData("/api/sinking-funds")]
    [ThoroughData("/api/plan/suggestions")]
    [ThoroughData("/api/verification")]
    [ThoroughData("/api/balances?atLine=5")]
    [ThoroughData("/api/weeks?atLine=10")]
    [ThoroughData("/api/custody?on=2026-11-01")]
    public async Task What_takes_long_waits_for_its_turn_and_what_does_not_goes_on(string address)
    {
        var (begun, mayEnd) = (0, new SemaphoreSlim(0));
        await using var server = await RunningServer.StartAsync(map: app => app.MapGet("/api/slow", async () =>
        {
            Interlocked.Increment(ref begun);
            await mayEnd.WaitAsync();
            return TypedResults.NoContent();
        }).IsHeavy());
        var household = await Household.OpenAsync(server);
        var slow = household.Keeper.GetAsync("/api/slow");
        await SettleAsync(() => begun == 1);

        var asked = household.Keeper.GetAsync(address);
        (await household.Keeper.GetAsync("/api/balances")).MustBe(200);
        (await household.Keeper.GetAsync("/api/weeks")).MustBe(200);
        (await household.FillAsync("ferry-fares", "1.00")).MustBe(201);

        Assert.False(asked.IsCompleted);
        mayEnd.Release();
        (await asked).MustBe(200);
        (await slow).MustBe(204);
    }

    private static async Task<Reply> FirstRefusedAsync(Func<Task<Reply>> ask, List<Task<Reply>> asked)
    {
        // Of those that came, all wait but one too many.
        asked.Add(ask());
        var refused = await Task.WhenAny(asked);
        asked.Remove(refused);
        return await refused;
    }

    private static async Task SettleAsync(Func<bool> isSo)
    {
        while (!isSo())
        {
            await Task.Delay(10, TestContext.Current.CancellationToken);
        }
    }
}
