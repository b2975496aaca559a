using System.Text.Json;
using Xunit;

namespace CashEvents.EmbeddedPostgres.Tests;

public sealed class PostgresBinariesTests : IDisposable
{
    private static CancellationToken Stop => TestContext.Current.CancellationToken;
    private readonly TemporaryDataFolder _folder = new();

    public PostgresBinariesTests() => Directory.CreateDirectory(_folder.Path);

    public void Dispose() => _folder.Dispose();

    [Fact]
    public async Task Nothing_found_names_the_ways_on()
    {
        var missing = await Assert.ThrowsAsync<PostgresNotFoundException>(() => FindAsync([]));

        Assert.StartsWith("No PostgreSQL server was found on this machine.", missing.Message);
        Assert.Contains("apt install postgresql", missing.Message);
    }

    [Fact]
    public async Task A_lone_link_leads_to_the_folder_with_all_programs()
    {
        Assert.SkipWhen(OperatingSystem.IsWindows(), "Windows links no programs.");
        var (installation, links) = (NewFolder("installation"), NewFolder("links"));
        WritePrograms(installation, "17.5");
        File.CreateSymbolicLink(Path.Combine(links, "postgres"), Path.Combine(installation, "postgres"));

        var found = await FindAsync([links]);

        Assert.Equal(installation, found.Folder);
        Assert.Equal(new Version(17, 5), found.Version);
    }

    [Fact]
    public async Task The_newest_version_is_taken()
    {
        Assert.SkipWhen(OperatingSystem.IsWindows(), "The stand-ins are shell scripts.");
        string[] folders = [NewInstallation("9.6.24"), NewInstallation("15.4"), NewInstallation("16.1 (Debian 16.1-1)"),
            NewInstallation("16.0")];

        Assert.Equal(new Version(16, 1), (await FindAsync(folders)).Version);
    }

    [Fact]
    public async Task A_version_too_old_is_not_taken_but_named()
    {
        Assert.SkipWhen(OperatingSystem.IsWindows(), "The stand-ins are shell scripts.");

        var missing = await Assert.ThrowsAsync<PostgresNotFoundException>(() => FindAsync([NewInstallation("9.6.24")]));

        Assert.Contains("9.6", missing.Message);
        Assert.Contains("13 or newer", missing.Message);
    }

    [Fact]
    public async Task A_cluster_gets_the_version_that_made_it()
    {
        Assert.SkipWhen(OperatingSystem.IsWindows(), "The stand-ins are shell scripts.");
        string[] folders = [NewInstallation("15.4"), NewInstallation("17.1")];

        Assert.Equal(15, (await FindAsync(folders, clusterMajor: 15)).Version.Major);

        var missing = await Assert.ThrowsAsync<PostgresNotFoundException>(() => FindAsync(folders, clusterMajor: 16));
        Assert.Contains("made by PostgreSQL 16", missing.Message);
        Assert.Contains("15.4", missing.Message);
        Assert.Contains("17.1", missing.Message);
        Assert.Contains("apt install postgresql", missing.Message);
    }

    [Fact]
    public async Task A_broken_or_partial_installation_is_passed_over()
    {
        Assert.SkipWhen(OperatingSystem.IsWindows(), "The stand-ins are shell scripts.");
        var (broken, partial) = (NewInstallation("18.0"), NewInstallation("18.1"));
        await File.WriteAllTextAsync(Path.Combine(broken, "postgres"), "#!/bin/sh\nexit 127\n", Stop);
        File.Delete(Path.Combine(partial, "initdb"));

        Assert.Equal(new Version(14, 2),
            (await FindAsync([broken, partial, NewInstallation("14.2"),
                Path.Combine(_folder.Path, "absent")])).Version);
    }

    [Fact]
    public void A_star_stands_for_each_folder()
    {
        var (one, two) = (NewFolder("15/bin"), NewFolder("17/bin"));
        NewFolder("18/lib");

        Assert.Equal([one, two], PostgresBinaries.Expand(Path.Combine(_folder.Path, "*", "bin")).Order());
        Assert.Equal([NewFolder("libexec16")], PostgresBinaries.Expand(Path.Combine(_folder.Path, "libexec*")));
        Assert.Empty(PostgresBinaries.Expand(Path.Combine(_folder.Path, "absent", "*", "bin")));
    }

