using Xunit;

namespace CashEvents.Cash.Tests.Client;

/// <summary>The client against the real server: amounts, lines, problems, and requests that are lost.</summary>
public sealed class ClientTests(BookServer server)
{
    [Fact]
    public async Task Amounts_come_back_to_the_cent_and_a_line_is_the_form_that_it_is()
    {
        var household = await server.HarbourRowAsync();
        await household.FillAsync("market-days", 123456789.01m);

        var spent = await household.Keeper.Api.Spends.PostAsync(
            new SpendRequest { Compartment = "market-days", Amount = 0.07m, Description = "Eggs" });
        var lines = await household.Keeper.Api.Lines.GetAsync(
            request => request.QueryParameters.After = (int)spent!.EntryId! - 2);

        Assert.Equal(123456788.94m, spent!.Balances!.Single().Balance);
        Assert.Equal(2, lines!.Lines!.Count);
        Assert.Equal((123456789.01m, null), (lines.Lines[0].FillLine?.Amount, lines.Lines[0].SpendLine));
        Assert.Equal((0.07m, "Eggs"), (lines.Lines[1].SpendLine?.Amount, lines.Lines[1].SpendLine?.Description));
        Assert.Null(lines.Lines[1].FillLine);
    }

    [Fact]
    public async Task A_problem_is_an_exception_with_its_code_its_words_and_the_fields_at_fault()
    {
        var household = await server.HarbourRowAsync();

        var problem = await Assert.ThrowsAsync<CashEventsProblemException>(() => household.Keeper.Api.Spends.PostAsync(
            new SpendRequest { Compartment = "market-day", Amount = 4.20m }));

        Assert.Equal((422, "compartment-unknown", "Compartment unknown"),
            (problem.Status, problem.Code, problem.Title));
        Assert.Equal([problem.Detail], problem.Errors["compartment"]);
        Assert.Equal(["market-days"], problem.Suggestions);
        Assert.Equal("/problems/compartment-unknown", problem.Type);
    }

    [Fact]
    public async Task An_answer_that_is_not_the_servers_own_is_a_problem_without_a_code()
    {
        var household = await server.HarbourRowAsync();

        var problem = await Assert.ThrowsAsync<CashEventsProblemException>(
            () => household.Over(new Proxy()).Api.Balances.GetAsync());

        Assert.Equal((502, ""), (problem.Status, problem.Code));
        Assert.Equal("<h1>Bad gateway</h1>", problem.Body);
    }

    [Theory]
    [InlineData(Mishap.NotSent)]
    [InlineData(Mishap.AnswerLost)]
    [InlineData(Mishap.Busy)]
    public async Task What_got_no_answer_is_sent_again_and_written_once(Mishap mishap)
    {
        var household = await server.HarbourRowAsync();
        var before = await household.LineAsync();
        var connection = new LostAnswers(mishap, mishap);

        var written = await household.Over(connection).Api.Fills.PostAsync(
            new FillRequest { Compartment = "market-days", Amount = 20m });

        Assert.Equal(3, connection.Sent);
        Assert.Equal([before + 1], written!.Lines!.Select(line => line!.Value));
        Assert.Equal((before + 1, 20m), (await household.LineAsync(), await household.CashAsync("market-days")));
    }

    [Fact]
    public async Task Each_movement_of_a_batch_is_written_once_too()
    {
        var household = await server.HarbourRowAsync();
        var before = await household.LineAsync();
        var fill = new MovementRequest
        {
            FillInBatch = new FillInBatch { Kind = FillInBatch_kind.Fill, Compartment = "market-days", Amount = 20m },
        };

        var written = await household.Over(new LostAnswers(Mishap.AnswerLost)).Api.Batches.PostAsync(
            new BatchRequest { Movements = [fill, fill] });

        Assert.Equal(2, written!.Written);
        Assert.Equal((before + 2, 40m), (await household.LineAsync(), await household.CashAsync("market-days")));
    }

    [Fact]
    public async Task A_name_of_ones_own_stands_for_one_request_also_later()
    {
        var household = await server.HarbourRowAsync();
        Task<MovementAnswer?> SendAsync() => household.Keeper.Api.Fills.PostAsync(
            new FillRequest { Compartment = "market-days", Amount = 20m }, request => request.UseIdempotencyKey("pay"));

        var first = await SendAsync();
        var second = await SendAsync();

        Assert.Equal(first!.EntryId, second!.EntryId);
        Assert.Equal(20m, await household.CashAsync("market-days"));
    }

    [Fact]
    public async Task A_server_that_says_when_to_come_back_is_believed_up_to_a_bound()
    {
        var household = await server.HarbourRowAsync();
        var clock = new NoPauses();

        await household.Over(new LostAnswers(Mishap.Busy), clock).Api.Balances.GetAsync();
        var tooLong = new LostAnswers(Mishap.Busy) { RetryAfter = TimeSpan.FromMinutes(5) };
        var problem = await Assert.ThrowsAsync<CashEventsProblemException>(
            () => household.Over(tooLong).Api.Balances.GetAsync());

        Assert.Equal([TimeSpan.FromSeconds(7)], clock.Pauses);
        Assert.Equal((503, 1), (problem.Status, tooLong.Sent));
    }

    [Fact]
    public async Task After_a_few_times_it_gives_up()
    {
        var household = await server.HarbourRowAsync();
        var connection = new LostAnswers([.. Enumerable.Repeat(Mishap.NotSent, 9)]);

        await Assert.ThrowsAsync<HttpRequestException>(() => household.Over(connection).Api.Balances.GetAsync());

        Assert.Equal(1 + new CashEventsClientOptions().Retries, connection.Sent);
    }

    private sealed class Proxy : HttpMessageHandler
    {
        protected override Task<HttpResponseMessage> SendAsync(HttpRequestMessage request,
            CancellationToken cancellationToken) => Task.FromResult(
                new HttpResponseMessage(System.Net.HttpStatusCode.BadGateway)
                {
                    Content = new StringContent("<h1>Bad gateway</h1>")
                });
    }
}
