using System.IO.Compression;
using System.Net;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.OpenApi;
using Swashbuckle.AspNetCore.SwaggerGen;
using Xunit;

namespace CashEvents.Api.Tests.Http;

/// <summary>The OpenAPI document costs a reader its bytes and the program next to nothing.</summary>
public sealed class WrittenDocumentTests(SharedServer shared)
{
    [Fact]
    public async Task It_is_made_once_however_many_ask_at_once()
    {
        var made = new Counter();
        await using var server = await RunningServer.StartAsync(
            services: services => services.AddSingleton(made)
                .Configure<SwaggerGenOptions>(swagger => swagger.DocumentFilter<Counting>()));

        var replies = await Task.WhenAll(
            Enumerable.Range(0, 20).Select(_ => server.Client(null).GetAsync("/openapi.json")));

        Assert.All(replies, reply => Assert.Equal(replies[0].Text, reply.MustBe(200).Text));
        Assert.Equal(1, made.Times);
    }

    [Theory]
    [InlineData("br", "br")]
    [InlineData("gzip", "gzip")]
    [InlineData("gzip, br", "br")]
    [InlineData("gzip, br;q=0.5", "gzip")]
    [InlineData("br;q=0, gzip;q=0", null)]
    [InlineData("zstd", null)]
    [InlineData("identity, gzip;q=0.5", null)]
    [InlineData("*", "br")]
    [InlineData(null, null)]
    public async Task It_comes_in_the_coding_that_is_liked_best(string? accepted, string? coding)
    {
        var (plain, _, _) = await FetchAsync(null);
        var (body, sent, tag) = await FetchAsync(accepted);

        Assert.Equal(coding, sent.Content.Headers.ContentEncoding.SingleOrDefault());
        Assert.Contains("Accept-Encoding", sent.Headers.Vary);
        var read = coding switch
        {
            "br" => new BrotliStream(new MemoryStream(body), CompressionMode.Decompress),
            "gzip" => new GZipStream(new MemoryStream(body), CompressionMode.Decompress),
            _ => (Stream)new MemoryStream(body),
        };
        using var text = new MemoryStream();
        await read.CopyToAsync(text, TestContext.Current.CancellationToken);
        Assert.Equal(plain, text.ToArray());
        Assert.True(coding is null || body.Length * 5 < plain.Length, $"{body.Length} of {plain.Length} bytes");
        Assert.Equal(HttpStatusCode.NotModified, (await FetchAsync(accepted, tag)).Sent.StatusCode);
    }

    [Fact]
    public async Task Each_coding_has_a_tag_of_its_own()
    {
        string?[] codings = [null, "br", "gzip"];

        var tags = await Task.WhenAll(codings.Select(async coding => (await FetchAsync(coding)).Tag));

        Assert.Equal(3, tags.Distinct().Count());
    }

    private async Task<(byte[] Body, HttpResponseMessage Sent, string Tag)> FetchAsync(string? accepted,
        string? known = null)
    {
        using var http = new HttpClient();
        using var request = new HttpRequestMessage(HttpMethod.Get,
            (await shared.ServerAsync()).Address + "/openapi.json");
        if (accepted is not null)
        {
            request.Headers.Add("Accept-Encoding", accepted);
        }

        if (known is not null)
        {
            request.Headers.Add("If-None-Match", known);
        }

        var sent = await http.SendAsync(request, TestContext.Current.CancellationToken);
        return (await sent.Content.ReadAsByteArrayAsync(TestContext.Current.CancellationToken), sent,
            sent.Headers.ETag!.ToString());
    }

    private sealed class Counter
    {
        public int Times;
    }

    private sealed class Counting(Counter counter) : IDocumentFilter
    {
        public void Apply(OpenApiDocument swaggerDoc, DocumentFilterContext context) =>
            Interlocked.Increment(ref counter.Times);
    }
}
