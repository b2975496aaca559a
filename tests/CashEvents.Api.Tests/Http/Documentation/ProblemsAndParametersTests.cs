using System.Text.Json;
using Microsoft.AspNetCore.Routing;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CashEvents.Api.Tests.Http;

/// <summary>
/// The OpenAPI document tells what can go wrong at each address, and what may be sent beside the body.
/// </summary>
public sealed class ProblemsAndParametersTests(SharedServer shared)
{
    [Fact]
    public async Task Every_address_tells_its_problems_with_an_example_that_has_a_code()
    {
        Assert.All(Operations(await DocumentAsync()).Where(o => o.Name.Contains("/api", StringComparison.Ordinal)),
            operation =>
        {
            var problems = operation.Body.GetProperty("responses").EnumerateObject().Where(r => r.Name[0] is '4' or '5')
                .ToList();

            string[] always = ["400", "401", "503"];
            string[] whenAnswering = ["406"];
            string[] whenDeciding = ["409", "422"];
            string[] whenWriting = ["403", "412"];
            string[] expected = [.. always, .. Answers(operation.Body) ? whenAnswering : [],
                .. Decides(operation.Name) ? whenDeciding : [],
                .. Writes(operation.Name) ? whenWriting : []];
            Assert.Subset(problems.Select(p => p.Name).ToHashSet(), expected.ToHashSet());
            Assert.Equal(operation.Body.TryGetProperty("requestBody", out _),
                problems.Select(p => p.Name).Order().Intersect(["413", "415"]).Count() == 2);
            Assert.All(problems, problem =>
            {
                var example = problem.Value.GetProperty("content").GetProperty("application/problem+json")
                    .GetProperty("example");
                Assert.Equal(problem.Name, example.GetProperty("status").GetInt32().ToString());
                Assert.False(string.IsNullOrEmpty(example.GetProperty("code").GetString()));
                Assert.False(string.IsNullOrEmpty(problem.Value.GetProperty("description").GetString()));
            });
        });
    }

    [Fact]
    public async Task Every_parameter_says_what_it_means_and_writes_take_their_headers()
    {
        Assert.All(Operations(await DocumentAsync()).Where(o => o.Name.Contains("/api", StringComparison.Ordinal)),
            operation =>
        {
            var parameters = operation.Body.TryGetProperty("parameters", out var p) ? p.EnumerateArray().ToList() : [];

            Assert.All(parameters, parameter =>
                Assert.False(string.IsNullOrEmpty(parameter.GetProperty("description").GetString())));
            var headers = parameters.Where(h => h.GetProperty("in").GetString() == "header")
                .Select(h => h.GetProperty("name").GetString()!).Order().ToArray();
            string[] expected = operation.Body.GetProperty("responses").TryGetProperty("304", out _) ? ["If-None-Match"]
                : !Writes(operation.Name) ? []
                : operation.Name == "post /api/batches" ? ["If-Match"] : ["Idempotency-Key", "If-Match"];
            Assert.Equal(expected.ToHashSet(), headers.ToHashSet());
        });
    }

    [Fact]
    public async Task Each_address_says_itself_what_its_parameters_mean_and_means_no_other()
    {
        var server = await shared.ServerAsync();
        var paths = (await DocumentAsync()).GetProperty("paths");

        var addresses = server.Services.GetRequiredService<IEnumerable<EndpointDataSource>>()
            .SelectMany(source => source.Endpoints).OfType<RouteEndpoint>()
            .Where(e => e.RoutePattern.RawText!.StartsWith("/api/", StringComparison.Ordinal)
                // Those of the household's page alone stand in no document.
                && e.Metadata.GetMetadata<IExcludeFromDescriptionMetadata>() is null).ToList();
        Assert.NotEmpty(addresses);
        Assert.All(addresses, address =>
        {
            var path = address.RoutePattern.RawText!.Replace(":long", "", StringComparison.Ordinal);
            var method = address.Metadata.GetMetadata<IHttpMethodMetadata>()!.HttpMethods.Single().ToLowerInvariant();
            var shown = paths.GetProperty(path).GetProperty(method).TryGetProperty("parameters", out var parameters)
                ? parameters.EnumerateArray().Where(p => p.GetProperty("in").GetString() != "header")
                    .Select(p => p.GetProperty("name").GetString()!)
                : [];

            Assert.Equal(shown.Order(),
                address.Metadata.GetOrderedMetadata<ParameterMeaning>().Select(said => said.Name).Order());
        });
    }

    // A rebuild, the origins of pages, the calendar's address and what is told write no line, and decide nothing that
    // the book could refuse.
    private static bool Decides(string operation) => !operation.StartsWith("get", StringComparison.Ordinal)
        && operation is not ("post /api/rebuilds" or "put /api/page-origins" or "put /api/notices"
            or "post /api/calendar-address" or "delete /api/calendar-address")
        && !operation.Contains("/api/webhooks", StringComparison.Ordinal);

    // A rehearsal decides as a write does, packings and draw slips read the wishes of the book, and none of them
    // writes. A household that is added has no book before.
    private static bool Writes(string operation) =>
        Decides(operation) && operation is not ("post /api/rehearsals" or "post /api/packings"
            or "post /api/draw-slips" or "post /api/households");

    private static bool Answers(JsonElement operation) => operation.GetProperty("responses").EnumerateObject()
        .Any(r => r.Name[0] == '2' && r.Value.TryGetProperty("content", out _));

    private async Task<JsonElement> DocumentAsync() =>
        WholeDocument.Of((await (await shared.ServerAsync()).Client(null).GetAsync("/openapi.json")).MustBe(200).Text);

    private static IEnumerable<(string Name, JsonElement Body)> Operations(JsonElement document) =>
        document.GetProperty("paths").EnumerateObject()
        .SelectMany(path => path.Value.EnumerateObject()
            .Select(operation => ($"{operation.Name} {path.Name}", operation.Value)));
}
