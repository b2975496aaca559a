using Xunit;

namespace CashEvents.Api.Tests.Http;

/// <summary>
/// The document stands in the repository too, so that a change of what others rely on is seen before it lands.
/// </summary>
public sealed class ContractTests(SharedServer shared, DemoServer demo)
{
    private const string Renew = "CASHEVENTS_RENEW_CONTRACT";

    // Whoever reads it whole pays for it: raised for the feed, notices and webhooks.
    private const int MostBytes = 420 * 1024;

    private static string File => Path.Combine(Repository.Root(), "docs", "openapi.json");

    [Fact]
    public async Task The_document_in_the_repository_is_the_one_that_the_server_writes()
    {
        var written = (await (await shared.ServerAsync()).Client(null).GetAsync("/openapi.json")).MustBe(200).Text;
        if (Environment.GetEnvironmentVariable(Renew) is { Length: > 0 })
        {
            await System.IO.File.WriteAllTextAsync(File, written, TestContext.Current.CancellationToken);
        }

        var kept = await System.IO.File.ReadAllTextAsync(File, TestContext.Current.CancellationToken);
        Assert.True(kept == written, $"docs/openapi.json is not what the server writes. If the change is meant, see "
            + $"docs/contract.md, run this test with {Renew}=1 and commit the file. First other line:\n"
            + FirstOther(kept, written));
    }

    [Fact]
    public async Task The_document_is_no_larger_than_420_KB()
    {
        var size = System.Text.Encoding.UTF8.GetByteCount(
            (await (await shared.ServerAsync()).Client(null).GetAsync("/openapi.json")).MustBe(200).Text);

        Assert.True(size <= MostBytes, $"{size} bytes");
    }

    [Fact]
    public async Task The_headers_of_real_answers_are_those_that_the_document_declares()
    {
        var household = await demo.DemoAsync();
        foreach (var operation in (await demo.OperationsAsync()).Where(o => o.IsOffered))
        {
            var reply = await operation.SendAsync(household.Keeper);
            var answer = operation.Shown.GetProperty("responses").GetProperty($"{reply.Status}");
            var declared = answer.TryGetProperty("headers", out var headers)
                ? headers.EnumerateObject().Select(header => header.Name).ToHashSet()
                : [];

            Assert.True((declared.Contains("ETag"), declared.Contains("Location"))
                == (reply.ETag is not null, reply.Headers.ContainsKey("Location")), $"{operation}: ETag or Location");
            Assert.True(declared.Contains("Link") || !reply.Headers.ContainsKey("Link"), $"{operation}: Link");
        }
    }

    [Fact]
    public async Task Each_other_form_of_an_answer_has_an_address_of_its_own()
    {
        var household = await demo.DemoAsync();
        var tried = 0;
        foreach (var operation in (await demo.OperationsAsync()).Where(o => o.IsOffered && o.Method == "GET"
            && o.Path.StartsWith("/api/", StringComparison.Ordinal)))
        {
            foreach (var (form, under) in new[] { ("text/csv", "/api/csv"), ("text/html", "/api/print") })
            {
                var reply = await household.Keeper.GetAsync(under + operation.Address()["/api".Length..]);
                if (operation.Forms.Contains(form))
                {
                    Assert.Equal((200, form), (reply.Status, reply.ContentType));
                    var negotiated = await household.Keeper.GetAsync(operation.Address(), ("Accept", form));
                    Assert.Equal(negotiated.Text, reply.Text);
                    tried++;
                }
                else
                {
                    reply.MustBeProblem(404, "address-unknown");
                }
            }
        }

        Assert.True(tried > 20, $"Only {tried} were tried.");
        var pages = (await household.Keeper.GetAsync("/api/csv/lines?limit=1")).MustBe(200);
        Assert.Contains("/api/csv/lines?", pages.Headers["Link"], StringComparison.Ordinal);
        await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/csv/spends",
            """{"compartment": "ferry-fares", "amount": 1.00}"""));
    }

    private static string FirstOther(string kept, string written) => written.Split('\n').Zip(kept.Split('\n'))
        .Where(lines => lines.First != lines.Second).Select(lines => $"+ {lines.First}\n- {lines.Second}")
        .FirstOrDefault() ?? "one has more lines";
}
