using Xunit;

namespace CashEvents.Api.Tests.Hosting;

/// <summary>The keeper's key on the machine: printed once, given, lost, replaced.</summary>
public sealed class KeeperKeyTests : IDisposable
{
    private readonly TemporaryDataFolder _folder = new();

    private string KeyFile => Path.Combine(_folder.Path, "keeper.key");

    private string KeptKey => File.ReadAllText(KeyFile).Trim();

    public void Dispose() => _folder.Dispose();

    [ThoroughFact]
    public async Task A_later_start_does_not_print_the_key_again()
    {
        await StartedFolder.CopyToAsync(_folder);
        await using var program = await CashEventsProcess.ServeAsync(_folder.Path);

        Assert.DoesNotContain(KeptKey, program.Output);
        Assert.Contains(KeyFile, program.Output);
        (await program.Client(KeptKey).GetAsync("/api/balances")).MustBe(200);
    }

    [ThoroughFact]
    public async Task A_key_that_was_given_is_the_keepers_and_is_written_nowhere()
    {
        const string given = "a-key-that-the-keeper-chose-at-home";

        await using var program = await CashEventsProcess.ServeAsync(_folder.Path, given);

        (await program.Client(given).GetAsync("/api/balances")).MustBe(200);
        Assert.False(File.Exists(KeyFile));
        Assert.DoesNotContain(given, program.Output);
    }

    [Theory]
    [InlineData("a-key-of-thirty-one-characters-")]
    [ThoroughData("a key with spaces that no header carries")]
    [ThoroughData("a-key-with-a-lëtter-that-no-header-carries")]
    public async Task A_key_that_can_be_guessed_or_not_be_sent_is_refused_and_no_book_opened(string given)
    {
        var (exitCode, output) = await CashEventsProcess.RunWithKeyAsync(_folder.Path, given, "--urls",
            "http://127.0.0.1:0");

        Assert.Equal(1, exitCode);
        Assert.Contains("CASHEVENTS_KEEPER_KEY", output);
        Assert.DoesNotContain(given, output);
        Assert.DoesNotContain("   at ", output);
        Assert.Contains("There is no book here", (await CashEventsProcess.RunAsync(_folder.Path, "verify")).Output);
    }

    [ThoroughFact]
    public async Task A_given_key_that_is_not_the_books_is_said_and_changes_nothing()
    {
        const string given = "a-key-that-the-keeper-chose-afterwards";
        await StartedFolder.CopyToAsync(_folder);
        await using (var other = await CashEventsProcess.ServeAsync(_folder.Path, given))
        {
            Assert.Contains("Caution: the key in CASHEVENTS_KEEPER_KEY is not a keeper's key of this book",
                other.Output);
            Assert.Contains("new-keeper-key", other.Output);
            (await other.Client(given).GetAsync("/api/balances")).MustBeProblem(401, "key-unknown");
            (await other.Client(KeptKey).GetAsync("/api/balances")).MustBe(200);
        }

        Assert.Equal(0, (await CashEventsProcess.RunWithKeyAsync(_folder.Path, given, "new-keeper-key")).ExitCode);
        await using var taken = await CashEventsProcess.ServeAsync(_folder.Path, given);

        Assert.DoesNotContain("Caution: the key", taken.Output);
        Assert.False(File.Exists(KeyFile));
        (await taken.Client(given).GetAsync("/api/balances")).MustBe(200);
    }

