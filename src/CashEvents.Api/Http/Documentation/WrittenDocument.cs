using System.IO.Compression;
using System.Net.Mime;
using System.Security.Cryptography;
using System.Text.Json.Nodes;
using Microsoft.AspNetCore.WebUtilities;
using Microsoft.Net.Http.Headers;
using Microsoft.OpenApi;
using Swashbuckle.AspNetCore.Swagger;

namespace CashEvents.Api.Http;

/// <summary>
/// The OpenAPI document as it is sent: written once, at the first request, plain and compressed, each with its tag. The
/// program's addresses do not change while it runs.
/// </summary>
internal sealed class WrittenDocument(IAsyncSwaggerProvider swagger)
{
    private readonly Lazy<Task<IReadOnlyList<Coded>>> _codings = new(() => Task.Run(() => WriteAsync(swagger)));

    /// <summary>The document in the coding that the sender likes best, or 304 when they have it.</summary>
    public async Task<IResult> AnswerAsync(HttpContext http)
    {
        var accepted = http.Request.GetTypedHeaders().AcceptEncoding;
        var chosen = (await _codings.Value.ConfigureAwait(false))
            .OrderByDescending(coded => Liking(accepted, coded.Coding)).First();
        http.Response.Headers.Append(HeaderNames.Vary, HeaderNames.AcceptEncoding);
        http.Response.Headers.CacheControl = "no-cache";
        if (chosen.Coding.Length > 0)
        {
            http.Response.Headers.ContentEncoding = chosen.Coding;
        }

        return TypedResults.Bytes(chosen.Body, MediaTypeNames.Application.Json + "; charset=utf-8",
            entityTag: chosen.Tag);
    }

    // How much a coding is liked (RFC 9110, section 12.5.3): as it is named, else as all others are, and plain words
    // are taken unless they are refused.
    private static double Liking(IList<StringWithQualityHeaderValue> accepted, string coding)
    {
        var named = accepted.FirstOrDefault(
            a => a.Value.Equals(coding.Length == 0 ? "identity" : coding, StringComparison.OrdinalIgnoreCase))
            ?? accepted.FirstOrDefault(a => a.Value == "*");
        return named?.Quality ?? (named is not null ? 1 : coding.Length == 0 ? 0.0001 : 0);
    }

    private static async Task<IReadOnlyList<Coded>> WriteAsync(IAsyncSwaggerProvider swagger)
    {
        var document = await swagger.GetSwaggerAsync(OpenApi.DocumentName).ConfigureAwait(false);
        var plain = Brief.Written(JsonNode.Parse(
            await document.SerializeAsJsonAsync(OpenApiSpecVersion.OpenApi3_1).ConfigureAwait(false))!.AsObject());
        var tag = WebEncoders.Base64UrlEncode(SHA256.HashData(plain).AsSpan(0, 12));
        return
        [
            new Coded("br", Compressed(plain, to => new BrotliStream(to, CompressionLevel.Optimal)),
                new EntityTagHeaderValue($"\"{tag}-br\"")),
            new Coded("gzip", Compressed(plain, to => new GZipStream(to, CompressionLevel.Optimal)),
                new EntityTagHeaderValue($"\"{tag}-gzip\"")),
            new Coded("", plain, new EntityTagHeaderValue($"\"{tag}\"")),
        ];
    }

    private static byte[] Compressed(byte[] plain, Func<Stream, Stream> compress)
    {
        using var written = new MemoryStream();
        using (var stream = compress(written))
        {
            stream.Write(plain);
        }

        return written.ToArray();
    }

    /// <summary>The document in one coding.</summary>
    private sealed record Coded(string Coding, byte[] Body, EntityTagHeaderValue Tag);
}
