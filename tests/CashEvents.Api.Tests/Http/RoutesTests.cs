using System.Reflection;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Routing;
using Xunit;

namespace CashEvents.Api.Tests.Http;

/// <summary>A start puts the addresses together once, and compiles none of them.</summary>
public sealed class RoutesTests(SharedServer shared)
{
    [Fact]
    public async Task Whoever_asks_for_the_addresses_gets_the_same_ones()
    {
        var routes = (await shared.ServerAsync()).Routes;

        Assert.Equal(Of(routes), Of(routes));
    }

    [Fact]
    public async Task Every_address_waits_for_its_first_request()
    {
        var handled = Of((await shared.ServerAsync()).Routes)
            .Where(address => address.Metadata.GetMetadata<MethodInfo>() is not null).ToList();

        Assert.NotEmpty(handled);
        Assert.All(handled, address =>
            Assert.Equal(typeof(Routes), address.RequestDelegate!.Method.DeclaringType!.DeclaringType));
    }

    private static IReadOnlyList<Endpoint> Of(IEndpointRouteBuilder routes) =>
        new CompositeEndpointDataSource(routes.DataSources).Endpoints;
}
