using Xunit;

namespace CashEvents.Api.Tests.Hosting;

/// <summary>Households that are added on the machine, and what is done with every book of it.</summary>
public sealed class EveryBookTests : IDisposable
{
    private readonly TemporaryDataFolder _folder = new();

    private string KeptKey => File.ReadAllText(Path.Combine(_folder.Path, "keeper.key")).Trim();

    public void Dispose() => _folder.Dispose();

    [ThoroughFact]
    public async Task A_household_can_be_added_while_the_program_runs_and_when_it_does_not()
    {
        await StartedFolder.CopyToAsync(_folder);
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

    [ThoroughFact]
    public async Task A_household_that_is_added_again_gets_a_new_key_while_nothing_but_its_opening_is_written()
    {
        await StartedFolder.CopyToAsync(_folder);
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

    [ThoroughFact]
    public async Task Every_book_is_verified_while_the_program_runs_and_when_it_does_not()
    {
        await StartedFolder.CopyToAsync(_folder);
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

    [ThoroughFact]
    public async Task Every_book_is_rebuilt_while_the_program_runs_and_what_differed_is_told_once()
    {
        await StartedFolder.CopyToAsync(_folder);
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

    [ThoroughFact]
    public async Task Where_there_is_no_book_none_is_said_to_fit()
    {
        var (exitCode, output) = await CashEventsProcess.RunAsync(_folder.Path, "verify");

        Assert.Equal(1, exitCode);
        Assert.Contains("There is no book here to verify", output);
        Assert.DoesNotContain("   at ", output);
    }
}
