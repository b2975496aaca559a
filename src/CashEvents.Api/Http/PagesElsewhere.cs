using Microsoft.AspNetCore.Cors.Infrastructure;
using Microsoft.Net.Http.Headers;

namespace CashEvents.Api.Http;

/// <summary>
/// Lets web pages of other origins use the API where a keeper named their origin (CORS, Fetch standard). The question
/// that a browser asks before brings no key: it is answered for an origin that any household named. The answer itself
/// is for the page only if the household of its key did.
/// </summary>
internal sealed class PagesElsewhere(PageOrigins origins) : ICorsPolicyProvider
{
    // What a page may read of an answer, beside its body.
    private static readonly string[] _told =
        [HeaderNames.ETag, HeaderNames.Location, HeaderNames.Link, HeaderNames.RetryAfter, HeaderNames.Allow,
            HeaderNames.WWWAuthenticate];

    private static readonly TimeSpan _believedFor = TimeSpan.FromMinutes(10);

    public async Task<CorsPolicy?> GetPolicyAsync(HttpContext context, string? policyName)
    {
        var origin = context.Request.Headers.Origin.ToString();
        context.Response.Headers.Append(HeaderNames.Vary, HeaderNames.Origin);
        var isOfABook = context.Request.Path.StartsWithSegments("/api")
            && !context.Request.Path.StartsWithSegments(OpenedHouseholdEndpoints.Address);
        return isOfABook && await origins.IsNamedAsync(origin,
            Caller.IfKnown(context)?.Household, context.RequestAborted).ConfigureAwait(false)
            ? new CorsPolicyBuilder(origin).AllowAnyMethod().AllowAnyHeader().WithExposedHeaders(_told)
                .SetPreflightMaxAge(_believedFor).Build()
            : null;
    }
}
