using System.Text.Json;
using System.Text.RegularExpressions;
using CashEvents.Api.Batches;
using CashEvents.Api.Compartments;
using CashEvents.Api.Counts;
using CashEvents.Api.Fills;
using CashEvents.Api.Households;
using CashEvents.Api.Http;
using CashEvents.Api.Keys;
using CashEvents.Api.Refunds;
using CashEvents.Api.Spends;
using CashEvents.Api.Sweeps;
using CashEvents.Api.Tests.Serving;
using CashEvents.Api.Transfers;
using CashEvents.Api.Wallets;
using FluentValidation;
using Microsoft.AspNetCore.Routing;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CashEvents.Api.Tests.Documentation;

/// <summary>The document at /openapi.json against the program that serves it.</summary>
public sealed partial class OpenApiTests(SharedServer shared)
{
    private static readonly Dictionary<string, Type> _requests = new()
    {
        ["put /api/household"] = typeof(HouseholdRequest),
        ["post /api/wallets"] = typeof(WalletRequest),
        ["post /api/compartments"] = typeof(CompartmentRequest),
        ["patch /api/compartments/{id}"] = typeof(CompartmentChangeRequest),
        ["post /api/fills"] = typeof(FillRequest),
        ["post /api/spends"] = typeof(SpendRequest),
        ["post /api/refunds"] = typeof(RefundRequest),
        ["post /api/transfers"] = typeof(TransferRequest),
        ["post /api/sweeps"] = typeof(SweepRequest),
        ["post /api/counts"] = typeof(CountRequest),
        ["post /api/counts/{id}/settlement"] = typeof(SettlementRequest),
        ["post /api/batches"] = typeof(BatchRequest),
        ["post /api/keys"] = typeof(KeyRequest),
    };

    [Fact]
    public async Task It_is_OpenAPI_3_1_and_needs_no_key()
    {
        var document = await DocumentAsync();

        Assert.StartsWith("3.1.", document.GetProperty("openapi").GetString());
        (await (await shared.ServerAsync()).Client(null).GetAsync("/swagger/index.html")).MustBe(200);
    }

    [Fact]
    public async Task It_has_every_address_that_the_program_serves_and_no_other()
    {
        var server = await shared.ServerAsync();
        var served = server.Services.GetRequiredService<IEnumerable<EndpointDataSource>>().SelectMany(s => s.Endpoints).OfType<RouteEndpoint>()
            .Where(e => e.RoutePattern.RawText!.StartsWith("/api", StringComparison.Ordinal))
            .SelectMany(e => e.Metadata.GetRequiredMetadata<HttpMethodMetadata>().HttpMethods.Select(method => $"{method.ToLowerInvariant()} {Constraint().Replace(e.RoutePattern.RawText!, "}")}"));

        var documented = Operations(await DocumentAsync()).Select(o => o.Name).Where(name => name.Contains("/api", StringComparison.Ordinal));

