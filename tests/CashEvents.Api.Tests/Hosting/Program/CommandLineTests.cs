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

    [Fact]
    public async Task A_later_start_does_not_print_the_key_again()
    {
        await using (await CashEventsProcess.ServeAsync(_folder.Path))
        {
        }

        await using var program = await CashEventsProcess.ServeAsync(_folder.Path);

        Assert.DoesNotContain(KeptKey, program.Output);
        Assert.Contains(KeyFile, program.Output);
        (await program.Client(KeptKey).GetAsync("/api/balances")).MustBe(200);
    }

    [Fact]
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
    [InlineData("a key with spaces that no header carries")]
    [InlineData("a-key-with-a-lëtter-that-no-header-carries")]
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

    [Fact]
    public async Task A_given_key_that_is_not_the_books_is_said_and_changes_nothing()
    {
        const string given = "a-key-that-the-keeper-chose-afterwards";
        await using (await CashEventsProcess.ServeAsync(_folder.Path))
        {
        }

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

    [Fact]
    public async Task A_lost_keepers_key_is_replaced_on_the_machine_while_the_program_runs_and_when_it_does_not()
    {
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

    [Fact]
    public async Task Of_several_households_or_keepers_the_one_that_lost_its_key_is_named()
    {
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

    [Fact]
    public async Task The_demo_is_loaded_once()
    {
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
    [InlineData("--demo")]
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

    [Fact]
    public async Task An_empty_start_does_not_speak_of_the_demo()
    {
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

    [Fact]
    public async Task A_second_program_on_the_same_data_folder_is_turned_away()
    {
        await using var first = await CashEventsProcess.ServeAsync(_folder.Path);

        var (exitCode, output) = await CashEventsProcess.RunAsync(_folder.Path, "--urls", "http://127.0.0.1:0");

        Assert.Equal(1, exitCode);
        Assert.Contains("already works on the data folder", output);
        Assert.Contains(_folder.Path, output);
        Assert.DoesNotContain("   at ", output);
        (await first.Client(KeptKey).GetAsync("/api/balances")).MustBe(200);
    }

    [Fact]
    public async Task A_household_can_be_added_while_the_program_runs_and_when_it_does_not()
    {
        string neighboursKey;
        await using (var program = await CashEventsProcess.ServeAsync(_folder.Path))
        {
            var (exitCode, output) = await CashEventsProcess.RunAsync(_folder.Path, "add-household",
                "Number 3, Pier Lane");
            neighboursKey = output.Split('\n').Single(line => line.StartsWith("ce_", StringComparison.Ordinal));

            Assert.Equal(0, exitCode);
            Assert.Equal("Number 3, Pier Lane",
                (await program.Client(neighboursKey).GetAsync("/api/household")).MustBe(200).Json.GetProperty("name")
                    .GetString());
        }

        var twice = await CashEventsProcess.RunAsync(_folder.Path, "add-household", "Number 3 - Pier lane");
        var unnamed = await CashEventsProcess.RunAsync(_folder.Path, "add-household");
        var second = await CashEventsProcess.RunAsync(_folder.Path, "add-household", "Lighthouse");

        Assert.Equal(1, twice.ExitCode);
        Assert.Contains("There is a household 'number-3-pier-lane' already", twice.Output);
        Assert.Equal(1, unnamed.ExitCode);
        Assert.Contains("Name the household", unnamed.Output);
        Assert.Equal(0, second.ExitCode);
        await using var after = await CashEventsProcess.ServeAsync(_folder.Path);
        (await after.Client(neighboursKey).GetAsync("/api/household")).MustBe(200);
        (await after.Client(second.Output.Split('\n').Single(line => line.StartsWith("ce_", StringComparison.Ordinal)))
            .GetAsync("/api/household")).MustBe(200);
    }

    [Fact]
    public async Task A_household_that_is_added_again_gets_a_new_key_while_nothing_but_its_opening_is_written()
    {
        // A kill after the book was opened leaves a key that nobody has seen; so does a closed terminal.
        await using var program = await CashEventsProcess.ServeAsync(_folder.Path);
        var keys = new List<string>();
        for (var i = 0; i < 3; i++)
        {
            var (exitCode, output) = await CashEventsProcess.RunAsync(_folder.Path, "add-household", "Pier Lane");
            Assert.Equal(0, exitCode);
            keys.Add(output.Split('\n').Single(line => line.StartsWith("ce_", StringComparison.Ordinal)));
        }

        (await program.Client(keys[0]).GetAsync("/api/household")).MustBeProblem(401, "key-unknown");
        (await program.Client(keys[1]).GetAsync("/api/household")).MustBeProblem(401, "key-unknown");
        var keeper = program.Client(keys[2]);
        Assert.Equal("Pier Lane",
            (await keeper.GetAsync("/api/household")).MustBe(200).Json.GetProperty("name").GetString());
        (await keeper.PutAsync("/api/household",
            """{"name": "Pier Lane", "currency": "EUR", "timeZone": "Europe/Dublin"}""")).MustBe(200);
        var before = await keeper.LinesAsync();

        var used = await CashEventsProcess.RunAsync(_folder.Path, "add-household", "Pier Lane");

        Assert.Equal(1, used.ExitCode);
        Assert.Contains("There is a household 'pier-lane' already", used.Output);
        Assert.Equal(before.Count, (await keeper.LinesAsync()).Count);
    }

    [Fact]
    public async Task A_key_file_that_a_kill_left_empty_is_not_taken_for_a_key()
    {
        Directory.CreateDirectory(_folder.Path);
        await File.WriteAllTextAsync(KeyFile, "", TestContext.Current.CancellationToken);

        await using var program = await CashEventsProcess.ServeAsync(_folder.Path);

        Assert.StartsWith("ce_", KeptKey);
        (await program.Client(KeptKey).GetAsync("/api/balances")).MustBe(200);
    }

    [Theory]
    [InlineData("0")]
    [InlineData("many")]
    public async Task A_number_of_starts_that_is_none_is_told(string starts)
    {
        await using var program =
            CashEventsProcess.Start(_folder.Path, null, null, [], ("CASHEVENTS_POSTGRES_STARTS", starts));

        Assert.Equal(1, await program.EndAsync());
        Assert.Contains($"CASHEVENTS_POSTGRES_STARTS is '{starts}'", program.Output);
    }

    [Fact]
    public async Task Every_book_is_verified_while_the_program_runs_and_when_it_does_not()
    {
        await using (await CashEventsProcess.ServeAsync(_folder.Path, null, "--demo"))
        {
            await CashEventsProcess.RunAsync(_folder.Path, "add-household", "Pier Lane");
            var fit = await CashEventsProcess.RunAsync(_folder.Path, "verify");
            Assert.Equal(0, fit.ExitCode);
            Assert.Matches("^household: [0-9]{3} lines agree; hash [0-9a-f]{64}\npier-lane: 2 lines agree; hash "
                + "[0-9a-f]{64}\n*$", fit.Output);

            await Database.AskAsync(
                PrivatePostgres.ConnectionStringOfRunning(OwnPostgres.In(_folder.Path))!,
                "update cashevents.mt_events set data = data || '{\"amount\": 1}' where tenant_id = 'household' and "
                    + "version = 60");
            var changed = await CashEventsProcess.RunAsync(_folder.Path, "verify");
            Assert.Equal(1, changed.ExitCode);
            Assert.Matches("^household: line 60 does not agree. Line 60 has another hash [^\n]*\npier-lane: 2 lines "
                + "agree; "
                + "hash [0-9a-f]{64}\n*$", changed.Output);
        }

        var later = await CashEventsProcess.RunAsync(_folder.Path, "verify");
        Assert.Equal(1, later.ExitCode);
        Assert.Contains("household: line 60 does not agree", later.Output);
    }

    [Fact]
    public async Task Every_book_is_rebuilt_while_the_program_runs_and_what_differed_is_told_once()
    {
        await using var program = await CashEventsProcess.ServeAsync(_folder.Path, null, "--demo");
        await CashEventsProcess.RunAsync(_folder.Path, "add-household", "Pier Lane");
        await Database.AskAsync(PrivatePostgres.ConnectionStringOfRunning(OwnPostgres.In(_folder.Path))!,
            "update cashevents.tracker_row set amount = 1 where tenant_id = 'household' and line = 60 returning 1");

        var rebuilt = await CashEventsProcess.RunAsync(_folder.Path, "rebuild");
        var again = await CashEventsProcess.RunAsync(_folder.Path, "rebuild");

        Assert.Equal((0, 0), (rebuilt.ExitCode, again.ExitCode));
        Assert.Matches("household: 1 fields? did not say what its [0-9]+ lines give, and (was|were) put right:\n "
            + " tracker_row [a-z-]+/60/0 amount: 1 instead of -?[0-9]+\n", rebuilt.Output);
        Assert.Contains("pier-lane: everything kept beside its 2 lines is what the lines give.", rebuilt.Output);
        Assert.Matches("household: everything kept beside its [0-9]+ lines is what the lines give.", again.Output);
        (await program.Client(KeptKey).PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 1.00}"""))
            .MustBe(201);
    }

    [Fact]
    public async Task Where_there_is_no_book_none_is_said_to_fit()
    {
        var (exitCode, output) = await CashEventsProcess.RunAsync(_folder.Path, "verify");

        Assert.Equal(1, exitCode);
        Assert.Contains("There is no book here to verify", output);
        Assert.DoesNotContain("   at ", output);
    }

    [Fact]
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

    [Fact]
    public async Task The_greeting_tells_the_version()
    {
        await using var program = await CashEventsProcess.ServeAsync(_folder.Path);

        Assert.Contains($"This is version {Repository.Version()}.", program.Output.Split('\n'));
    }
}
