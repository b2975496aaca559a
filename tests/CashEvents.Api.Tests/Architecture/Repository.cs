using System.Runtime.CompilerServices;
using System.Xml.Linq;

namespace CashEvents.Api.Tests.Architecture;

/// <summary>The repository that the tests were built in.</summary>
internal static class Repository
{
    /// <summary>Its folder.</summary>
    public static string Root() => Path.GetFullPath(Path.Combine(Path.GetDirectoryName(ThisFile())!, "..", "..", ".."));

    /// <summary>The version, as it is named in its one place, Directory.Build.props.</summary>
    public static string Version() =>
        XDocument.Load(Path.Combine(Root(), "Directory.Build.props")).Descendants("Version").Single().Value;

    /// <summary>The pages that people read: README, DEVELOPERS and the like, and all of docs.</summary>
    public static IEnumerable<string> Pages() =>
    [
        .. Directory.EnumerateFiles(Root(), "*.md"),
        .. Directory.EnumerateFiles(Path.Combine(Root(), "docs"), "*.md", SearchOption.AllDirectories),
    ];

    private static string ThisFile([CallerFilePath] string here = "") => here;
}