        Assert.Equal(served.Order(), documented.Order());
    }

    [Fact]
    public async Task Every_address_has_a_summary_and_an_example_of_each_JSON_body_it_takes_and_gives()
    {
        Assert.All(Operations(await DocumentAsync()), operation =>
        {
            Assert.True(operation.Body.GetProperty("summary").GetString()!.Length > 5);
            if (operation.Body.TryGetProperty("requestBody", out var request))
            {
                Assert.True(request.GetProperty("content").GetProperty("application/json").TryGetProperty("example", out _), "request");
            }

            var answers = operation.Body.GetProperty("responses").EnumerateObject().Where(r => r.Name[0] == '2').ToList();
            Assert.NotEmpty(answers);
            Assert.All(answers.Where(a => a.Value.TryGetProperty("content", out _)), answer =>
                Assert.True(answer.Value.GetProperty("content").GetProperty("application/json").TryGetProperty("example", out _), answer.Name));
        });
    }

    [Fact]
    public async Task Every_address_tells_its_problems_with_an_example_that_has_a_code()
    {
        Assert.All(Operations(await DocumentAsync()).Where(o => o.Name.Contains("/api", StringComparison.Ordinal)), operation =>
        {
            var problems = operation.Body.GetProperty("responses").EnumerateObject().Where(r => r.Name[0] is '4' or '5').ToList();

            string[] always = ["400", "401", "503"];
            string[] whenWriting = ["403", "409", "412", "422"];
            Assert.Subset(problems.Select(p => p.Name).ToHashSet(), (operation.Name.StartsWith("get", StringComparison.Ordinal) ? always : [.. always, .. whenWriting]).ToHashSet());
            Assert.All(problems, problem =>
            {
                var example = problem.Value.GetProperty("content").GetProperty("application/problem+json").GetProperty("example");
                Assert.Equal(problem.Name, example.GetProperty("status").GetInt32().ToString());
                Assert.False(string.IsNullOrEmpty(example.GetProperty("code").GetString()));
                Assert.False(string.IsNullOrEmpty(problem.Value.GetProperty("description").GetString()));
            });
        });
    }

    [Fact]
    public async Task Every_example_of_a_request_can_be_read_and_passes_the_check_of_its_form()
    {
        var server = await shared.ServerAsync();
        var examples = Operations(await DocumentAsync())
            .Where(o => o.Body.TryGetProperty("requestBody", out _))
            .ToDictionary(o => o.Name, o => o.Body.GetProperty("requestBody").GetProperty("content").GetProperty("application/json").GetProperty("example").GetRawText());

        Assert.Equal(_requests.Keys.Order(), examples.Keys.Order());
        Assert.All(examples, example =>
        {
            var request = JsonSerializer.Deserialize(example.Value, _requests[example.Key], ApiJson.Options)!;
            Validation.Check(server.Services, request);
            Assert.NotNull(server.Services.GetService(typeof(IValidator<>).MakeGenericType(request.GetType())));
        });
    }

    [Fact]
    public async Task Every_reference_leads_somewhere()
    {
        var document = await DocumentAsync();
        var references = References(document).Distinct().ToList();

        Assert.NotEmpty(references);
        Assert.All(references, reference =>
        {
            var at = document;
            Assert.All(reference.TrimStart('#', '/').Split('/'), step => Assert.True(at.TryGetProperty(step, out at), reference));
        });
    }

    [Fact]
    public async Task Every_parameter_says_what_it_means_and_writes_take_their_headers()
    {
        Assert.All(Operations(await DocumentAsync()).Where(o => o.Name.Contains("/api", StringComparison.Ordinal)), operation =>
        {
            var parameters = operation.Body.TryGetProperty("parameters", out var p) ? p.EnumerateArray().ToList() : [];

            Assert.All(parameters, parameter => Assert.False(string.IsNullOrEmpty(parameter.GetProperty("description").GetString())));
            var headers = parameters.Where(h => h.GetProperty("in").GetString() == "header").Select(h => h.GetProperty("name").GetString()!).Order().ToArray();
            string[] expected = operation.Name.StartsWith("get", StringComparison.Ordinal) ? []
                : operation.Name == "post /api/batches" ? ["If-Match"] : ["Idempotency-Key", "If-Match"];
            Assert.Subset(headers.ToHashSet(), expected.ToHashSet());
        });
    }

    private async Task<JsonElement> DocumentAsync() => (await (await shared.ServerAsync()).Client(null).GetAsync("/openapi.json")).MustBe(200).Json;

    private static IEnumerable<(string Name, JsonElement Body)> Operations(JsonElement document) => document.GetProperty("paths").EnumerateObject()
        .SelectMany(path => path.Value.EnumerateObject().Select(operation => ($"{operation.Name} {path.Name}", operation.Value)));

    private static IEnumerable<string> References(JsonElement element) => element.ValueKind switch
    {
        JsonValueKind.Object => element.EnumerateObject().SelectMany(p => p.Name == "$ref" ? [p.Value.GetString()!] : References(p.Value)),
        JsonValueKind.Array => element.EnumerateArray().SelectMany(References),
        _ => [],
    };

    [GeneratedRegex(":[a-z]+}")]
    private static partial Regex Constraint();
}
