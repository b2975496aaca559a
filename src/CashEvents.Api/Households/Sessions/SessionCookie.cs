namespace CashEvents.Api.Households;

/// <summary>
/// What a browser that is signed in sends with each request. No script can read it, and it goes to this server alone.
/// </summary>
internal static class SessionCookie
{
    // As long as browsers keep any (RFC 6265bis, section 5.5).
    private static readonly TimeSpan _keptFor = TimeSpan.FromDays(400);

    /// <summary>What the browser keeps; null where it is not signed in.</summary>
    public static string? Of(HttpContext http) =>
        http.Request.Cookies.TryGetValue(Name(http), out var kept) && kept.Length > 0 ? kept : null;

    /// <summary>Has the browser keep it.</summary>
    public static void Set(HttpContext http, string kept) =>
        http.Response.Cookies.Append(Name(http), kept, Options(http, _keptFor));

    /// <summary>Has the browser forget it.</summary>
    public static void Forget(HttpContext http) => http.Response.Cookies.Delete(Name(http), Options(http, null));

    /// <summary>
    /// Whether a browser says that a page of this server asks (Fetch Metadata, and Origin of the Fetch standard). The
    /// cookie alone tells it not: pages on other ports of the same machine are of the same site.
    /// </summary>
    public static bool IsOwnPage(HttpContext http)
    {
        var site = http.Request.Headers["Sec-Fetch-Site"].ToString();
        var origin = http.Request.Headers.Origin.ToString();
        return (site, origin) switch
        {
            // No page asks: an address that somebody kept, such as that of a print. It can only read.
            ("" or "none", "") => HttpMethods.IsGet(http.Request.Method),
            ("" or "same-origin", _) => origin.Length == 0 || IsOwn(http, origin),
            _ => false,
        };
    }

    // Whoever stands between and speaks https to the browser may speak http here: the host tells it.
    private static bool IsOwn(HttpContext http, string origin) => Uri.TryCreate(origin, UriKind.Absolute, out var from)
        && from.Authority.Equals(http.Request.Host.Value, StringComparison.OrdinalIgnoreCase);

    // Cookies know no ports, and two books may be served from one machine.
    private static string Name(HttpContext http) =>
        http.Request.Host.Port is { } port ? FormattableString.Invariant($"cashevents-{port}") : "cashevents";

    private static CookieOptions Options(HttpContext http, TimeSpan? keptFor) => new()
    {
        HttpOnly = true,
        SameSite = SameSiteMode.Strict,
        Secure = http.Request.IsHttps,
        MaxAge = keptFor,
        Path = "/",
        IsEssential = true,
    };
}
