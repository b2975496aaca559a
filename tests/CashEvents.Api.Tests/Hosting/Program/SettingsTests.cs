using System.Diagnostics;
using System.Net;
using System.Net.Sockets;
using System.Text.Json;
using Xunit;

namespace CashEvents.Api.Tests.Hosting;

/// <summary>Settings in the environment and in a file.</summary>
public sealed class SettingsTests : IDisposable
{
    private readonly TemporaryDataFolder _folder = new();

    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    public void Dispose() => _folder.Dispose();

    [Theory]
    [InlineData("CASHEVENTS_BACKUPS_AT", "half past three")]
    [InlineData("CASHEVENTS_POSTGRES_STARTS", "0")]
    [InlineData("CASHEVENTS_POSTGRES_STARTS", "many")]
    [InlineData("CASHEVENTS_TRUST_CLOCK", "perhaps")]
    [InlineData("CASHEVENTS_LOG", "xml")]
    public async Task A_value_that_is_none_is_told_before_anything_is_started(string name, string value)
    {
        await using var program = CashEventsProcess.Start(_folder.Path, null, null, [], (name, value));

        Assert.Equal(1, await program.EndAsync());
        Assert.Contains($"{name} is '{value}'.", program.Output);
        Assert.False(Directory.Exists(Path.Combine(_folder.Path, "postgresql")));
    }

    [Fact]
    public async Task A_name_in_the_environment_that_is_none_is_told()
    {
        await using var program = CashEventsProcess.Start(_folder.Path, null, null, [],
            ("CASHEVENTS_BAKCUPS", "off"), ("CASHEVENTS_KEY", "that of cash"), ("CASHEVENTS_LOG", "xml"));

        Assert.Equal(1, await program.EndAsync());
        Assert.Contains("There is no setting CASHEVENTS_BAKCUPS; it is passed over. Did you mean CASHEVENTS_BACKUPS?",
            program.Output);
        Assert.DoesNotContain("CASHEVENTS_KEY", program.Output);
    }

    [Theory]
    [InlineData("""{"CASHEVENTS_BACKUP": "off"}""", "Did you mean CASHEVENTS_BACKUPS?")]
    [InlineData("""{"CASHEVENTS_DATA": "/elsewhere"}""", "set it in the environment")]
    [InlineData("""{"CASHEVENTS_LOG": json}""", "can't be read")]
    [InlineData("CASHEVENTS_LOG=json", "can't be read")]
    [InlineData("""{"CASHEVENTS_LOG": "xml"}""", "CASHEVENTS_LOG is 'xml'.")]
    public async Task A_file_with_what_is_no_setting_is_told_with_the_mend(string written, string told)
    {
        await WriteAsync(written);

        var (exitCode, output) = await CashEventsProcess.RunAsync(_folder.Path, "verify");

        Assert.Equal(1, exitCode);
        Assert.Contains(told, output);
    }

    [ThoroughFact]
    public async Task The_file_is_read_and_the_environment_goes_before_it()
    {
        await StartedFolder.CopyToAsync(_folder);
        await WriteAsync("""
            {
              // Comments are read over.
              "CASHEVENTS_LOG": "json",
              "CASHEVENTS_HOSTS": "books.example",
              "CASHEVENTS_POSTGRES_STARTS": "none",
            }
            """);
        await using var program = CashEventsProcess.Start(_folder.Path, null, null, [],
            ("CASHEVENTS_POSTGRES_STARTS", "3"), ("CASHEVENTS_HOSTS", ""));
        await program.UntilServingAsync();
        using (var postgres = Process.GetProcessById(program.PostgresId))
        {
            postgres.Kill();
        }

        for (; !program.Output.Contains("ended by itself", StringComparison.Ordinal); await Task.Delay(20,
            Stop))
        {
        }

        Assert.Contains(program.Output.Split('\n'), line => line.StartsWith('{')
            && JsonDocument.Parse(line).RootElement.GetProperty("Message").GetString()!
                .Contains("ended by itself", StringComparison.Ordinal));
    }

    [ThoroughFact]
    public async Task A_log_for_programs_has_no_secret_from_the_first_start_on()
    {
        await using var program = CashEventsProcess.Start(_folder.Path, null, null, [], ("CASHEVENTS_LOG", "json"));
        await program.UntilServingAsync();

        Assert.All(program.Output.Split('\n'), line => JsonDocument.Parse(line).Dispose());
        var key = await File.ReadAllTextAsync(Path.Combine(_folder.Path, "keeper.key"), Stop);
        Assert.DoesNotContain(key.Trim(), program.Output);
        Assert.DoesNotContain("/enter#", program.Output);
        Assert.Contains("The keeper\\u0027s key was made now", program.Output);
    }

    [ThoroughFact]
    public async Task A_command_beside_a_server_leaves_its_port_for_measures_alone()
    {
        await StartedFolder.CopyToAsync(_folder);
        using (var free = new TcpListener(IPAddress.Loopback, 0))
        {
            free.Start();
            await WriteAsync($$"""{"CASHEVENTS_METRICS_URL": "http://{{free.LocalEndpoint}}"}""");
        }

        await using var program = await CashEventsProcess.ServeAsync(_folder.Path);

        var (exitCode, output) = await CashEventsProcess.RunAsync(_folder.Path, "verify");

        Assert.True(exitCode == 0, output);
    }

    [Fact]
    public void Docs_and_help_list_the_same()
    {
        var told = File.ReadAllLines(Path.Combine(Repository.Root(), "docs", "running.md"))
            .Where(line => line.StartsWith("| `", StringComparison.Ordinal)).Select(line => line.Split('`')[1])
            .ToList();

        Assert.Empty(Setting.All.Select(setting => setting.Name).Except(told));
    }

    private async Task WriteAsync(string written)
    {
        Directory.CreateDirectory(_folder.Path);
        await File.WriteAllTextAsync(Path.Combine(_folder.Path, "cashevents.json"), written,
            Stop);
    }
}
