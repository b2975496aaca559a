using System.Text.RegularExpressions;
using Xunit;

namespace CashEvents.Api.Tests.Architecture;

/// <summary>Pages stay short enough to be read, and lead where they say.</summary>
public sealed partial class PagesTests
{
    [Fact]
    public void The_readme_has_at_most_900_words() =>
        Assert.InRange(Words(File.ReadAllText(Path.Combine(Repository.Root(), "README.md"))), 300, 900);

    [Fact]
    public void Each_decision_has_at_most_60_words()
    {
        var decisions = Directory.EnumerateFiles(Path.Combine(Repository.Root(), "docs", "decisions"), "*.md")
            .SelectMany(File.ReadLines).Where(line => line.StartsWith("- **", StringComparison.Ordinal)).ToList();

        Assert.NotEmpty(decisions);
        Assert.All(decisions, decision => Assert.InRange(Words(decision[2..]), 8, 60));
    }

    [Fact]
    public void Every_link_to_a_file_leads_to_one()
    {
        var links = Repository.Pages().SelectMany(page => Link().Matches(File.ReadAllText(page))
            .Select(link => (Page: page, To: link.Groups[1].Value))).ToList();

        Assert.NotEmpty(links);
        Assert.All(links, link => Assert.True(
            Path.Exists(Path.Combine(Path.GetDirectoryName(link.Page)!, link.To)),
            $"{link.Page} leads to {link.To}, which is not there."));
    }

    private static int Words(string text) => Word().Count(text);

    [GeneratedRegex(@"\S+")]
    private static partial Regex Word();

    [GeneratedRegex(@"\]\((?!https?:)([^)#\s]+)(?:#[^)]*)?\)")]
    private static partial Regex Link();
}
