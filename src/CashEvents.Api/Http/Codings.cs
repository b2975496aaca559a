using System.Net.Mime;
using Microsoft.AspNetCore.ResponseCompression;

namespace CashEvents.Api.Http;

/// <summary>
/// Bodies that come compressed are understood, and what is read goes out compressed to whoever takes it so. The limit
/// of a body counts its bytes as they are read, so that a small one that swells is stopped too.
/// </summary>
internal static class Codings
{
    /// <summary>The codings of requests that are understood.</summary>
    public const string Understood = "br, deflate, gzip";

    public static void AddCodings(this IServiceCollection services)
    {
        services.AddRequestDecompression();
        services.AddResponseCompression(compression =>
        {
            // A page that guesses a secret by the length of answers (BREACH) has to make a browser ask with the
            // household's key, which no browser sends by itself; and no answer to a reading tells a key.
            compression.EnableForHttps = true;
            compression.MimeTypes =
                [MediaTypeNames.Application.Json, Problems.ContentType, MediaTypeNames.Text.Csv,
                    MediaTypeNames.Text.Html, "text/calendar"];
        });
    }

    /// <summary>Compresses what is read; an answer to a write may tell a key, and is short.</summary>
    public static void UseCompressedReads(this IApplicationBuilder app) => app.UseWhen(
        context => HttpMethods.IsGet(context.Request.Method) || HttpMethods.IsHead(context.Request.Method),
        reads => reads.UseResponseCompression());

    /// <summary>Takes the coding from a body, or refuses one that is not understood.</summary>
    public static void UseUnderstoodBodies(this IApplicationBuilder app)
    {
        app.UseRequestDecompression();
        app.Use((context, next) => Left(context) is { } coding ? RefuseAsync(context, coding) : next(context));
    }

    /// <summary>The coding in which an answer that is ready goes out; null for none.</summary>
    public static string? Of(HttpContext http)
    {
        var compression = http.RequestServices.GetRequiredService<IResponseCompressionProvider>();
        return compression.ShouldCompressResponse(http) ? compression.GetCompressionProvider(http)?.EncodingName : null;
    }

    private static string? Left(HttpContext http) =>
        http.Request.Headers.ContentEncoding.ToString().Trim() is { Length: > 0 } coding
            && !coding.Equals("identity", StringComparison.OrdinalIgnoreCase) ? coding : null;

    private static Task RefuseAsync(HttpContext http, string coding)
    {
        // What would be understood is told in this header too (RFC 9110, section 12.5.3).
        http.Response.Headers.AcceptEncoding = Understood;
        var mend = $"The body comes in the coding '{coding}', which is not understood: send one of {Understood}, or "
            + "leave `Content-Encoding` out.";
        return Problems.Of(StatusCodes.Status415UnsupportedMediaType, "coding-unknown", mend,
            new Dictionary<string, string[]> { ["Content-Encoding"] = [mend] }).ExecuteAsync(http);
    }
}
