using System.Globalization;
using System.Text.RegularExpressions;

namespace CashEvents.EmbeddedPostgres;

/// <summary>The programs of one PostgreSQL installation.</summary>
internal sealed partial record PostgresBinaries(string Folder, Version Version)
{
    /// <summary>Older ones are not taken.</summary>
    public const int OldestMajor = 13;

    public string InitDb => Path.Combine(Folder, Executable("initdb"));

    public string PgCtl => Path.Combine(Folder, Executable("pg_ctl"));

    /// <summary>Finds the newest installed server that fits the cluster, or else unpacks one with npm.</summary>
    /// <param name="options">Where to look.</param>
    /// <param name="user">Who must be able to run it.</param>
    /// <param name="clusterMajor">The major version that made the cluster; null when there is none yet.</param>
    /// <param name="cancellationToken">Stops the search.</param>
    /// <exception cref="PostgresNotFoundException">Nothing fits.</exception>
    public static async Task<PostgresBinaries> FindAsync(PrivatePostgresOptions options, ServerUser user,
        int? clusterMajor, CancellationToken cancellationToken)
    {
        var major = clusterMajor ?? options.Major;
        var installed = await ReadVersionsAsync(options.BinaryFolders ?? InstalledFolders(), user, cancellationToken)
            .ConfigureAwait(false);
        if (Newest(installed, major) is { } found)
            return found;

        var package = NpmPackage.ForThisMachine(options.UnpackFolder);
        var unpacked = await ReadVersionsAsync(package?.UnpackedFolders() ?? [], user, cancellationToken)
            .ConfigureAwait(false);
        if (Newest(unpacked, major) is { } once)
            return once;

        string? npmFailure = null;
        if (options.UnpackWithNpm && package is not null)
        {
            npmFailure = await package.UnpackAsync(major, cancellationToken).ConfigureAwait(false);
            unpacked = await ReadVersionsAsync(package.UnpackedFolders(), user, cancellationToken)
                .ConfigureAwait(false);
            if (Newest(unpacked, major) is { } fresh)
                return fresh;
        }

        var others = string.Join(", ",
            installed.Concat(unpacked).Select(other => $"{other.Version} in {other.Folder}"));
        var missing = (clusterMajor, major) switch
        {
            (null, null) => "No PostgreSQL server was found on this machine"
                + (others.Length > 0 ? $" that is version {OldestMajor} or newer" : ""),
            (null, _) => $"No PostgreSQL {major} was found on this machine",
            _ => $"The cluster in {options.DataFolder} was made by PostgreSQL {major}, and no PostgreSQL {major} was "
                + "found on this machine",
        };
        var install = major is null ? "" : $" Install it, as with \"apt install postgresql-{major}\".";
        throw new PostgresNotFoundException(
            $"{missing}{(others.Length > 0 ? $" (found {others})" : "")}.{install}"
                + $"{(npmFailure is null ? "" : $" Unpacking one with npm failed: {npmFailure}")}"
                + $"{Environment.NewLine}{options.WaysToAServer}");
    }

    /// <summary>Whether a folder has all the programs needed.</summary>
    public static bool AreIn(string folder) =>
        ((string[])["postgres", "initdb", "pg_ctl"]).All(name => File.Exists(Path.Combine(folder, Executable(name))));

    /// <summary>PATH, then the places where systems and installers put PostgreSQL.</summary>
    private static IReadOnlyList<string> InstalledFolders()
    {
        var path = (Environment.GetEnvironmentVariable("PATH") ?? "")
            .Split(Path.PathSeparator, StringSplitOptions.RemoveEmptyEntries);
        string[] places = OperatingSystem.IsWindows()
            ? [Path.Combine(Environment.GetFolderPath(Environment.SpecialFolder.ProgramFiles), "PostgreSQL", "*",
                "bin")]
            :
            [
                "/usr/lib/postgresql/*/bin", "/usr/pgsql-*/bin", "/usr/libexec/postgresql*", "/usr/local/pgsql/bin",
                "/opt/homebrew/opt/postgresql*/bin", "/usr/local/opt/postgresql*/bin",
                "/home/linuxbrew/.linuxbrew/opt/postgresql*/bin",
                "/Library/PostgreSQL/*/bin", "/Applications/Postgres.app/Contents/Versions/*/bin",
            ];
        return [.. path, .. places.SelectMany(Expand)];
    }

    /// <summary>The folders that a path with at most one <c>*</c> stands for.</summary>
    internal static IEnumerable<string> Expand(string pattern)
    {
        var star = pattern.IndexOf('*', StringComparison.Ordinal);
        if (star < 0)
            return Directory.Exists(pattern) ? [pattern] : [];

        var from = pattern.LastIndexOfAny(['/', '\\'], star);
        var to = pattern.IndexOfAny(['/', '\\'], star);
        var parent = pattern[..from];
        var name = to < 0 ? pattern[(from + 1)..] : pattern[(from + 1)..to];
        var rest = to < 0 ? "" : pattern[(to + 1)..];
        return Directory.Exists(parent)
            ? Directory.EnumerateDirectories(parent, name).Select(folder => Path.Combine(folder, rest))
                .Where(Directory.Exists)
            : [];
    }

    private static async Task<List<PostgresBinaries>> ReadVersionsAsync(IEnumerable<string> folders, ServerUser user,
        CancellationToken cancellationToken)
    {
        var found = new List<PostgresBinaries>();
        foreach (var folder in folders.Select(Real).OfType<string>().Distinct())
        {
            // Run by the server's own user, so that a copy which that user can't run is passed over.
            var command = new Command(Path.Combine(folder, Executable("postgres")), "--version")
            {
                User = user.Name,
                WorkingFolder = Path.GetPathRoot(folder)
            };
            var answer = await command.RunAsync(cancellationToken).ConfigureAwait(false);
            if (answer.Succeeded && VersionAnswer().Match(answer.Output) is { Success: true } match)
                found.Add(new PostgresBinaries(folder,
                    new Version(Number(match.Groups["major"]), Number(match.Groups["minor"]))));
        }

        return found;

        static int Number(Group group) => group.Success ? int.Parse(group.Value, CultureInfo.InvariantCulture) : 0;
    }

    private static PostgresBinaries? Newest(IEnumerable<PostgresBinaries> found, int? clusterMajor) =>
        found.Where(binaries => clusterMajor is { } major
            ? binaries.Version.Major == major
            : binaries.Version.Major >= OldestMajor)
            .MaxBy(binaries => binaries.Version);

    /// <summary>
    /// The folder with all the programs: beside the file that a lone link such as /usr/local/bin/postgres leads to, or
    /// this one.
    /// </summary>
    private static string? Real(string folder)
    {
        try
        {
            var postgres = new FileInfo(Path.Combine(folder, Executable("postgres")));
            if (!postgres.Exists)
                return null;

            var target = postgres.ResolveLinkTarget(returnFinalTarget: true)?.FullName;
            if (target is not null && Path.GetDirectoryName(target) is { } beside && AreIn(beside))
                return beside;
            return AreIn(folder) ? Path.GetFullPath(folder) : null;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            return null;
        }
    }

    private static string Executable(string name) => OperatingSystem.IsWindows() ? name + ".exe" : name;

    [GeneratedRegex(@"\) (?<major>\d+)(\.(?<minor>\d+))?")]
    private static partial Regex VersionAnswer();
}
