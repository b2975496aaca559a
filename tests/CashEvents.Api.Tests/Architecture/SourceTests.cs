using System.Runtime.CompilerServices;
using Microsoft.CodeAnalysis;
using Microsoft.CodeAnalysis.CSharp;
using Microsoft.CodeAnalysis.CSharp.Syntax;
using Xunit;

namespace CashEvents.Api.Tests.Architecture;

/// <summary>The program's text can be read without turning the page or the head.</summary>
public sealed class SourceTests
{
    private const int WidestLine = 120;
    private const int LongestMember = 70;

    private static readonly string[] _projects =
    [
        "CashEvents.Domain", "CashEvents.Store", "CashEvents.Api", "CashEvents.Domain.Tests", "CashEvents.Api.Tests",
        "CashEvents.Benchmarks", "CashEvents.EmbeddedPostgres", "CashEvents.EmbeddedPostgres.Tests",
        "CashEvents.Client", "CashEvents.Cash", "CashEvents.Cash.Tests", "CashEvents.Sheets",
    ];

    private static readonly Lazy<IReadOnlyList<(string Path, SyntaxTree Tree)>> _files = new(() =>
        [.. new[] { "src", "tests" }.SelectMany(part => FilesOf(Path.Combine(Root(), part)))]);

    [Fact]
    public void No_line_is_wider_than_120_columns() => MustBeNone(
        from file in _files.Value
        let excused = LinesOfRawText(file.Tree)
        from line in file.Tree.GetText().Lines
        where line.Span.Length > WidestLine && !excused.Contains(line.LineNumber) && !IsOneLongText(file.Tree, line)
        select $"{file.Path}:{line.LineNumber + 1} has {line.Span.Length} columns");

    [Fact]
    public void No_member_is_longer_than_70_lines() => MustBeNone(
        from file in _files.Value
        from code in file.Tree.GetRoot().DescendantNodes().Where(HoldsCode)
        let lines = file.Tree.GetLineSpan(code.Span)
        let length = lines.EndLinePosition.Line - lines.StartLinePosition.Line + 1
        where length > LongestMember
        select $"{file.Path}:{lines.StartLinePosition.Line + 1} has {length} lines: {FirstLine(code)}");

    /// <summary>What would make these tests pass without looking.</summary>
    [Fact]
    public void All_projects_are_looked_at() => Assert.All(_projects,
        project => Assert.Contains(_files.Value, file => file.Path.Split('/')[1] == project));

    [Theory]
    [InlineData("class A { string B => \"\"\"\n{0}\n\"\"\"; }", false)]
    [InlineData("class A { string B => $\"\"\"\n{0}\n\"\"\"; }", false)]
    [InlineData("class A { string B =>\n    \"{0}\"; }", false)]
    [InlineData("class A { string B =>\n    \"{0}\" + \"{0}\"; }", true)]
    [InlineData("class A { string B =>\n    $\"{0}\"; }", true)]
    [InlineData("class A { int {0}; }", true)]
    [InlineData("class A { // {0}\n}", true)]
    public void A_wide_line_is_excused_only_where_it_is_one_text(string form, bool isTooWide)
    {
        var tree = CSharpSyntaxTree.ParseText(
            form.Replace("{0}", new string('x', WidestLine + 1), StringComparison.Ordinal));

        Assert.Equal(isTooWide, tree.GetText().Lines.Any(line => line.Span.Length > WidestLine
            && !LinesOfRawText(tree).Contains(line.LineNumber) && !IsOneLongText(tree, line)));
    }

    private static void MustBeNone(IEnumerable<string> offenders)
    {
        var found = offenders.ToList();
        Assert.True(found.Count == 0, $"{found.Count} of them:\n{string.Join('\n', found)}");
    }

    // A table of data is as long as what it lists, but what is done in one is code like any other.
    private static bool HoldsCode(SyntaxNode node) => node switch
    {
        FieldDeclarationSyntax or PropertyDeclarationSyntax { Initializer: not null } => false,
        BaseTypeDeclarationSyntax or BaseNamespaceDeclarationSyntax or GlobalStatementSyntax => false,
        MemberDeclarationSyntax or AnonymousFunctionExpressionSyntax => true,
        _ => false,
    };

    private static string FirstLine(SyntaxNode code) => code.ToString().Split('\n')[0];

    private static HashSet<int> LinesOfRawText(SyntaxTree tree) =>
    [
        .. tree.GetRoot().DescendantNodes().Where(IsRawText).Select(text => tree.GetLineSpan(text.Span))
            .SelectMany(span => Enumerable.Range(span.StartLinePosition.Line,
                span.EndLinePosition.Line - span.StartLinePosition.Line + 1)),
    ];

    private static bool IsRawText(SyntaxNode node) => node switch
    {
        LiteralExpressionSyntax literal => literal.Token.Kind() is SyntaxKind.SingleLineRawStringLiteralToken
            or SyntaxKind.MultiLineRawStringLiteralToken or SyntaxKind.Utf8SingleLineRawStringLiteralToken
            or SyntaxKind.Utf8MultiLineRawStringLiteralToken,
        InterpolatedStringExpressionSyntax text => text.StringStartToken.Kind()
            is SyntaxKind.InterpolatedSingleLineRawStringStartToken
            or SyntaxKind.InterpolatedMultiLineRawStringStartToken,
        _ => false,
    };

    // A row of figures, or an expression to match: beside one such text there is no room for a second.
    private static bool IsOneLongText(SyntaxTree tree, Microsoft.CodeAnalysis.Text.TextLine line)
    {
        var texts = tree.GetRoot().DescendantTokens(line.Span)
            .Where(token => token.IsKind(SyntaxKind.StringLiteralToken) && line.Span.Contains(token.Span)).ToList();
        var indent = line.ToString().TakeWhile(char.IsWhiteSpace).Count();
        return texts is [var text] && indent + text.Span.Length > WidestLine - "+ ),".Length;
    }

    private static IEnumerable<(string Path, SyntaxTree Tree)> FilesOf(string folder) =>
        Directory.EnumerateFiles(folder, "*.cs", SearchOption.AllDirectories)
            .Select(path => (Full: path, Name: Path.GetRelativePath(Root(), path).Replace('\\', '/')))
            .Where(file => !file.Name.Split('/').Any(step => step is "bin" or "obj"))
            .OrderBy(file => file.Name, StringComparer.Ordinal)
            .Select(file => (file.Name, CSharpSyntaxTree.ParseText(File.ReadAllText(file.Full))));

    private static string Root([CallerFilePath] string here = "") =>
        Path.GetFullPath(Path.Combine(Path.GetDirectoryName(here)!, "..", "..", ".."));
}
