using System.Runtime.CompilerServices;
using Xunit;

namespace CashEvents.Api.Tests.Books;

/// <summary>
/// docs/events.md is what someone reads who queries the events table; it must name every kind and field that is stored.
/// </summary>
public sealed class EventsPageTests
{
    public static TheoryData<string> Kinds => [.. LineKinds.Types.Keys];

    [Theory]
    [MemberData(nameof(Kinds))]
    public void Every_kind_of_line_is_on_the_page_with_its_event_and_fields(string kind)
    {
        var type = LineKinds.Types[kind];
        var row = Assert.Single(File.ReadAllLines(Page()),
            line => line.StartsWith($"| `{kind}` |", StringComparison.Ordinal));

        Assert.Contains($"| {type.Name} |", row, StringComparison.Ordinal);
        Assert.All(
            BookJson.Options.GetTypeInfo(type).Properties.Select(p => p.Name),
            field => Assert.Contains($"`{field}`", row, StringComparison.Ordinal));
    }

    [Fact]
    public void The_page_has_no_kind_that_is_not_stored() => Assert.Equal(
        LineKinds.Types.Count,
        File.ReadAllLines(Page()).Count(line => line.StartsWith("| `", StringComparison.Ordinal)));

    private static string Page([CallerFilePath] string here = "") =>
        Path.Combine(Path.GetDirectoryName(here)!, "..", "..", "..", "..", "docs", "events.md");
}
