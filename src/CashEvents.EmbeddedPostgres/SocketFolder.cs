using System.Globalization;
using System.Security.Cryptography;
using System.Text;

namespace CashEvents.EmbeddedPostgres;

/// <summary>Where the server's Unix socket can lie.</summary>
internal static class SocketFolder
{
    /// <summary>The port that names the socket's file.</summary>
    public const int Port = 5432;

    // macOS allows 104 bytes with the closing zero, Linux 108.
    private const int LongestPath = 103;

    /// <summary>Whether it is one made by <see cref="NewTemporary"/>, now or by an earlier program.</summary>
    public static bool IsTemporary(string folder, string name) =>
        Path.GetFileName(folder).StartsWith(Prefix(name), StringComparison.Ordinal);

    // A comma parts hosts in a connection string, and a colon a host from its port.
    public static bool CanHold(string folder) =>
        Encoding.UTF8.GetByteCount(string.Create(CultureInfo.InvariantCulture, $"{folder}/.s.PGSQL.{Port}"))
            <= LongestPath
        && !folder.AsSpan().ContainsAny(',', ':');

    /// <summary>A short and plain path that nobody can guess and take before it is made.</summary>
    public static string NewTemporary(string name)
    {
        var own = Prefix(name) + RandomNumberGenerator.GetHexString(16, lowercase: true);
        var folder = Path.Combine(Path.GetTempPath(), own);

        // It goes through a shell to the server.
        var plain = folder.All(letter => char.IsAsciiLetterOrDigit(letter) || letter is '/' or '-' or '_' or '.');
        return plain && CanHold(folder) ? folder : "/tmp/" + own;
    }

    private static string Prefix(string name) => name + "-socket-";
}
