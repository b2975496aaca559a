using System.Net;
using System.Net.Sockets;
using Xunit;

namespace CashEvents.Api.Tests.Households;

/// <summary>Who tries keys is slowed down by address, and nobody else is.</summary>
public sealed class WrongKeyTests
{
    private const int Enough = 200;

    [Fact]
    public async Task Wrong_keys_are_slowed_down_and_good_ones_from_the_same_address_go_on()
    {
        await using var server = await RunningServer.StartAsync();
        var (known, fresh) = (await Household.OpenAsync(server), await Household.OpenAsync(server));
        (await known.Keeper.GetAsync("/api/balances")).MustBe(200);

        var slowed = await TryAsync(server);

        slowed.MustBeProblem(429, "too-many-wrong-keys");
        Assert.Equal("1", slowed.Headers["Retry-After"]);
        (await known.Keeper.GetAsync("/api/balances")).MustBe(200);
        // One that was never used from here is not mistaken for a wrong one either.
        (await fresh.Keeper.GetAsync("/api/balances")).MustBe(200);
        (await server.Client(null).GetAsync("/api/balances")).MustBeProblem(401, "key-missing");
        (await server.Client(null).GetAsync("/health/live")).MustBe(200);
    }

    [Fact]
    public async Task A_flood_of_wrong_keys_does_not_hold_up_a_key_that_was_used_from_the_same_address()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        (await household.Keeper.GetAsync("/api/balances")).MustBe(200);
        await TryAsync(server);

        var flood = Enumerable.Range(0, 50).Select(i => server.Client($"flood-{i}").GetAsync("/api/balances")).ToList();
        for (var i = 0; i < 20; i++)
        {
            (await household.Keeper.GetAsync("/api/balances")).MustBe(200);
        }

        Assert.All(await Task.WhenAll(flood), reply => Assert.True(reply.Status is 401 or 429, reply.Text));
        Assert.Contains(flood, reply => reply.Result.Status == 429);
    }

    [Fact]
    public async Task Another_address_is_not_slowed_down_and_a_household_is_not_either()
    {
        await using var server = await RunningServer.StartAsync();
        (await TryAsync(server)).MustBe(429);

        using var elsewhere = new HttpClient(new SocketsHttpHandler
        {
            ConnectCallback = async (connection, cancellation) =>
            {
                var socket = new Socket(AddressFamily.InterNetwork, SocketType.Stream, ProtocolType.Tcp);
                socket.Bind(new IPEndPoint(IPAddress.Parse("127.0.0.2"), 0));
                await socket.ConnectAsync(connection.DnsEndPoint, cancellation);
                return new NetworkStream(socket, ownsSocket: true);
            },
        });

        (await new ApiClient(elsewhere, server.Address, "a-wrong-key").GetAsync("/api/balances"))
            .MustBeProblem(401, "key-unknown");
    }

    [Fact]
    public async Task Keys_that_were_revoked_or_have_expired_are_no_guesses()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        var partner = await household.IssueAsync("partner", "member");
        (await household.Keeper.DeleteAsync("/api/keys/partner")).MustBe(204);

        for (var i = 0; i < Enough; i++)
        {
            (await partner.GetAsync("/api/balances")).MustBeProblem(401, "key-unknown");
        }
    }

    [Fact]
    public async Task Every_address_tells_that_it_may_answer_so_and_when_to_come_again()
    {
        await using var server = await RunningServer.StartAsync();
        var document = WholeDocument.Of((await server.Client(null).GetAsync("/openapi.json")).MustBe(200).Text);

        Assert.All(document.GetProperty("paths").EnumerateObject()
            .Where(path => path.Name.StartsWith("/api/", StringComparison.Ordinal))
            .SelectMany(path => path.Value.EnumerateObject()), operation =>
        {
            var slowed = operation.Value.GetProperty("responses").GetProperty("429");
            Assert.Equal("too-many-wrong-keys",
                slowed.GetProperty("content").GetProperty("application/problem+json").GetProperty("example")
                    .GetProperty("code").GetString());
            Assert.True(slowed.GetProperty("headers").TryGetProperty("Retry-After", out _));
        });
    }

    // Tries keys until it is slowed down.
    private static async Task<Reply> TryAsync(RunningServer server)
    {
        for (var i = 0; i < Enough; i++)
        {
            var reply = await server.Client($"ce_a-guess-{i}").GetAsync("/api/balances");
            if (reply.Status != 401)
            {
                return reply;
            }
        }

        throw new InvalidOperationException($"After {Enough} wrong keys nobody was slowed down.");
    }
}
