using System.Runtime.CompilerServices;
using System.Text.RegularExpressions;
using Microsoft.AspNetCore.Routing;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CashEvents.Api.Tests.Http;

/// <summary>Whoever is told an address can use it: in refusals, in the docs, in the OpenAPI document.</summary>
public sealed partial class AddressesTests(SharedServer shared)
{
    private static readonly string[] _folders = ["src", "docs", "http-examples"];

    internal static string Root { get; } = Here();

    public static TheoryData<Act> Acts => [.. Enum.GetValues<Act>()];

    public static TheoryData<string> Texts =>
    [
        .. _folders.SelectMany(folder => Directory.EnumerateFiles(Path.Combine(Root, folder), "*",
                SearchOption.AllDirectories))
            .Concat(Directory.EnumerateFiles(Root, "*.md"))
            .Where(file => Path.GetExtension(file) is ".cs" or ".md" or ".http" or ".js" or ".html")
            .Select(file => Path.GetRelativePath(Root, file))
            .Where(file => !file.Split(Path.DirectorySeparatorChar)
                .Any(part => part is "bin" or "obj" or "node_modules"))
            .Where(file => Told(File.ReadAllText(Path.Combine(Root, file))).Any()),
    ];

    [Theory]
    [MemberData(nameof(Acts))]
    public async Task What_a_sentence_tells_its_reader_to_do_has_an_address(Act act)
    {
        var (method, path) = Told(Addresses.Of(act)).Single();

        Assert.Contains(await RoutesAsync(), route => route.Method == method && Leads(path, route.Path));
    }

    [Theory]
    [MemberData(nameof(Texts))]
    public async Task Every_address_in_a_text_is_one_of_the_programs(string file)
    {
        var routes = await RoutesAsync();

        Assert.DoesNotContain(Told(await File.ReadAllTextAsync(Path.Combine(Root, file))),
            told => !routes.Any(r => r.Method == told.Method && Leads(told.Path, r.Path)));
    }

    [Fact]
    public async Task Every_address_in_the_document_is_one_of_its_own()
    {
        var routes = await RoutesAsync();
        var document = await (await shared.ServerAsync()).Client(null).GetAsync("/openapi.json");

        Assert.DoesNotContain(Told(document.Text.Replace("\\u0022", "", StringComparison.Ordinal)),
            told => !routes.Any(r => r.Method == told.Method && Leads(told.Path, r.Path)));
    }

    [Fact]
    public void The_domain_names_no_address() => Assert.DoesNotContain(
        Texts.Select(row => row.Data), file => file.StartsWith("src/CashEvents.Domain/", StringComparison.Ordinal));

    [Fact]
    public void A_name_in_an_address_is_escaped() => Assert.Equal(
        "Revoke it with DELETE /api/keys?name=wall%20display, or issue another with POST /api/keys.",
        Addresses.Say(
            $"Revoke it with {Act.RevokeKey.Way("wall display")}, or issue another with {Act.IssueKey.Way()}."));

    [Fact]
    public async Task A_mark_that_was_sent_is_told_as_it_was_sent()
    {
        var household = await shared.HarbourRowAsync();

        var refused = await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/spends",
            """{"compartment": "\u0091NoSuchAct\u0092", "amount": 1.00}"""));

        refused.MustBlame(422, "compartment-unknown", "compartment");
    }

    private static string Here([CallerFilePath] string file = "") =>
        Path.GetFullPath(Path.Combine(Path.GetDirectoryName(file)!, "..", "..", ".."));

    private static IEnumerable<(string Method, string Path)> Told(string text) =>
        Address().Matches(OverTwoLines().Replace(text, " ")).Select(m =>
            (m.Groups["method"].Value, m.Groups["path"].Value.Split('?')[0].TrimEnd('.', ':', '/')));

    private static bool Leads(string told, string route)
    {
        var (asked, there) = (told.Split('/'), route.Split('/'));
        return asked.Length == there.Length
            && asked.Zip(there).All(s => s.First == s.Second || s.Second.StartsWith('{'));
    }

    private async Task<IReadOnlyList<(string Method, string Path)>> RoutesAsync() =>
    [
        // Those of the household's page are not in the document.
        .. (await shared.ServerAsync()).Services.GetServices<EndpointDataSource>().SelectMany(all => all.Endpoints)
            .OfType<RouteEndpoint>().SelectMany(route =>
                (route.Metadata.GetMetadata<IHttpMethodMetadata>()?.HttpMethods ?? []).Select(method =>
                    (method, Constraint().Replace("/" + route.RoutePattern.RawText!.TrimStart('/'), "}")))),
    ];

    // {n:long}
    [GeneratedRegex(@":[a-z]+\}")]
    private static partial Regex Constraint();

    [GeneratedRegex(
        """\b(?<method>GET|POST|PUT|PATCH|DELETE) (?:http://[^/ ]*|\{\{[a-z]+\}\})?(?<path>/(?:[A-Za-z0-9/_.:?=&%-]|\{+[^{}"]*\}+)+)""",
        RegexOptions.ExplicitCapture)]
    private static partial Regex Address();

    // A sentence in the source goes on in its next line.
    [GeneratedRegex(""" "\s+\+ \$?"(?=/)""")]
    private static partial Regex OverTwoLines();
}
