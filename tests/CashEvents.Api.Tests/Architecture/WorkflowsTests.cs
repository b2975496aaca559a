using System.Text.RegularExpressions;
using Xunit;

namespace CashEvents.Api.Tests.Architecture;

/// <summary>What a public forge is told to do can be done.</summary>
public sealed partial class WorkflowsTests
{
    public static TheoryData<string> Files =>
    [
        .. Directory.GetFiles(Path.Combine(Repository.Root(), ".github", "workflows"))
            .Select(path => Path.GetFileName(path)),
    ];

    [Theory]
    [MemberData(nameof(Files))]
    public async Task Every_script_that_a_step_names_is_there_and_can_be_run(string file)
    {
        var scripts = Script().Matches(await ReadAsync(file)).Select(match => match.Value).ToList();

        Assert.NotEmpty(scripts);
        Assert.All(scripts, script =>
        {
            var path = Path.Combine(Repository.Root(), script);
            Assert.True(File.Exists(path), script);
            Assert.True(OperatingSystem.IsWindows() || File.GetUnixFileMode(path).HasFlag(UnixFileMode.UserExecute),
                script);
        });
    }

    [Theory]
    [MemberData(nameof(Files))]
    public async Task Every_action_is_one_that_nobody_can_change(string file)
    {
        var used = Used().Matches(await ReadAsync(file)).Select(match => match.Groups["action"].Value).ToList();

        Assert.NotEmpty(used);
        Assert.All(used, action => Assert.Matches("@[0-9a-f]{40}$", action));
    }

    private static Task<string> ReadAsync(string file) => File.ReadAllTextAsync(
        Path.Combine(Repository.Root(), ".github", "workflows", file), TestContext.Current.CancellationToken);

    [GeneratedRegex(@"(?<![\w/])(\.ci|packaging)/[\w/-]+", RegexOptions.ExplicitCapture)]
    private static partial Regex Script();

    [GeneratedRegex(@"uses: (?<action>\S+)", RegexOptions.ExplicitCapture)]
    private static partial Regex Used();
}
