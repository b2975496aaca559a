using System.Reflection;

namespace CashEvents.Api.Http;

/// <summary>The program's version, as <c>Directory.Build.props</c> names it.</summary>
internal static class ProgramVersion
{
    /// <summary>Such as <c>0.9.0</c> (Semantic Versioning 2.0.0).</summary>
    public static string Text { get; } =
        typeof(ProgramVersion).Assembly.GetCustomAttribute<AssemblyInformationalVersionAttribute>()!
            .InformationalVersion;
}
