using Microsoft.Net.Http.Headers;

namespace CashEvents.Api.Http;

/// <summary>
/// The headers by which every answer protects itself: from browsers that guess, keep, frame or tell others, and from
/// caches between.
/// </summary>
internal sealed class AnswerHeaders(RequestDelegate next)
{
    // A printed page has its style inside and loads nothing; an answer of any other form does not even need that.
    private const string Nothing =
        "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

    // The OpenAPI document's page runs its own scripts, asks this server alone, and shows printed pages, which stand in
    // frames without an address.
    private const string OwnScripts =
        "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data:; connect-src "
            + "'self'; "
        + "base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

    public Task InvokeAsync(HttpContext context)
    {
        // Just before it is sent: an exception clears what was set until then.
        context.Response.OnStarting(() =>
        {
            var (headers, path) = (context.Response.Headers, context.Request.Path);
            headers.XContentTypeOptions = "nosniff";
            headers.ContentSecurityPolicy = path.StartsWithSegments("/swagger") ? OwnScripts
                : context.GetEndpoint()?.Metadata.GetMetadata<PagePolicy>()?.Text ?? Nothing;
            headers["Referrer-Policy"] = "no-referrer";
            if (path.StartsWithSegments("/api") || path.StartsWithSegments("/health"))
            {
                // What a household has stays on no disk, and a cache that keeps it all the same must know that another
                // key gets another answer.
                headers.CacheControl = "no-store";
                headers.Remove(HeaderNames.Pragma);
                headers.Remove(HeaderNames.Expires);
                headers.Append(HeaderNames.Vary, HeaderNames.Authorization);
                // What is compressed says so itself.
                if (!headers.GetCommaSeparatedValues(HeaderNames.Vary).Contains(HeaderNames.AcceptEncoding))
                {
                    headers.Append(HeaderNames.Vary, HeaderNames.AcceptEncoding);
                }
            }

            return Task.CompletedTask;
        });
        return next(context);
    }
}