    [Fact]
    [Trait("Category", "npm")]
    public async Task Npm_unpacks_a_server_once_and_it_runs()
    {
        Assert.SkipUnless(await HasNpmAsync(), "npm isn't here.");
        using var folder = new TemporaryDataFolder();
        var options = new PrivatePostgresOptions { DataFolder = folder.Path, Durable = false, BinaryFolders = [] };
        Version unpacked;
        await using (var server = await StartOrSkipAsync(options))
        {
            unpacked = server.Version;
            Assert.StartsWith($"PostgreSQL {unpacked}", await server.AskAsync("SELECT version()"));
        }

        await using var again = await PrivatePostgres.StartAsync(options with { UnpackWithNpm = false },
            cancellationToken: Stop);
        Assert.Equal(unpacked, again.Version);
    }

    [Theory]
    // As the package lists them: all marked as betas of its packing, and 17.10 after 17.9.
    [InlineData("18.4.0-beta.17", null, "17.9.0-beta.17", "17.10.0-beta.17", "18.3.0-beta.16", "18.4.0-beta.17")]
    [InlineData("17.10.0-beta.17", 17, "17.9.0-beta.17", "17.10.0-beta.17", "18.4.0-beta.17")]
    [InlineData("18.3.0-beta.17", 18, "18.3.0-beta.9", "18.3.0-beta.17", "18.3.0-beta.16")]
    [InlineData("16.1.0", null, "16.1.0", "16.2.0-beta.1", "18.4.0-beta.17")]
    [InlineData("16.2.0-beta.1", 16, "16.2.0-alpha.7", "16.2.0-beta.1", "17.4.0")]
    [InlineData(null, 16, "17.9.0-beta.17", "18.4.0-beta.17")]
    [InlineData("12.22.0-beta.15", 12, "12.22.0-beta.15")]
    [InlineData(null, null, "12.22.0-beta.15")]
    [InlineData(null, null)]
    public void Of_npms_versions_the_newest_for_the_cluster_is_taken_and_one_that_is_no_beta_first(string? taken,
        int? clusterMajor, params string[] published) =>
        Assert.Equal(taken, NpmPackage.Newest(JsonSerializer.Serialize(published), clusterMajor));

    [Fact]
    public void A_single_version_is_listed_alone() =>
        Assert.Equal("18.4.0", NpmPackage.Newest("\"18.4.0\"\n", 18));

    [Fact]
    public void Library_links_are_made_where_npm_runs_no_scripts()
    {
        Assert.SkipWhen(OperatingSystem.IsWindows(), "Its package has no links.");
        var native = NewFolder("native");
        File.WriteAllText(Path.Combine(NewFolder("native/lib"), "libpq.so.5.18"), "library");
        File.WriteAllText(Path.Combine(native, "pg-symlinks.json"),
            """[{"source":"native/lib/libpq.so.5.18","target":"native/lib/libpq.so"}]""");

        NpmPackage.LinkLibraries(native);
        NpmPackage.LinkLibraries(native);

        var link = new FileInfo(Path.Combine(native, "lib", "libpq.so"));
        Assert.Equal("libpq.so.5.18", link.LinkTarget);
        Assert.Equal("library", File.ReadAllText(link.FullName));
    }

    private static async Task<PrivatePostgres> StartOrSkipAsync(PrivatePostgresOptions options)
    {
        try
        {
            return await PrivatePostgres.StartAsync(options, cancellationToken: Stop);
        }
        catch (PostgresNotFoundException e) when (e.Message.Contains("npm failed", StringComparison.Ordinal)
            && e.Message.Contains("network", StringComparison.OrdinalIgnoreCase))
        {
            Assert.Skip("npm reaches no registry: " + e.Message);
            throw;
        }
    }

    private static async Task<bool> HasNpmAsync() =>
        (await new Command(OperatingSystem.IsWindows() ? "npm.cmd" : "npm", "--version").RunAsync(Stop)).Succeeded;

    private Task<PostgresBinaries> FindAsync(IReadOnlyList<string> folders, int? clusterMajor = null) =>
        PostgresBinaries.FindAsync(
        new PrivatePostgresOptions { DataFolder = _folder.Path, BinaryFolders = folders, UnpackWithNpm = false },
        new ServerUser(Name: null),
        clusterMajor,
        Stop);

    private string NewFolder(string name) => Directory.CreateDirectory(Path.Combine(_folder.Path, name)).FullName;

    private string NewInstallation(string version)
    {
        var folder = NewFolder(version.Split(' ')[0]);
        WritePrograms(folder, version);
        return folder;
    }

    private static void WritePrograms(string folder, string version)
    {
        foreach (var name in (string[])["postgres", "initdb", "pg_ctl"])
        {
            var file = Path.Combine(folder, name);
            File.WriteAllText(file, $"#!/bin/sh\necho 'postgres (PostgreSQL) {version}'\n");
            if (!OperatingSystem.IsWindows())
                File.SetUnixFileMode(file, UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute);
        }
    }
}
