using System.Text.Json;
using System.Text.RegularExpressions;
using Microsoft.AspNetCore.Http.Metadata;
using Microsoft.AspNetCore.Routing;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CashEvents.Api.Tests.Http;

/// <summary>The OpenAPI document says all that the running program does.</summary>
public sealed partial class OpenApiTests(SharedServer shared)
{
    private static readonly string[] _texts = ["summary", "description"];

    [Fact]
    public async Task Every_endpoint_is_in_the_document_with_a_summary_examples_and_problems()
    {
        var server = await shared.ServerAsync();
        var paths = (await DocumentAsync(server)).GetProperty("paths");
        var all = server.Services.GetRequiredService<IEnumerable<EndpointDataSource>>()
            .SelectMany(source => source.Endpoints).OfType<RouteEndpoint>()
            .Where(e => e.RoutePattern.RawText!.StartsWith("/api/", StringComparison.Ordinal)
                || e.RoutePattern.RawText.StartsWith("/health/", StringComparison.Ordinal)).ToList();
        var endpoints = all.Except(all.Where(OfTheHouseholdsPage))
            .SelectMany(e => e.Metadata.GetMetadata<IHttpMethodMetadata>()!.HttpMethods.Select(
                method => (Method: method,
                    Path: e.RoutePattern.RawText!.Replace(":long", "", StringComparison.Ordinal))))
            .ToList();

        Assert.Equal(127, endpoints.Count);
        Assert.Equal(["/api/copy", "/api/pairings", "/api/sessions"],
            all.Where(OfTheHouseholdsPage).Select(e => e.RoutePattern.RawText).Distinct().Order());
        Assert.All(endpoints, endpoint =>
        {
            var operation = paths.GetProperty(endpoint.Path).GetProperty(Method(endpoint.Method));
            Assert.False(string.IsNullOrWhiteSpace(operation.GetProperty("summary").GetString()));
            Assert.False(string.IsNullOrWhiteSpace(operation.GetProperty("operationId").GetString()));
            if (operation.TryGetProperty("requestBody", out var body))
            {
                Assert.True(body.GetProperty("content").GetProperty("application/json")
                    .TryGetProperty("example", out _), $"{endpoint}: no example of its request");
            }

            foreach (var response in operation.GetProperty("responses").EnumerateObject()
                .Where(r => r.Value.TryGetProperty("content", out var content)
                    && !content.TryGetProperty("text/event-stream", out _)))
            {
                var json = response.Value.GetProperty("content").EnumerateObject()
                    .Single(c => c.Name.EndsWith("json", StringComparison.Ordinal));
                Assert.True(response.Name == "default" || json.Value.TryGetProperty("example", out _),
                    $"{endpoint}: no example of {response.Name}");
                Assert.Equal(response.Name[0] == '2' ? "application/json" : "application/problem+json", json.Name);
            }

            if (endpoint.Path.StartsWith("/api/", StringComparison.Ordinal))
            {
                Assert.All(["400", "401", "503"],
                    (string status) => Assert.True(operation.GetProperty("responses").TryGetProperty(status, out _),
                        $"{endpoint}: no {status}"));
            }
        });
        Assert.Equal(endpoints.Count, paths.EnumerateObject().Sum(p => p.Value.EnumerateObject().Count()));

        static bool OfTheHouseholdsPage(RouteEndpoint endpoint) =>
            endpoint.Metadata.GetMetadata<IExcludeFromDescriptionMetadata>() is { ExcludeFromDescription: true };
    }

    [Fact]
    public async Task Every_reference_leads_somewhere_and_the_version_is_3_1()
    {
        var document = (await (await shared.ServerAsync()).Client(null).GetAsync("/openapi.json")).MustBe(200).Json;

        Assert.StartsWith("3.1.", document.GetProperty("openapi").GetString(), StringComparison.Ordinal);
        Assert.All(References(document).Distinct(), reference =>
        {
            var at = document;
            Assert.True(reference.Split('/')[1..].All(step => at.TryGetProperty(step, out at)), reference);
        });
    }

    [Fact]
    public async Task No_sentence_about_an_address_is_so_long_that_it_is_read_twice()
    {
        var told = (await DocumentAsync(await shared.ServerAsync())).GetProperty("paths").EnumerateObject()
            .SelectMany(path => path.Value.EnumerateObject())
            .SelectMany(operation => _texts
                .Where(text => operation.Value.TryGetProperty(text, out _))
                .SelectMany(text => Sentence().Split(operation.Value.GetProperty(text).GetString()!)))
            .ToList();

        Assert.NotEmpty(told);
        Assert.All(told, sentence => Assert.True(sentence.Split(' ').Length <= 29, sentence));
    }

    [Fact]
    public async Task The_document_tells_the_programs_version_and_the_change_log_has_a_heading_for_it()
    {
        var version = Repository.Version();

        Assert.Equal(version, (await DocumentAsync(await shared.ServerAsync())).GetProperty("info")
            .GetProperty("version").GetString());
        Assert.Single(File.ReadLines(Path.Combine(Repository.Root(), "CHANGELOG.md")),
            line => line.StartsWith($"## {version} ", StringComparison.Ordinal));
    }

