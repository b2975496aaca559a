using System.Runtime.CompilerServices;
using System.Xml.Linq;

namespace CashEvents.Api.Tests.Hosting;

/// <summary>The version as it is named in its one place, Directory.Build.props.</summary>
internal static class NamedVersion
{
    public static string Read() =>
        XDocument.Load(Path.Combine(Root(), "Directory.Build.props")).Descendants("Version").Single().Value;

    /// <summary>The repository's folder.</summary>
    public static string Root([CallerFilePath] string here = "") =>
        Path.GetFullPath(Path.Combine(Path.GetDirectoryName(here)!, "..", "..", "..", ".."));
}
