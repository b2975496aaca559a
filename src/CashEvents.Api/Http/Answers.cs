using System.Collections.Immutable;
using System.Globalization;
using System.Security.Cryptography;
using System.Text;
using Microsoft.AspNetCore.WebUtilities;
using Microsoft.Net.Http.Headers;

namespace CashEvents.Api.Http;

/// <summary>
/// What tells answers about a book apart: the entity tag. It begins with the line at which the book stands, and with an
/// answer that was read a
/// fingerprint follows, as in <c>"61-3vX8hQ0mT2c5Zy9a"</c>. <c>If-Match</c> goes by the line, <c>If-None-Match</c> by
/// the whole.
/// </summary>
internal static class Answers
{
    private const int FingerprintBytes = 12;
    private const int FingerprintLength = FingerprintBytes * 4 / 3;

    /// <summary>Marks an answer with the line at which the book stands.</summary>
    public static void StampLine(HttpContext http, long line) =>
        http.Response.Headers.ETag = $"\"{line.ToString(CultureInfo.InvariantCulture)}\"";

    /// <summary>
    /// Tells where the next page is (RFC 8288), with the name by which the sender reached this server.
    /// </summary>
    public static void LinkNext(HttpContext http, string address) =>
        http.Response.Headers.Link = $"<{http.Request.Scheme}://{http.Request.Host}{address}>; rel=\"next\"";

    /// <summary>The line of the book that a tag of this API names; null when it is none.</summary>
    public static long? LineOf(EntityTagHeaderValue tag)
    {
        var words = tag.Tag.AsSpan()[1..^1];
        var dash = words.IndexOf('-');
        return !tag.IsWeak && (dash < 0 || words.Length - dash - 1 == FingerprintLength)
            && long.TryParse(dash < 0 ? words : words[..dash], NumberStyles.None, CultureInfo.InvariantCulture,
                out var line) ? line : null;
    }

    /// <summary>
    /// The lines of the book that <c>If-Match</c> names, any of which will do; null where it is left out, or any line
    /// will do. A tag that is none of this API's, or a weak one, names no line (RFC 9110, section 13.1.1).
    /// </summary>
    /// <exception cref="MalformedException">It is no list of tags.</exception>
    public static ImmutableArray<long>? LinesToMatch(HttpContext http)
    {
        var written = http.Request.Headers.IfMatch;
        return written.Count == 0 || written.ToString().Trim() == "*" ? null
            : EntityTagHeaderValue.TryParseStrictList(written, out var tags)
                ? [.. tags.Where(tag => !tag.Equals(EntityTagHeaderValue.Any)).Select(LineOf).OfType<long>()]
            : throw new MalformedException("If-Match",
                "If-Match takes ETags as this API gave them, or a line's number alone, such as \"41\" with its quotes, "
                    + "with commas between; or `*` alone.");
    }

    /// <summary>Refuses what was asked for at another line than the book's.</summary>
    /// <exception cref="RefusedException">The book is at none of the lines in If-Match.</exception>
    public static void MustMatch(HttpContext http, long line)
    {
        if (LinesToMatch(http) is { } lines && !lines.Contains(line))
        {
            throw new RefusedException(Refusal.MovedOn(line, lines), null);
        }
    }

    /// <summary>
    /// The tag of an answer that was read: the book's line, and a fingerprint of whose answer it is, of its form, of
    /// the coding in which it goes out and of all that it says.
    /// </summary>
    /// <remarks>An answer may differ by the day, by the program's version or by what is no line; a fingerprint of its
    /// words misses none of that.</remarks>
    public static EntityTagHeaderValue TagOf(string stamped, string household, string? form, string? coding,
        ReadOnlySpan<byte> body)
    {
        using var hash = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
        hash.AppendData(Encoding.UTF8.GetBytes($"{household}\n{form}\n{coding}\n"));
        hash.AppendData(body);
        return new EntityTagHeaderValue(
            $"{stamped[..^1]}-{WebEncoders.Base64UrlEncode(hash.GetHashAndReset().AsSpan(0, FingerprintBytes))}\"");
    }
}

/// <summary>
/// Gives each answer that is read, and stands at a line of the book, a tag of its own, and answers 304 to whoever has
/// that answer already.
/// </summary>
internal sealed class TaggedReads : IEndpointFilter
{
    public async ValueTask<object?> InvokeAsync(EndpointFilterInvocationContext context, EndpointFilterDelegate next)
    {
        var answer = await next(context).ConfigureAwait(false);
        return HttpMethods.IsGet(context.HttpContext.Request.Method)
            && context.HttpContext.Response.Headers.ETag.Count > 0 && answer is IResult read
                ? new Tagged(read)
                : answer;
    }

    /// <summary>An answer that is written whole before it is sent, so that its tag can stand before it.</summary>
    private sealed class Tagged(IResult read) : IResult
    {
        public async Task ExecuteAsync(HttpContext httpContext)
        {
            var (response, outward) = (httpContext.Response, httpContext.Response.Body);
            await using var written = new MemoryStream();
            response.Body = written;
            try
            {
                await read.ExecuteAsync(httpContext).ConfigureAwait(false);
            }
            finally
            {
                response.Body = outward;
            }

            var body = written.GetBuffer().AsMemory(0, (int)written.Length);
            var tag = Answers.TagOf(response.Headers.ETag.ToString(), Caller.Of(httpContext).Household,
                response.ContentType, Codings.Of(httpContext), body.Span);
            response.Headers.ETag = tag.ToString();
            Answers.MustMatch(httpContext, Answers.LineOf(tag)!.Value);
            if (httpContext.Request.GetTypedHeaders().IfNoneMatch
                .Any(known => known.Equals(EntityTagHeaderValue.Any) || known.Compare(tag, useStrongComparison: false)))
            {
                response.StatusCode = StatusCodes.Status304NotModified;
                response.ContentType = null;
                response.ContentLength = null;
                return;
            }

            response.ContentLength = body.Length;
            await outward.WriteAsync(body, httpContext.RequestAborted).ConfigureAwait(false);
        }
    }
}