    [Fact]
    public async Task Every_example_of_a_request_is_of_the_form_that_the_program_reads()
    {
        var server = await shared.ServerAsync();
        var paths = (await DocumentAsync(server)).GetProperty("paths");
        var forms = server.Services.GetRequiredService<IEnumerable<EndpointDataSource>>()
            .SelectMany(source => source.Endpoints).OfType<RouteEndpoint>()
            .Where(e => e.Metadata.GetMetadata<IAcceptsMetadata>()?.RequestType is not null)
            .ToList();

        Assert.NotEmpty(forms);
        Assert.All(forms, endpoint =>
        {
            var path = endpoint.RoutePattern.RawText!.Replace(":long", "", StringComparison.Ordinal);
            var method = Method(endpoint.Metadata.GetMetadata<IHttpMethodMetadata>()!.HttpMethods.Single());
            var example = paths.GetProperty(path).GetProperty(method).GetProperty("requestBody").GetProperty("content")
                .GetProperty("application/json").GetProperty("example");
            var form = JsonSerializer.Deserialize(example.GetRawText(),
                endpoint.Metadata.GetMetadata<IAcceptsMetadata>()!.RequestType!, ApiJson.Options);
            Validation.Check(server.Services, form!);
        });
    }

    [Fact]
    public async Task Each_operation_stands_in_one_room_of_the_code_and_the_rooms_come_in_their_order()
    {
        var document = await DocumentAsync(await shared.ServerAsync());
        var rooms = document.GetProperty("tags").EnumerateArray().Select(tag => tag.GetProperty("name").GetString()!)
            .ToList();
        var met = document.GetProperty("paths").EnumerateObject().SelectMany(path => path.Value.EnumerateObject())
            .Select(operation => operation.Value.GetProperty("tags").EnumerateArray().Single().GetString()!).ToList();

        Assert.Equal(rooms, met.Distinct());
        Assert.Equal(met.OrderBy(rooms.IndexOf), met);
        Assert.All(rooms, room => Assert.Contains(typeof(Rooms).Assembly.GetTypes(),
            type => type.Namespace == $"CashEvents.Api.{room}"));
        Assert.All(document.GetProperty("tags").EnumerateArray(),
            tag => Assert.EndsWith(".", tag.GetProperty("description").GetString(), StringComparison.Ordinal));
    }

    [Fact]
    public async Task Only_what_tells_of_the_program_itself_needs_no_key()
    {
        var document = await DocumentAsync(await shared.ServerAsync());

        Assert.All(document.GetProperty("paths").EnumerateObject(), path => Assert.All(path.Value.EnumerateObject(),
            operation => Assert.Equal(path.Name is "/health/live" or "/health/ready",
                operation.Value.TryGetProperty("security", out var needs) && needs.GetArrayLength() == 0)));
        Assert.Equal("/", document.GetProperty("servers")[0].GetProperty("url").GetString());
    }

    [Fact]
    public async Task No_decimal_may_be_kept_as_a_binary_fraction()
    {
        var document = await DocumentAsync(await shared.ServerAsync());

        Assert.All(Numbers(document), number =>
            Assert.Equal("decimal", number.TryGetProperty("format", out var format) ? format.GetString() : null));
    }

    private static IEnumerable<JsonElement> Numbers(JsonElement element) => element.ValueKind switch
    {
        JsonValueKind.Object => element.EnumerateObject().Where(p => p.Name != "example").SelectMany(
            p => p.Name == "type" && p.Value.ToString().Contains("number", StringComparison.Ordinal)
                ? [element]
                : Numbers(p.Value)),
        JsonValueKind.Array => element.EnumerateArray().SelectMany(Numbers),
        _ => [],
    };

    [Fact]
    public async Task The_document_has_a_page()
    {
        using var http = new HttpClient();
        var page = await http.GetAsync(new Uri((await shared.ServerAsync()).Address + "/swagger/index.html"));

        Assert.Equal("text/html", page.Content.Headers.ContentType?.MediaType);
    }

    [GeneratedRegex("(?<=[.!?])\\s+(?=[A-Z`\"(])")]
    private static partial Regex Sentence();

    private static string Method(string method) => method.ToLowerInvariant();

    private static async Task<JsonElement> DocumentAsync(RunningServer server)
    {
        using var http = new HttpClient();
        return WholeDocument.Of(await http.GetStringAsync(new Uri(server.Address + "/openapi.json")));
    }

    private static IEnumerable<string> References(JsonElement element) => element.ValueKind switch
    {
        JsonValueKind.Object => element.EnumerateObject()
            .SelectMany(p => p is { Name: "$ref", Value.ValueKind: JsonValueKind.String }
                ? [p.Value.GetString()!]
                : References(p.Value)),
        JsonValueKind.Array => element.EnumerateArray().SelectMany(References),
        _ => [],
    };
}
