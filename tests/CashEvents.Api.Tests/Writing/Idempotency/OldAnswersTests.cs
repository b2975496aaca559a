using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CashEvents.Api.Tests.Writing;

public sealed class OldAnswersTests
{
    private const string Pay = """{"compartment": "ferry-fares", "amount": 60.00, "occurredOn": "2026-11-01"}""";

    [Fact]
    public async Task An_answer_is_kept_for_a_year_and_then_let_go()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        var first = await FillAsync(household, "november");
        server.Clock.Advance(TimeSpan.FromDays(364));
        var later = await FillAsync(household, "next-october");

        Assert.Equal(0, await LetGoAsync(server));
        Assert.Equal(first.Text, (await FillAsync(household, "november")).Text);

        server.Clock.Advance(TimeSpan.FromDays(2));
        await household.FillAsync("market-days", "5.00", "2027-11-01");

        Assert.Equal("next-october", await KeptAfterAsync(server, household));
        Assert.Equal(later.Text, (await FillAsync(household, "next-october")).Text);
        Assert.NotEqual(first.Lines, (await FillAsync(household, "november")).Lines);
    }

    [Fact]
    public async Task A_day_later_they_are_looked_after_again_by_themselves()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        await FillAsync(household, "november");
        server.Clock.Advance(TimeSpan.FromDays(367));
        await household.FillAsync("market-days", "5.00", "2027-11-01");

        for (var tries = 0; tries < 500 && await AnswersAsync(household) > 0; tries++)
        {
            server.Clock.Advance(TimeSpan.FromDays(1));
            await Task.Delay(20, TestContext.Current.CancellationToken);
        }

        Assert.Equal(0, await AnswersAsync(household));
    }

    [Fact]
    public async Task A_clock_that_jumped_takes_no_answer_along()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        var first = await FillAsync(household, "november");

        server.Clock.Advance(TimeSpan.FromDays(800));

        Assert.Equal(0, await LetGoAsync(server));
        Assert.Equal(first.Text, (await FillAsync(household, "november")).Text);
    }

    private static async Task<Reply> FillAsync(Household household, string key) =>
        (await household.Keeper.PostAsync("/api/fills", Pay, ("Idempotency-Key", key))).MustBe(201);

    private static Task<int> LetGoAsync(RunningServer server) =>
        server.Services.GetRequiredService<OldAnswers>().LetGoAsync(TestContext.Current.CancellationToken);

    private static async Task<string?> KeptAfterAsync(RunningServer server, Household household)
    {
        await LetGoAsync(server);
        return await Database.AskAsync(server.Database,
            $"select string_agg(idempotency_key, ',') from cashevents.answer where tenant_id = '{household.Id}'");
    }

    private static async Task<int> AnswersAsync(Household household) =>
        int.Parse((await Database.AskAsync(household.Server.Database,
            $"select count(*)::text from cashevents.answer where tenant_id = '{household.Id}'"))!);
}
