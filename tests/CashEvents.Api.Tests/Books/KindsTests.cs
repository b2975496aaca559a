using System.Text.RegularExpressions;
using Xunit;

namespace CashEvents.Api.Tests.Books;

/// <summary>
/// What is said of a kind of line in several places is the same everywhere: the name it is stored under, how it is
/// told, and docs/events.md. That a book with every kind can be read everywhere is in EveryKindEverywhereTests.
/// </summary>
public sealed partial class KindsTests
{
    private static readonly Dictionary<string, (string Event, string Fields)> _written = Row()
        .Matches(File.ReadAllText(Path.Combine(AddressesTests.Root, "docs", "events.md")))
        .ToDictionary(m => m.Groups["kind"].Value, m => (m.Groups["event"].Value, m.Groups["fields"].Value));

    public static TheoryData<string> All => [.. LineKinds.Types.Keys.Order(StringComparer.Ordinal)];

    [Fact]
    public void The_page_of_kinds_lists_those_there_are() =>
        Assert.Equal(LineKinds.Types.Keys.Order(StringComparer.Ordinal), _written.Keys.Order(StringComparer.Ordinal));

    [Theory]
    [MemberData(nameof(All))]
    public void The_page_of_kinds_names_the_event_and_each_field_that_is_stored(string kind)
    {
        var type = LineKinds.Types[kind];
        var (name, fields) = _written[kind];

        Assert.Equal(type.Name, name);
        Assert.DoesNotContain(BookJson.Options.GetTypeInfo(type).Properties.Select(p => p.Name),
            field => !fields.Contains($"`{field}`", StringComparison.Ordinal)
                && !(type.IsAssignableTo(typeof(IDatedEvent)) && field is "occurredOn" or "description"));
    }

    [Theory]
    [MemberData(nameof(All))]
    public void A_line_of_each_kind_is_told_with_its_own_fields(string kind) =>
        Assert.StartsWith(kind, LineAnswer.Types[kind].Name, StringComparison.OrdinalIgnoreCase);

    [GeneratedRegex(@"^\| `(?<kind>\w+)` \| (?<event>\w+) \| (?<fields>.*) \|$",
        RegexOptions.Multiline | RegexOptions.ExplicitCapture)]
    private static partial Regex Row();
}