    [ThoroughFact]
    public async Task A_lost_keepers_key_is_replaced_on_the_machine_while_the_program_runs_and_when_it_does_not()
    {
        await StartedFolder.CopyToAsync(_folder);
        string first, second;
        await using (var program = await CashEventsProcess.ServeAsync(_folder.Path))
        {
            first = KeptKey;
            var (exitCode, output) = await CashEventsProcess.RunAsync(_folder.Path, "new-keeper-key");
            second = output.Split('\n').Single(line => line.StartsWith("ce_", StringComparison.Ordinal));

            Assert.Equal(0, exitCode);
            Assert.Equal(second, KeptKey);
            if (!OperatingSystem.IsWindows())
            {
                Assert.Equal(UnixFileMode.UserRead | UnixFileMode.UserWrite, File.GetUnixFileMode(KeyFile));
            }

            var keeper = program.Client(second);
            var lines = await keeper.LinesAsync("after=2");
            Assert.Equal(["keyIssued keeper-2 machine", "keyRevoked keeper machine"],
                lines.Select(l => $"{l.GetProperty("kind")} {l.GetProperty("name")} {l.GetProperty("by")}"));
            Assert.True((await keeper.GetAsync("/api/verification")).MustBe(200).Json.GetProperty("agrees")
                .GetBoolean());
            (await keeper.PostAsync("/api/wallets", """{"label": "Sea chest"}""")).MustBe(201);
        }

        Assert.Equal(0, (await CashEventsProcess.RunAsync(_folder.Path, "new-keeper-key", "household", "--lost",
            "keeper-2")).ExitCode);
        await using var later = await CashEventsProcess.ServeAsync(_folder.Path);
        foreach (var lost in new[] { first, second })
        {
            (await later.Client(lost).GetAsync("/api/balances")).MustBeProblem(401, "key-unknown");
        }

        (await later.Client(KeptKey).GetAsync("/api/balances")).MustBe(200);
    }

    [ThoroughFact]
    public async Task Of_several_households_or_keepers_the_one_that_lost_its_key_is_named()
    {
        await StartedFolder.CopyToAsync(_folder);
        string key, partners;
        await using (var program = await CashEventsProcess.ServeAsync(_folder.Path))
        {
            key = KeptKey;
            partners = (await program.Client(key).PostAsync("/api/keys", """{"name": "partner", "role": "keeper"}"""))
                .MustBe(201).Json.GetProperty("key").GetString()!;
            await CashEventsProcess.RunAsync(_folder.Path, "add-household", "Pier Lane");
            var unnamed = await CashEventsProcess.RunAsync(_folder.Path, "new-keeper-key");
            var unknown = await CashEventsProcess.RunAsync(_folder.Path, "new-keeper-key", "Lighthouse");
            var unclear = await CashEventsProcess.RunAsync(_folder.Path, "new-keeper-key", "household");
            var nobodys = await CashEventsProcess.RunAsync(_folder.Path, "new-keeper-key", "household", "--lost",
                "lodger");

            Assert.Equal((1, 1, 1, 1), (unnamed.ExitCode, unknown.ExitCode, unclear.ExitCode, nobodys.ExitCode));
            Assert.Contains("household, pier-lane", unnamed.Output);
            Assert.Contains("There is no household 'Lighthouse' here.", unknown.Output);
            Assert.Contains("'keeper', 'partner'", unclear.Output);
            Assert.Contains("No keeper's key in use is named 'lodger'", nobodys.Output);
            (await program.Client(key).GetAsync("/api/balances")).MustBe(200);
        }

        var neighbours = await CashEventsProcess.RunAsync(_folder.Path, "new-keeper-key", "Pier Lane");
        Assert.Equal(0, neighbours.ExitCode);
        Assert.Equal(key, KeptKey);
        Assert.Equal(0, (await CashEventsProcess.RunAsync(_folder.Path, "new-keeper-key", "household", "--lost",
            "keeper")).ExitCode);
        await using var after = await CashEventsProcess.ServeAsync(_folder.Path);
        (await after.Client(neighbours.Output.Split('\n')
            .Single(line => line.StartsWith("ce_", StringComparison.Ordinal))).GetAsync("/api/household")).MustBe(200);
        (await after.Client(partners).GetAsync("/api/keys")).MustBe(200);
        (await after.Client(key).GetAsync("/api/keys")).MustBeProblem(401, "key-unknown");
        (await after.Client(KeptKey).GetAsync("/api/keys")).MustBe(200);
    }

    [ThoroughFact]
    public async Task A_key_file_that_a_kill_left_empty_is_not_taken_for_a_key()
    {
        Directory.CreateDirectory(_folder.Path);
        await File.WriteAllTextAsync(KeyFile, "", TestContext.Current.CancellationToken);

        await using var program = await CashEventsProcess.ServeAsync(_folder.Path);

        Assert.StartsWith("ce_", KeptKey);
        (await program.Client(KeptKey).GetAsync("/api/balances")).MustBe(200);
    }
}
