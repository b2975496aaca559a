using System.Text.RegularExpressions;
using Microsoft.CodeAnalysis;
using Microsoft.CodeAnalysis.CSharp;
using Microsoft.CodeAnalysis.CSharp.Syntax;
using Xunit;

namespace CashEvents.Api.Tests.Http;

/// <summary>Each code of a problem is told once, and where its type leads.</summary>
public sealed partial class ProblemKindsTests(SharedServer shared)
{
    // Where a problem is made, and which of what is said there is its code.
    private static readonly Dictionary<string, int> _made = new()
    {
        ["Refusal.Unfit"] = 1,
        ["Refusal.Conflict"] = 0,
        ["Refusal.NotFound"] = 0,
        ["Refusal"] = 1,
        ["Problems.Of"] = 1,
        ["Of"] = 1,
        ["Problem"] = 1,
        ["Unknown"] = 1,
    };

    [Fact]
    public void The_page_tells_each_code_that_the_program_answers_with_and_no_other()
    {
        var answered = Sources().SelectMany(Codes).ToHashSet();

        Assert.True(answered.Count > 150, $"Only {answered.Count} codes were found.");
        Assert.Empty(answered.Except(ProblemKind.All.Keys).Order());
        Assert.Empty(ProblemKind.All.Keys.Except(answered).Order());
    }

    [Fact]
    public async Task The_document_lists_each_code_once()
    {
        var listed = (await (await shared.ServerAsync()).Client(null).GetAsync("/openapi.json")).MustBe(200).Json
            .GetProperty("components").GetProperty("schemas").GetProperty("Problem").GetProperty("properties")
            .GetProperty("code").GetProperty("x-extensible-enum").EnumerateArray().Select(code => code.GetString()!)
            .ToList();

        Assert.Equal(ProblemKind.All.Keys.Order(StringComparer.Ordinal), listed);
    }

    [Fact]
    public async Task The_type_of_a_problem_leads_to_what_it_means_for_programs_and_for_people()
    {
        var household = await shared.HarbourRowAsync();
        var problem = (await household.Keeper.PostAsync("/api/spends", """{"compartment": "ferry-fares", "amount": 8.40}"""))
            .MustBeProblem(409, "not-enough");
        var anybody = (await shared.ServerAsync()).Client(null);
        var type = problem.GetProperty("type").GetString()!;

        var told = (await anybody.GetAsync(type)).MustBe(200).Json;
        var page = (await anybody.GetAsync(type, ("Accept", "text/html,*/*;q=0.8"))).MustBe(200);

        Assert.Equal(type, told.GetProperty("type").GetString());
        Assert.Equal(problem.GetProperty("title").GetString(), told.GetProperty("title").GetString());
        Assert.Equal("text/html", page.ContentType);
        Assert.Contains($"<h1>{told.GetProperty("title").GetString()}</h1>", page.Text, StringComparison.Ordinal);
        Assert.Equal(ProblemKind.All.Count, (await anybody.GetAsync("/problems")).MustBe(200).Json.GetArrayLength());
        (await anybody.GetAsync("/problems/no-such-thing")).MustBeProblem(404, "address-unknown");
    }

    private static IEnumerable<SyntaxNode> Sources() =>
        Directory.EnumerateFiles(Path.Combine(Repository.Root(), "src"), "*.cs", SearchOption.AllDirectories)
            .Where(file => !file.Contains($"{Path.DirectorySeparatorChar}obj{Path.DirectorySeparatorChar}",
                StringComparison.Ordinal))
            .Select(file => CSharpSyntaxTree.ParseText(File.ReadAllText(file)).GetRoot());

    private static IEnumerable<string> Codes(SyntaxNode file)
    {
        foreach (var node in file.DescendantNodes())
        {
            var (what, said) = node switch
            {
                InvocationExpressionSyntax call => (call.Expression.ToString(), call.ArgumentList),
                ObjectCreationExpressionSyntax made => (made.Type.ToString(), made.ArgumentList),
                ImplicitObjectCreationExpressionSyntax made when made.ToString().Contains("RefusalSort.",
                    StringComparison.Ordinal) => ("Refusal", made.ArgumentList),
                _ => ("", null),
            };
            // An id of a label is made in one place, of three sorts of things.
            if (what.EndsWith("NewId", StringComparison.Ordinal) && said?.Arguments.Count == 3
                && said.Arguments[2].Expression is LiteralExpressionSyntax of)
            {
                yield return $"{of.Token.ValueText}-taken";
            }

            if (said is not null && _made.TryGetValue(what, out var place) && said.Arguments.Count > place)
            {
                foreach (var code in said.Arguments[place].DescendantNodes().OfType<LiteralExpressionSyntax>()
                    .Where(literal => literal.IsKind(SyntaxKind.StringLiteralExpression)
                        && !literal.Parent.IsKind(SyntaxKind.EqualsExpression))
                    .Select(literal => literal.Token.ValueText).Where(text => Code().IsMatch(text)))
                {
                    yield return code;
                }
            }

            // A code that several places share is a constant.
            if (node is FieldDeclarationSyntax field && field.Modifiers.Any(SyntaxKind.ConstKeyword)
                && field.Declaration.Variables is [{ Identifier.Text: "DoesNotFit" or "KeyReused" } named]
                && named.Initializer!.Value is LiteralExpressionSyntax value)
            {
                yield return value.Token.ValueText;
            }
        }
    }

    [GeneratedRegex("^[a-z]+(-[a-z0-9]+)*$")]
    private static partial Regex Code();
}
