using System.Net;
using System.Net.Sockets;
using System.Text.RegularExpressions;
using Xunit;

namespace CashEvents.Api.Tests.Hosting;

public sealed partial class CommandLineTests : IDisposable
{
    private static readonly string[] _named = ["household.json", "wallets.json", "compartments.json"];

    private readonly TemporaryDataFolder _folder = new();

    private string KeyFile => Path.Combine(_folder.Path, "keeper.key");

    private string KeptKey => File.ReadAllText(KeyFile).Trim();

    public void Dispose() => _folder.Dispose();

    [Fact]
    public async Task The_first_start_serves_an_empty_book_and_keeps_the_printed_key_for_its_owner_alone()
    {
        await using var program = await CashEventsProcess.ServeAsync(_folder.Path);

        Assert.Contains(KeptKey, program.Output.Split('\n').Select(line => line.Trim()));
        Assert.Contains(KeyFile, program.Output);
        if (!OperatingSystem.IsWindows())
        {
            Assert.Equal(UnixFileMode.UserRead | UnixFileMode.UserWrite, File.GetUnixFileMode(KeyFile));
        }

        var keeper = program.Client(KeptKey);
        Assert.Equal(2, (await keeper.GetAsync("/api/household")).MustBe(200).Json.GetProperty("line").GetInt64());
        Assert.Empty((await keeper.GetAsync("/api/compartments")).MustBe(200).Json.GetProperty("compartments")
            .EnumerateArray());
        (await program.Client("another").GetAsync("/api/balances")).MustBeProblem(401, "key-unknown");
    }

    [ThoroughFact]
    public async Task The_demo_is_loaded_once()
    {
        await StartedFolder.CopyToAsync(_folder);
        string first;
        await using (var demo = await CashEventsProcess.ServeAsync(_folder.Path, null, "--demo"))
        {
            first = (await demo.Client(KeptKey).GetAsync("/api/balances")).MustBe(200).Text;
            Assert.Contains("Ferry fares", demo.Output);
            Assert.Contains("Harbour Row", demo.Output);
        }

        await using var again = await CashEventsProcess.ServeAsync(_folder.Path, null, "--demo");

        Assert.Contains("The demo household was not loaded, and nothing was changed", again.Output);
        Assert.Equal(first, (await again.Client(KeptKey).GetAsync("/api/balances")).MustBe(200).Text);
    }

    [Theory]
    [InlineData]
    [ThoroughData("--demo")]
    public async Task What_the_greeting_proposes_only_reads(params string[] arguments)
    {
        Assert.SkipWhen(OperatingSystem.IsWindows(), "Its commands are for a Unix shell.");
        await using var program = await CashEventsProcess.ServeAsync(_folder.Path, null, arguments);
        var keeper = program.Client(KeptKey);
        var before = (await keeper.GetAsync("/api/household")).MustBe(200).Text;
        var commands = program.Output.Split('\n')
            .Where(line => line.StartsWith("  KEY=", StringComparison.Ordinal)
                || line.StartsWith("  curl ", StringComparison.Ordinal)).ToList();

        var tried = await Tool.RunAsync("bash", "-c",
            string.Join('\n', commands.Prepend("set -e")).Replace("curl -s", "curl -sSf", StringComparison.Ordinal));

        Assert.Equal(4, commands.Count);
        Assert.True(tried.Succeeded, tried.Output);
        Assert.Equal(before, (await keeper.GetAsync("/api/household")).MustBe(200).Text);
        Assert.StartsWith("<!", (await keeper.GetAsync("/swagger/index.html")).MustBe(200).Text.TrimStart(),
            StringComparison.Ordinal);
    }

    [ThoroughFact]
    public async Task An_empty_start_does_not_speak_of_the_demo()
    {
        await StartedFolder.CopyToAsync(_folder);
        await using var program = await CashEventsProcess.ServeAsync(_folder.Path);

        var seed = Path.Combine(AppContext.BaseDirectory, "demo-seed");
        var names = _named.SelectMany(
            file => NameOrLabel().Matches(File.ReadAllText(Path.Combine(seed, file)))
                .Select(name => name.Groups[1].Value)).ToList();

        Assert.InRange(names.Count, 5, 100);
        Assert.All(names, name => Assert.DoesNotContain(name, program.Output, StringComparison.OrdinalIgnoreCase));
        Assert.Contains("The book has no compartment yet.", program.Output, StringComparison.Ordinal);
    }

    [GeneratedRegex("\"(?:name|label)\": *\"([^\"]+)\"")]
    private static partial Regex NameOrLabel();

    [ThoroughFact]
    public async Task A_second_program_on_the_same_data_folder_is_turned_away()
    {
        await StartedFolder.CopyToAsync(_folder);
        await using var first = await CashEventsProcess.ServeAsync(_folder.Path);

        var (exitCode, output) = await CashEventsProcess.RunAsync(_folder.Path, "--urls", "http://127.0.0.1:0");

        Assert.Equal(1, exitCode);
        Assert.Contains("already works on the data folder", output);
        Assert.Contains(_folder.Path, output);
        Assert.DoesNotContain("   at ", output);
        (await first.Client(KeptKey).GetAsync("/api/balances")).MustBe(200);
    }

    [ThoroughFact]
    public async Task A_port_that_is_taken_is_told_with_the_mend()
    {
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        var port = ((IPEndPoint)listener.LocalEndpoint).Port;

        var (exitCode, output) = await CashEventsProcess.RunAsync(_folder.Path, "--urls", $"http://127.0.0.1:{port}");

        Assert.True(exitCode == 1, output);
        Assert.Contains($"{port}", output);
        Assert.Contains("--urls", output);
        Assert.True(!output.Contains("   at ", StringComparison.Ordinal), output);
    }

    [Theory]
    [InlineData("'--dmeo' is not known.", "--dmeo")]
    [InlineData("'--urls' needs a value.", "--urls")]
    [InlineData("Write new-keeper-key", "new-keeper-key", "--lost")]
    [InlineData("Write new-keeper-key", "new-keeper-key", "Pier Lane", "keeper")]
    [InlineData("'Pier Lane' is not known: verify is about every book", "verify", "Pier Lane")]
    [InlineData("'Pier Lane' is not known: rebuild is about every book", "rebuild", "Pier Lane")]
    public async Task An_argument_that_is_not_known_is_told(string told, params string[] arguments)
    {
        var (exitCode, output) = await CashEventsProcess.RunAsync(_folder.Path, arguments);

        Assert.Equal(1, exitCode);
        Assert.Contains(told, output);
        Assert.False(Directory.Exists(_folder.Path));
    }

    [Fact]
    public async Task Help_tells_the_settings_and_starts_nothing()
    {
        var (exitCode, output) = await CashEventsProcess.RunAsync(_folder.Path, "--help");

        Assert.Equal(0, exitCode);
        Assert.Contains("CASHEVENTS_DATA", output);
        Assert.False(Directory.Exists(_folder.Path));
    }

    [Fact]
    public async Task The_version_is_told_and_nothing_is_started()
    {
        var (exitCode, output) = await CashEventsProcess.RunAsync(_folder.Path, "--version");

        Assert.Equal((0, $"CashEvents {Repository.Version()}"), (exitCode, output.Trim()));
        Assert.False(Directory.Exists(_folder.Path));
    }

    [ThoroughFact]
    public async Task The_greeting_tells_the_version()
    {
        await StartedFolder.CopyToAsync(_folder);
        await using var program = await CashEventsProcess.ServeAsync(_folder.Path);

        Assert.Contains($"This is version {Repository.Version()}.", program.Output.Split('\n'));
    }
}
