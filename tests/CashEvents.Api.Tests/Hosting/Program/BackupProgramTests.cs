using Xunit;

namespace CashEvents.Api.Tests.Hosting;

/// <summary>Backups as whoever runs the program makes and restores them.</summary>
public sealed class BackupProgramTests : IDisposable
{
    private readonly TemporaryDataFolder _folder = new();
    private readonly TemporaryDataFolder _another = new();
    private readonly string _file = Path.Combine(Path.GetTempPath(), $"backup-{Guid.NewGuid():N}.jsonl.gz");

    public void Dispose()
    {
        _folder.Dispose();
        _another.Dispose();
        File.Delete(_file);
    }

    [Fact]
    public async Task A_backup_of_a_running_server_is_taken_in_by_an_empty_folder_and_its_key_opens_the_book()
    {
        var key = await StartedFolder.CopyToAsync(_folder);
        string balances;
        (int ExitCode, string Output) written, again;
        await using (var program = await CashEventsProcess.ServeAsync(_folder.Path, null, "--demo"))
        {
            (await program.Client(key).PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 5.00}"""))
                .MustBe(201);
            written = await CashEventsProcess.RunAsync(_folder.Path, "backup", _file);
            again = await CashEventsProcess.RunAsync(_folder.Path, "backup", _file);
            balances = (await program.Client(key).GetAsync("/api/balances")).MustBe(200).Text;
        }

        Assert.True(written.ExitCode == 0, written.Output);
        Assert.Matches("household: [0-9]+ lines agree; hash [0-9a-f]{64}", written.Output);
        Assert.Equal(1, again.ExitCode);
        Assert.Contains("is there already", again.Output);
        Assert.False(File.Exists(_file + ".part"));
        if (!OperatingSystem.IsWindows())
        {
            Assert.Equal(UnixFileMode.UserRead | UnixFileMode.UserWrite, File.GetUnixFileMode(_file));
        }

        var restored = await CashEventsProcess.RunAsync(_another.Path, "restore", _file);
        var twice = await CashEventsProcess.RunAsync(_another.Path, "restore", _file);
        var verified = await CashEventsProcess.RunAsync(_another.Path, "verify");

        Assert.True(restored.ExitCode == 0, restored.Output);
        Assert.Equal(written.Output.Split('\n')[0], restored.Output.Split('\n')[0]);
        Assert.Equal(1, twice.ExitCode);
        Assert.Contains("There are books here already: household", twice.Output);
        Assert.Equal((0, restored.Output.Split('\n')[0]), (verified.ExitCode, verified.Output.Split('\n')[0]));
        await using var served = await CashEventsProcess.ServeAsync(_another.Path);
        Assert.Equal(balances, (await served.Client(key).GetAsync("/api/balances")).MustBe(200).Text);
        Assert.Contains("No key is kept here", served.Output);
    }

    [ThoroughFact]
    public async Task A_household_is_taken_in_with_a_new_keepers_key_in_one_command()
    {
        var before = await StartedFolder.CopyToAsync(_folder);
        await CashEventsProcess.RunAsync(_folder.Path, "backup", _file);

        var (exitCode, output) = await CashEventsProcess.RunAsync(_another.Path, "restore", _file, "--household",
            "household", "--new-keeper");

        Assert.True(exitCode == 0, output);
        Assert.Contains("is revoked", output);
        var now = (await File.ReadAllTextAsync(Path.Combine(_another.Path, "keeper.key"),
            TestContext.Current.CancellationToken)).Trim();
        Assert.Contains(now, output);
        await using var served = await CashEventsProcess.ServeAsync(_another.Path);
        (await served.Client(now).GetAsync("/api/balances")).MustBe(200);
        (await served.Client(before).GetAsync("/api/balances")).MustBe(401);
    }

    [Theory]
    [InlineData("backup", "books", "--household", "lane", "--new-keeper")]
    [InlineData("restore", "books", "--new-keeper")]
    [InlineData("restore", "--household", "lane", "--new-keeper")]
    [InlineData("restore", "books", "others")]
    public void A_new_keepers_key_is_for_one_household_that_is_taken_in(string command, params string[] more) =>
        Assert.Contains("Name the file",
            Assert.Throws<StartException>(() => BackupTask.Read(command, more)).Message);

    [ThoroughFact]
    public async Task What_can_not_be_written_or_read_is_told_and_ends_with_1()
    {
        await StartedFolder.CopyToAsync(_folder);
        await File.WriteAllTextAsync(_file, "no backup", TestContext.Current.CancellationToken);
        string[][] asked =
        [
            ["backup"], ["backup", "/no/such/folder/books"], ["backup", _file + "2", "--household", "lighthouse"],
            ["restore", _file + "3"], ["restore", _file], ["restore", _file, "--household"],
        ];
        foreach (var arguments in asked)
        {
            var (exitCode, output) = await CashEventsProcess.RunAsync(_folder.Path, arguments);

            Assert.True(exitCode == 1, output);
            Assert.DoesNotContain("   at ", output);
        }

        Assert.False(File.Exists(_file + "2") || File.Exists(_file + "2.part"));
    }
}
