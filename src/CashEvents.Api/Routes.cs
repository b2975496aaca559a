using System.Diagnostics.CodeAnalysis;

namespace CashEvents.Api;

/// <summary>
/// Addresses that are compiled when they are first asked for. ASP.NET Core's own methods of these names compile every
/// one at each start, which takes longer than all else there. These are taken in their place throughout the program:
/// C# looks in a file's own namespaces first.
/// </summary>
internal static class Routes
{
    private const string Route = nameof(Route);

    /// <summary>Adds an address that is read.</summary>
    public static RouteHandlerBuilder MapGet(this IEndpointRouteBuilder api, [StringSyntax(Route)] string pattern,
        Delegate handler) => Map(api, pattern, handler, HttpMethods.Get);

    /// <summary>Adds an address to which something is sent.</summary>
    public static RouteHandlerBuilder MapPost(this IEndpointRouteBuilder api, [StringSyntax(Route)] string pattern,
        Delegate handler) => Map(api, pattern, handler, HttpMethods.Post);

    /// <summary>Adds an address at which something is put, whole.</summary>
    public static RouteHandlerBuilder MapPut(this IEndpointRouteBuilder api, [StringSyntax(Route)] string pattern,
        Delegate handler) => Map(api, pattern, handler, HttpMethods.Put);

    /// <summary>Adds an address at which something is changed in part.</summary>
    public static RouteHandlerBuilder MapPatch(this IEndpointRouteBuilder api, [StringSyntax(Route)] string pattern,
        Delegate handler) => Map(api, pattern, handler, HttpMethods.Patch);

    /// <summary>Adds an address at which something is taken away.</summary>
    public static RouteHandlerBuilder MapDelete(this IEndpointRouteBuilder api, [StringSyntax(Route)] string pattern,
        Delegate handler) => Map(api, pattern, handler, HttpMethods.Delete);

    private static RouteHandlerBuilder Map(IEndpointRouteBuilder api, string pattern, Delegate handler,
        string method) =>
        RouteHandlerServices.Map(api, pattern, handler, [method], RequestDelegateFactory.InferMetadata, WhenFirstAsked);

    private static RequestDelegateResult WhenFirstAsked(Delegate handler, RequestDelegateFactoryOptions options,
        RequestDelegateMetadataResult? metadata)
    {
        var compiled = new Lazy<RequestDelegate>(
            () => RequestDelegateFactory.Create(handler, options, metadata).RequestDelegate);
        return new RequestDelegateResult(http => compiled.Value(http), metadata?.EndpointMetadata ?? []);
    }
}
