using System.Net;
using System.Net.NetworkInformation;
using System.Net.Sockets;
using Microsoft.AspNetCore.Http;
using Microsoft.Extensions.Configuration;
using Xunit;

namespace CashEvents.Api.Tests.Http;

/// <summary>
/// A page from elsewhere whose name is made to lead to this machine sends its own name, and gets nothing.
/// </summary>
public sealed class KnownHostsTests(SharedServer shared)
{
    // A machine without a network has its loopback alone.
    private static readonly string _ownAddress =
        NetworkInterface.GetAllNetworkInterfaces().SelectMany(network => network.GetIPProperties().UnicastAddresses)
        .Select(unicast => unicast.Address).Where(address => address.AddressFamily == AddressFamily.InterNetwork)
        .OrderBy(IPAddress.IsLoopback).First().ToString();

    public static TheoryData<string> OwnNames =>
        ["localhost", "LocalHost:5080", "localhost.", "books.localhost", "127.0.0.1", "127.0.0.1:9", "127.8.8.8",
            "[::1]", "[::1]:5080", Environment.MachineName, Environment.MachineName + ".local", _ownAddress];

    [Theory]
    [MemberData(nameof(OwnNames))]
    public async Task This_machines_own_names_are_answered(string host)
    {
        var household = await shared.HarbourRowAsync();

        (await household.Keeper.GetAsync("/api/balances", ("Host", host))).MustBe(200);
    }

    [Theory]
    [InlineData("lighthouse.example")]
    [InlineData("lighthouse.example:5080")]
    [InlineData("localhost.lighthouse.example")]
    [InlineData("127.0.0.1.lighthouse.example")]
    [InlineData("notlocalhost")]
    [InlineData("local")]
    [InlineData("203.0.113.7")]
    [InlineData("169.254.169.254")]
    [InlineData("[2001:db8::7]:5080")]
    public async Task Another_name_or_address_gets_nothing_and_writes_nothing(string host)
    {
        var household = await shared.HarbourRowAsync();

        var read = await household.Keeper.GetAsync("/api/balances", ("Host", host));
        var written = await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 1.00}""",
                ("Host", host)));

        Assert.Contains("CASHEVENTS_HOSTS", read.MustBlame(421, "host-unknown", "Host"));
        written.MustBeProblem(421, "host-unknown");
        foreach (var address in new[] { "/health/ready", "/openapi.json", "/swagger/index.html", "/nowhere" })
        {
            (await household.Keeper.GetAsync(address, ("Host", host))).MustBeProblem(421, "host-unknown");
        }
    }

    [Theory]
    [InlineData("books.example", "127.0.0.1", "", "", 421)]
    [InlineData("books.example", "127.0.0.1", "books.example", "", 200)]
    [InlineData("BOOKS.example.", "127.0.0.1", "other.example, books.example", "", 200)]
    [InlineData("books.example", "127.0.0.1", "other.example;*.example", "", 200)]
    [InlineData("a.books.example", "127.0.0.1", "*.books.example", "", 200)]
    [InlineData("books.example", "127.0.0.1", "*.books.example", "", 421)]
    [InlineData("notbooks.example", "127.0.0.1", "books.example", "", 421)]
    [InlineData("anything.example", "127.0.0.1", "*", "", 200)]
    [InlineData("203.0.113.7", "203.0.113.7", "", "", 200)]
    [InlineData("203.0.113.7", "::ffff:203.0.113.7", "", "", 200)]
    [InlineData("203.0.113.7", "203.0.113.8", "", "", 421)]
    [InlineData("203.0.113.7", "203.0.113.8", "203.0.113.7", "", 200)]
    [InlineData("[fe80::1]:5080", "fe80::1%2", "", "", 200)]
    [InlineData("203.0.113.7", null, "", "", 421)]
    [InlineData("books.example", "203.0.113.7", "", "http://books.example:5080", 200)]
    [InlineData("books.example", "203.0.113.7", "", "http://*:5080;http://+:5081", 421)]
    [InlineData("books.example", "203.0.113.7", "", "http://0.0.0.0:5080", 421)]
    [InlineData("", "127.0.0.1", "", "", 200)]
    public async Task A_name_that_it_listens_on_or_is_set_and_the_address_that_was_reached_are_its_own(string host,
        string? reached, string set, string listens, int status)
    {
        var configuration = new ConfigurationBuilder()
            .AddInMemoryCollection(new Dictionary<string, string?> { [KnownHosts.Setting] = set, ["urls"] = listens })
            .Build();
        var server = await shared.ServerAsync();
        var context = new DefaultHttpContext
        {
            RequestServices = server.Services,
            Request = { Host = new HostString(host) },
            Connection = { LocalIpAddress = reached is null ? null : IPAddress.Parse(reached) }
        };

        await new KnownHosts(_ => Task.CompletedTask, configuration).InvokeAsync(context);

        Assert.Equal(status, context.Response.StatusCode);
    }
}
