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
    /// stands first. JSON when none is accepted.
    /// </summary>
    /// <param name="http">The request; its answer is marked as one that differs by <c>Accept</c>.</param>
    /// <param name="others">What there is beside JSON.</param>
    public static Form Of(HttpContext http, params Form[] others)
    {
        http.Response.Headers.Append(HeaderNames.Vary, HeaderNames.Accept);
        var accept = http.Request.GetTypedHeaders().Accept;
        return others.Prepend(Form.Json)
            .Select(form => (Form: form, Range: RangeFor(form, accept)))
            .Where(f => f.Range is { Quality: not 0 })
            .OrderByDescending(f => f.Range!.Quality ?? 1).ThenByDescending(f => Closeness(f.Range!))
            .Select(f => f.Form)
            .FirstOrDefault(Form.Json);
    }

    private static MediaTypeHeaderValue? RangeFor(Form form, IList<MediaTypeHeaderValue> accept) =>
        accept.Where(new MediaTypeHeaderValue(MediaType(form)).IsSubsetOf).OrderByDescending(Closeness)
            .FirstOrDefault();

    private static int Closeness(MediaTypeHeaderValue range) =>
        range.MatchesAllTypes ? 0 : range.MatchesAllSubTypes ? 1 : 2;

    private static string MediaType(Form form) => form switch
    {
        Form.Csv => MediaTypeNames.Text.Csv,
        Form.Html => MediaTypeNames.Text.Html,
        _ => MediaTypeNames.Application.Json,
    };
}
