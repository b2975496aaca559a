using System.Collections;
using System.Diagnostics;

namespace CashEvents.EmbeddedPostgres;

/// <summary>
/// What a tool gets to know of the program's environment: only what is named here. The rest is the program's own
/// affair, keys and passwords among it, and other users of the machine may be able to read a tool's environment.
/// </summary>
internal static class CleanEnvironment
{
    // Where programs, libraries and room for temporary files are; the Windows ones are needed by any program there.
    private static readonly HashSet<string> _forAll = new(StringComparer.OrdinalIgnoreCase)
    {
        "PATH", "LD_LIBRARY_PATH", "DYLD_LIBRARY_PATH", "TMPDIR", "TEMP", "TMP", "TZ",
        "SystemRoot", "SystemDrive", "windir", "ComSpec", "PATHEXT", "ProgramFiles", "ProgramData",
        "NUMBER_OF_PROCESSORS", "PROCESSOR_ARCHITECTURE",
    };

    // Where npm has its settings, and how it gets to the registry; npm_config_* are settings too.
    private static readonly HashSet<string> _forNpm = new(StringComparer.OrdinalIgnoreCase)
    {
        "HOME", "USERPROFILE", "APPDATA", "LOCALAPPDATA", "NPM_TOKEN",
        "HTTP_PROXY", "HTTPS_PROXY", "ALL_PROXY", "NO_PROXY", "NODE_EXTRA_CA_CERTS", "SSL_CERT_FILE", "SSL_CERT_DIR",
    };

    /// <summary>Leaves a tool only what it needs, and the language that its answers are read in.</summary>
    /// <param name="start">How the tool is started.</param>
    /// <param name="npm">Whether it is npm, which needs its own settings too.</param>
    public static void Apply(ProcessStartInfo start, bool npm)
    {
        start.Environment.Clear();
        foreach (DictionaryEntry variable in Environment.GetEnvironmentVariables())
        {
            var name = (string)variable.Key;
            if (_forAll.Contains(name)
                || (npm && (_forNpm.Contains(name)
                    || name.StartsWith("npm_config_", StringComparison.OrdinalIgnoreCase))))
                start.Environment[name] = (string?)variable.Value;
        }

        start.Environment["LC_ALL"] = "C";
    }
}
