using System.Net.Mime;
using Microsoft.Net.Http.Headers;

namespace CashEvents.Api.Http;

/// <summary>The forms in which an answer can come.</summary>
internal enum Form
{
    /// <summary>For programs.</summary>
    Json,

    /// <summary>A sheet for a spreadsheet.</summary>
    Csv,

    /// <summary>A page to print.</summary>
    Html,
}

/// <summary>
/// Chooses the form of an answer by the request's <c>Accept</c> header, as RFC 9110, section 12.5.1, reads it.
/// </summary>
internal static class Forms
{
    /// <summary>
    /// The form that the sender likes best; of forms liked alike the one that is named more closely, then the one that
    /// stands first. (Where none is accepted, <see cref="Acceptable"/> has refused.)
    /// </summary>
    /// <param name="http">The request; its answer is marked as one that differs by <c>Accept</c>.</param>
    /// <param name="others">What there is beside JSON.</param>
    public static Form Of(HttpContext http, params Form[] others)
    {
        http.Response.Headers.Append(HeaderNames.Vary, HeaderNames.Accept);
        var accept = Accepted(http.Request);
        return others.Prepend(Form.Json)
            .Select(form => (Form: form, Range: RangeFor(MediaType(form), accept)))
            .Where(f => f.Range is { Quality: not 0 })
            .OrderByDescending(f => f.Range!.Quality ?? 1).ThenByDescending(f => Closeness(f.Range!))
            .Select(f => f.Form)
            .FirstOrDefault(Form.Json);
    }

    /// <summary>How much the sender likes a media type, 0 to 1; 0 where it is not accepted.</summary>
    public static double Liking(string mediaType, HttpRequest request) =>
        Accepted(request) is { Count: > 0 } accept
            ? RangeFor(mediaType, accept) is { } range ? range.Quality ?? 1 : 0
            : 1;

    // A charset or a version beside a type asks for nothing else than the type: there is one of each.
    private static List<MediaTypeHeaderValue> Accepted(HttpRequest request) =>
        [.. request.GetTypedHeaders().Accept.Where(range => range.MediaType.HasValue)
            .Select(range => new MediaTypeHeaderValue(range.MediaType) { Quality = range.Quality })];

    private static MediaTypeHeaderValue? RangeFor(string mediaType, IEnumerable<MediaTypeHeaderValue> accept) =>
        accept.Where(new MediaTypeHeaderValue(mediaType).IsSubsetOf).OrderByDescending(Closeness).FirstOrDefault();

    private static int Closeness(MediaTypeHeaderValue range) =>
        range.MatchesAllTypes ? 0 : range.MatchesAllSubTypes ? 1 : 2;

    private static string MediaType(Form form) => form switch
    {
        Form.Csv => MediaTypeNames.Text.Csv,
        Form.Html => MediaTypeNames.Text.Html,
        _ => MediaTypeNames.Application.Json,
    };
}
