using System.IO.Compression;
using System.Net.Http.Headers;
using System.Text;
using Xunit;

namespace CashEvents.Api.Tests.Http;

/// <summary>What HTTP promises of every address (RFC 9110), whatever the address is about.</summary>
public sealed class MannersTests(DemoServer demo, SharedServer shared)
{
    private const string Fill = """{"compartment": "ferry-fares", "amount": 60.00}""";

    [Fact]
    public async Task HEAD_answers_as_GET_does_without_the_body_at_every_address()
    {
        var household = await demo.DemoAsync();
        // The feed has no end; FeedTests asks for its headers.
        var reads = (await demo.OperationsAsync()).Where(o => o.Method == "GET" && o.Path != "/api/feed").ToList();
        Assert.True(reads.Count > 40);

        foreach (var address in reads.Select(read => read.Address()).Append("/openapi.json").Append("/swagger/page.js"))
        {
            foreach (var coding in new[] { "identity", "br" })
            {
                var get = await household.Keeper.GetAsync(address, ("Accept-Encoding", coding));
                var head = await household.Keeper.SendAsync("HEAD", address, null, ("Accept-Encoding", coding));

                Assert.Equal((address, get.Status, ""), (address, head.Status, head.Text));
                Assert.Equal(Told(get), Told(head));
            }
        }

        // What is only known once the body is made may be left out (RFC 9110, section 9.3.2).
        static IEnumerable<string> Told(Reply reply) => reply.Headers
            .Where(h => h.Key is not ("Date" or "Transfer-Encoding" or "Content-Length")).Select(h => $"{h}").Order();
    }

    [Fact]
    public async Task OPTIONS_tells_the_methods_of_every_address_without_a_key()
    {
        var stranger = (await demo.ServerAsync()).Client(null);

        foreach (var address in (await demo.OperationsAsync()).GroupBy(o => o.Path))
        {
            var told = await stranger.SendAsync("OPTIONS", address.First().Address(), null);

            var methods = address.Select(o => o.Method).ToHashSet();
            Assert.Equal((address.Key, 204, ""), (address.Key, told.Status, told.Text));
            Assert.Equal([.. methods, "OPTIONS", .. methods.Contains("GET") ? ["HEAD"] : Array.Empty<string>()],
                told.Headers["Allow"].Split(", ").ToHashSet());
        }

        (await stranger.SendAsync("OPTIONS", "/api/nowhere", null)).MustBeProblem(404, "address-unknown");
    }

    [Theory]
    [InlineData("/api/wallets", "text/csv")]
    [InlineData("/api/weeks", "image/png")]
    [InlineData("/api/weeks", "application/json;q=0, image/png")]
    [InlineData("/api/weeks", "*/*;q=0")]
    [InlineData("/health/live", "text/html")]
    public async Task Where_nothing_acceptable_exists_that_is_said(string address, string accept)
    {
        var household = await shared.HarbourRowAsync();

        (await household.Keeper.GetAsync(address, ("Accept", accept))).MustBlame(406, "not-acceptable", "Accept");
    }

    [Theory]
    [InlineData("application/json; charset=utf-8")]
    [InlineData("application/json;version=2, text/html;q=0.1")]
    [InlineData("application/*")]
    [InlineData("no media type")]
    public async Task What_can_be_taken_for_JSON_gets_it(string accept)
    {
        var household = await shared.HarbourRowAsync();

        Assert.Equal("application/json",
            (await household.Keeper.GetAsync("/api/weeks", ("Accept", accept))).MustBe(200).ContentType);
    }

