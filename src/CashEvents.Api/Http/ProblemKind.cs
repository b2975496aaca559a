using System.Collections.Frozen;
using System.Text.RegularExpressions;

namespace CashEvents.Api.Http;

/// <summary>
/// A kind of problem: what its code means and how it is mended, as docs/problems.md has it. That page is a part of the
/// program.
/// </summary>
/// <param name="Code">Stable, for programs.</param>
/// <param name="About">The heading that it stands under.</param>
/// <param name="Means">What it means and how to mend it.</param>
public sealed partial record ProblemKind(string Code, string About, string Means)
{
    /// <summary>Where the kinds are told.</summary>
    public const string Root = "/problems";

    /// <summary>All there are, by code.</summary>
    public static FrozenDictionary<string, ProblemKind> All { get; } = Read().ToFrozenDictionary(kind => kind.Code);

    /// <summary>The address by which the type of a problem is named, on the server that answers it.</summary>
    public static string TypeOf(string code) => $"{Root}/{code}";

    /// <summary>The code in words: the same for each problem of the kind.</summary>
    public static string TitleOf(string code) => char.ToUpperInvariant(code[0]) + code[1..].Replace('-', ' ');

    private static IEnumerable<ProblemKind> Read()
    {
        using var page = new StreamReader(typeof(ProblemKind).Assembly.GetManifestResourceStream("problems.md")!);
        var about = "";
        while (page.ReadLine() is { } line)
        {
            if (line.StartsWith("## ", StringComparison.Ordinal))
            {
                about = line[3..];
            }
            else if (Entry().Match(line) is { Success: true } entry)
            {
                yield return new ProblemKind(entry.Groups["code"].Value, about, entry.Groups["means"].Value);
            }
        }
    }

    [GeneratedRegex("^- `(?<code>[a-z0-9-]+)`: (?<means>.+)$")]
    private static partial Regex Entry();
}
