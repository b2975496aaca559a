using Microsoft.Extensions.Primitives;

namespace CashEvents.Api.Http;

/// <summary>
/// HEAD wherever GET is, and OPTIONS everywhere. HEAD goes the way of GET, whatever that answers, and the server sends
/// no body (RFC 9110, sections 9.3.2 and 9.3.7).
/// </summary>
internal sealed class Methods(RequestDelegate next)
{
    public async Task InvokeAsync(HttpContext context)
    {
        var (request, response, asked) = (context.Request, context.Response, context.Request.Method);
        if (HttpMethods.IsHead(asked))
        {
            request.Method = HttpMethods.Get;
            context.Items[typeof(Methods)] = asked;
        }

        try
        {
            await next(context).ConfigureAwait(false);
        }
        finally
        {
            request.Method = asked;
        }

        if (response.HasStarted || response.StatusCode != StatusCodes.Status405MethodNotAllowed)
        {
            return;
        }

        response.Headers.Allow = All(response.Headers.Allow);
        if (HttpMethods.IsOptions(asked))
        {
            response.StatusCode = StatusCodes.Status204NoContent;
        }
    }

    /// <summary>Whether nothing but the headers goes out: an answer that has no end is not begun.</summary>
    public static bool AsksForHeadersOnly(HttpContext context) => context.Items.ContainsKey(typeof(Methods));

    // The router tells those that somebody wrote a handler for.
    private static string All(StringValues allowed)
    {
        var methods = allowed.ToString()
            .Split(',', StringSplitOptions.TrimEntries | StringSplitOptions.RemoveEmptyEntries);
        return string.Join(", ", methods
            .SelectMany(method => HttpMethods.IsGet(method) ? new[] { method, HttpMethods.Head } : [method])
            .Append(HttpMethods.Options));
    }
}