    [Fact]
    public async Task What_answers_in_no_acceptable_form_is_not_written()
    {
        var household = await shared.HarbourRowAsync();

        (await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/fills", Fill, ("Accept", "text/html"))))
            .MustBlame(406, "not-acceptable", "Accept");
    }

    [Theory]
    [InlineData("gzip")]
    [InlineData("br")]
    [InlineData("deflate")]
    public async Task A_compressed_body_is_understood_and_one_that_is_not_what_it_says_is_refused(string coding)
    {
        var household = await shared.HarbourRowAsync();

        (await SendAsync(household.Keeper, coding, Compressed(coding, Encoding.UTF8.GetBytes(Fill)))).MustBe(201);
        (await household.WithoutWritingAsync(keeper => SendAsync(keeper, coding, Encoding.UTF8.GetBytes(Fill))))
            .MustBeProblem(400, "malformed");
    }

    [Theory]
    [InlineData("gzip")]
    [InlineData("br")]
    public async Task A_small_body_that_swells_is_stopped(string coding)
    {
        var household = await shared.HarbourRowAsync();
        var bomb = Compressed(coding, new byte[256 * 1024 * 1024]);
        Assert.True(bomb.Length < 1024 * 1024);
        var before = GC.GetTotalAllocatedBytes();

        (await household.WithoutWritingAsync(keeper => SendAsync(keeper, coding, bomb)))
            .MustBeProblem(413, "body-too-large");

        Assert.True(GC.GetTotalAllocatedBytes() - before < 64 * 1024 * 1024);
    }

    [Theory]
    [InlineData("zstd")]
    [InlineData("gzip, gzip")]
    [InlineData("lighthouse")]
    public async Task A_coding_that_is_not_understood_is_named_with_those_that_are(string coding)
    {
        var household = await shared.HarbourRowAsync();

        var refused = await household.WithoutWritingAsync(
            keeper => SendAsync(keeper, coding, Encoding.UTF8.GetBytes(Fill)));

        refused.MustBlame(415, "coding-unknown", "Content-Encoding");
        Assert.Equal("br, deflate, gzip", refused.Headers["Accept-Encoding"]);
    }

    [Theory]
    [InlineData("/api/lines", "application/json", "gzip")]
    [InlineData("/api/lines", "text/csv", "br")]
    [InlineData("/api/weeks", "text/html", "gzip")]
    [InlineData("/api/nowhere", "application/json", "br")]
    public async Task What_is_read_goes_out_compressed_and_each_coding_has_its_tag(string address, string form,
        string coding)
    {
        var household = await shared.HarbourRowAsync();
        (string, string)[] plain = [("Accept", form)];
        (string, string)[] packed = [("Accept", form), ("Accept-Encoding", coding)];

        var read = await household.Keeper.GetAsync(address, plain);
        var compressed = await household.Keeper.GetAsync(address, packed);

        Assert.Equal(coding, compressed.Headers["Content-Encoding"]);
        Assert.DoesNotContain("Content-Encoding", read.Headers.Keys);
        Assert.All([read, compressed], reply => Assert.Contains("Accept-Encoding", reply.Headers["Vary"]));
        if (read.ETag is { } tag)
        {
            Assert.NotEqual(tag, compressed.ETag);
            var known = await household.Keeper.GetAsync(address, [.. packed, ("If-None-Match", compressed.ETag!)]);
            Assert.Equal((304, compressed.ETag), (known.MustBe(304).Status, known.ETag));
            (await household.Keeper.GetAsync(address, [.. plain, ("If-None-Match", compressed.ETag!)])).MustBe(200);
            (await household.Keeper.PostAsync("/api/fills", Fill, ("If-Match", compressed.ETag!))).MustBe(201);
        }
    }

    [Fact]
    public async Task An_answer_that_tells_a_key_is_not_compressed()
    {
        var household = await shared.HarbourRowAsync();

        var issued = await household.Keeper.PostAsync("/api/keys", """{"name": "partner", "role": "member"}""",
            ("Accept-Encoding", "gzip, br"));

        Assert.StartsWith("ce_", issued.MustBe(201).Json.GetProperty("key").GetString());
        Assert.DoesNotContain("Content-Encoding", issued.Headers.Keys);
    }

    [ThoroughFact]
    public async Task The_Location_of_whatever_was_written_leads_there()
    {
        var household = await demo.DemoAsync();
        var followed = 0;
        foreach (var write in (await demo.OperationsAsync()).Where(o => o.Method != "GET" && o.IsOffered))
        {
            var written = await write.SendAsync(household.Keeper);
            if (written.Status == 201)
            {
                Assert.True(written.Headers.ContainsKey("Location"), $"{write} has no Location.");
                var there = await household.Keeper.GetAsync(written.Headers["Location"]);
                Assert.True(there.Status == 200, $"{write}: {written.Headers["Location"]} is {there.Status}.");
                followed++;
            }
        }

        Assert.True(followed > 15, $"Only {followed} were written.");
    }

    [Theory]
    [InlineData("\"1\", \"10\"", 201)]
    [InlineData("W/\"9\",\"10\"", 201)]
    [InlineData(" * ", 201)]
    [InlineData("\"1\", \"9\"", 412)]
    [InlineData("W/\"10\"", 412)]
    [InlineData("\"ten\"", 412)]
    [InlineData("\"+10\", \"99999999999999999999\"", 412)]
    public async Task If_Match_takes_a_list_and_a_weak_tag_never_matches(string tags, int status)
    {
        var household = await shared.HarbourRowAsync();

        var reply = await household.Keeper.PostAsync("/api/fills", Fill, ("If-Match", tags));
        var read = await household.Keeper.GetAsync("/api/balances",
            ("If-Match", tags.Replace("10\"", $"{await household.LineAsync()}\"", StringComparison.Ordinal)));

        if (status == 412)
        {
            reply.MustBeProblem(412, "book-moved-on");
            read.MustBeProblem(412, "book-moved-on");
        }
        else
        {
            reply.MustBe(201);
            read.MustBe(200);
        }
    }

    [Theory]
    [InlineData("*")]
    [InlineData("\"9\"")]
    public async Task A_condition_for_reading_is_not_passed_over_by_a_write(string tags)
    {
        var household = await shared.HarbourRowAsync();

        (await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/fills", Fill, ("If-None-Match", tags))))
            .MustBlame(400, "malformed", "If-None-Match");
    }

    [Fact]
    public async Task A_link_to_the_next_page_is_absolute_and_leads_there()
    {
        var household = await shared.HarbourRowAsync();

        var page = (await household.Keeper.GetAsync("/api/lines?limit=4&by=keeper")).MustBe(200);

        var link = page.Headers["Link"];
        Assert.Equal($"<{household.Server.Address}{page.Json.GetProperty("next").GetString()}>; rel=\"next\"", link);
    }

    [Theory]
    [InlineData("iso-8859-1")]
    [InlineData("\"UTF-16\"")]
    public async Task A_body_declared_as_anything_but_UTF_8_is_refused_as_that(string charset)
    {
        var household = await shared.HarbourRowAsync();
        var content = new ByteArrayContent(Encoding.UTF8.GetBytes(Fill));
        content.Headers.TryAddWithoutValidation("Content-Type", $"application/json; charset={charset}");

        var refused = await household.WithoutWritingAsync(
            keeper => keeper.SendContentAsync("POST", "/api/fills", content));

        Assert.Contains($"declared as {charset.Trim('"')}", refused.MustBlame(400, "malformed", "Content-Type"));
    }

    [Theory]
    [InlineData("iso-8859-1")]
    [InlineData("utf-16")]
    public async Task A_body_that_is_not_UTF_8_is_refused_as_that(string written)
    {
        var household = await shared.HarbourRowAsync();
        var words = """{"compartment": "ferry-fares", "amount": 60.00, "description": "Fähre"}""";
        var content = new ByteArrayContent(Encoding.GetEncoding(written).GetBytes(words));
        content.Headers.ContentType = new MediaTypeHeaderValue("application/json");

        var refused = await household.WithoutWritingAsync(
            keeper => keeper.SendContentAsync("POST", "/api/fills", content));

        Assert.Contains("is not UTF-8", refused.MustBlame(400, "malformed", "$"));
    }

    private static Task<Reply> SendAsync(ApiClient sender, string coding, byte[] body)
    {
        var content = new ByteArrayContent(body);
        content.Headers.ContentType = new MediaTypeHeaderValue("application/json");
        content.Headers.TryAddWithoutValidation("Content-Encoding", coding);
        return sender.SendContentAsync("POST", "/api/fills", content);
    }

    private static byte[] Compressed(string coding, byte[] plain)
    {
        using var written = new MemoryStream();
        using (Stream stream = coding switch
        {
            "gzip" => new GZipStream(written, CompressionLevel.SmallestSize),
            "br" => new BrotliStream(written, CompressionLevel.Fastest),
            _ => new ZLibStream(written, CompressionLevel.SmallestSize),
        })
        {
            stream.Write(plain);
        }

        return written.ToArray();
    }
}
