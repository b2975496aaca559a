using Xunit;

namespace CashEvents.EmbeddedPostgres.Tests;

/// <summary>
/// What the program's environment says is its own affair: the tools that it starts see only what they need.
/// </summary>
public sealed class CleanEnvironmentTests : IDisposable
{
    private const string Secret = "TEST_OF_A_SECRET";

    // What tools and the shell add by themselves.
    private static readonly string[] _ownNames =
        ["PWD", "OLDPWD", "SHLVL", "_", "PG_GRANDPARENT_PID", "PG_OOM_ADJUST_FILE", "PGSYSCONFDIR", "PGLOCALEDIR",
            "PGDATA"];

    private static readonly string[] _allowed = ["PATH", "LD_LIBRARY_PATH", "TMPDIR", "TEMP", "TMP", "TZ", "LC_ALL"];

    private static CancellationToken Stop => TestContext.Current.CancellationToken;
    private readonly TemporaryDataFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Theory]
    [InlineData("initdb")]
    [InlineData("pg_ctl")]
    public async Task Making_a_cluster_and_starting_it_see_nothing_of_it_either(string tool)
    {
        Assert.SkipWhen(OperatingSystem.IsWindows(), "The stand-ins are shell scripts.");
        var user = await ServerUser.ChooseAsync(_folder.Path, Stop);
        var installed = (await PostgresBinaries.FindAsync(new PrivatePostgresOptions { DataFolder = _folder.Path },
            user, null, Stop)).Folder;
        using var told = new TemporaryDataFolder("told");
        var binaries = Directory.CreateDirectory(told.Path).FullName;
        foreach (var name in (string[])["postgres", "initdb", "pg_ctl"])
            await WriteScriptAsync(Path.Combine(binaries, name),
                $"[ {name} = {tool} ] && env > \"$0.env.$$\"\nexec {installed}/{name} \"$@\"");
        await AllowAsync("777", binaries);

        Environment.SetEnvironmentVariable(Secret, "left out");
        await using (await PrivatePostgres.StartAsync(
            new PrivatePostgresOptions { DataFolder = _folder.Path, BinaryFolders = [binaries], Durable = false },
            cancellationToken: Stop))
        {
        }

        Environment.SetEnvironmentVariable(Secret, null);
        var environments = Directory.GetFiles(binaries, $"{tool}.env.*");
        Assert.NotEmpty(environments);
        Assert.All(environments, environment => AssertClean(File.ReadAllLines(environment)));
    }

    [Fact]
    public async Task Npm_gets_its_own_settings_too_and_nothing_else()
    {
        Assert.SkipWhen(OperatingSystem.IsWindows(), "The stand-in is a shell script.");
        Directory.CreateDirectory(_folder.Path);
        var npm = Path.Combine(_folder.Path, "npm");
        await WriteScriptAsync(npm, "env");
        Environment.SetEnvironmentVariable("npm_config_test_of_a_setting", "kept");
        Environment.SetEnvironmentVariable(Secret, "left out");

        var seen = await new Command(npm) { IsNpm = true }.RunAsync(Stop);

        Environment.SetEnvironmentVariable("npm_config_test_of_a_setting", null);
        Environment.SetEnvironmentVariable(Secret, null);
        Assert.Contains("npm_config_test_of_a_setting=kept", seen.Output);
        Assert.Contains("PATH=", seen.Output);
        Assert.DoesNotContain(Secret, seen.Output);
    }

    private static void AssertClean(IEnumerable<string> environment) =>
        Assert.Empty(environment.Select(variable => variable.Split('=')[0]).Except(_allowed).Except(_ownNames));

    private static async Task WriteScriptAsync(string file, string script)
    {
        await File.WriteAllTextAsync(file, $"#!/bin/sh\n{script}\n", Stop);
        await AllowAsync("755", file);
    }

    private static async Task AllowAsync(string mode, string path) =>
        Assert.True((await new Command("chmod", mode, path).RunAsync(Stop)).Succeeded);
}
