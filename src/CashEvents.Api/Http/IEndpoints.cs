using System.Reflection;

namespace CashEvents.Api.Http;

/// <summary>Addresses of one concept. The server finds them: there is no list to add to.</summary>
internal interface IEndpoints
{
    /// <summary>Adds them.</summary>
    static abstract void Map(IEndpointRouteBuilder api);
}

/// <summary>All addresses of the API.</summary>
internal static class AllEndpoints
{
    /// <summary>Adds each, in the order of their names.</summary>
    public static void MapAll(this IEndpointRouteBuilder api)
    {
        var map = typeof(AllEndpoints).GetMethod(nameof(Map), BindingFlags.NonPublic | BindingFlags.Static)!;
        foreach (var type in typeof(IEndpoints).Assembly.GetTypes()
            .Where(type => !type.IsAbstract && type.IsAssignableTo(typeof(IEndpoints)))
            .OrderBy(type => type.FullName, StringComparer.Ordinal))
        {
            map.MakeGenericMethod(type).Invoke(null, [api]);
        }
    }

    private static void Map<T>(IEndpointRouteBuilder api)
        where T : IEndpoints => T.Map(api);
}
