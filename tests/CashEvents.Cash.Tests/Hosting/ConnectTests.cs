using Xunit;

namespace CashEvents.Cash.Tests.Hosting;

/// <summary>Which server and which key: kept for one user alone, and never typed as an argument.</summary>
public sealed class ConnectTests(BookServer server)
{
    [Fact]
    public async Task It_is_kept_for_its_user_alone_and_used_from_then_on()
    {
        var household = await server.HarbourRowAsync();
        using var terminal = new Terminal { Typed = household.Key + "\n" };

        var kept = await terminal.RunAsync("connect", $"{household.Address}", "--key-file", "-");

        Assert.Equal(ExitCode.Done, kept.Code);
        Assert.Equal(UnixFileMode.UserRead | UnixFileMode.UserWrite, File.GetUnixFileMode(terminal.ConnectionFile));
        Assert.Equal(UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute,
            File.GetUnixFileMode(Path.GetDirectoryName(terminal.ConnectionFile)!));
        Assert.Equal(ExitCode.Done, (await terminal.RunAsync("balances")).Code);
        Assert.DoesNotContain(household.Key, kept.Out + kept.Error, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_key_comes_from_a_file_too_and_the_old_connection_is_replaced()
    {
        var (old, household) = (await server.HarbourRowAsync(), await server.HarbourRowAsync());
        using var terminal = new Terminal { Typed = old.Key };
        var file = Path.Combine(terminal.Home, "keeper.key");
        await File.WriteAllTextAsync(file, household.Key + "\n");
        await household.FillAsync("market-days", 7);

        await terminal.RunAsync("connect", $"{old.Address}");
        await terminal.RunAsync("connect", $"{household.Address}", "--key-file", file);

        Assert.Contains("7.00", (await terminal.RunAsync("balances")).Out, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(UnixFileMode.GroupRead)]
    [InlineData(UnixFileMode.OtherRead)]
    [InlineData(UnixFileMode.OtherWrite)]
    public async Task A_file_that_others_can_reach_is_refused(UnixFileMode open)
    {
        var household = await server.HarbourRowAsync();
        using var terminal = new Terminal { Typed = household.Key };
        await terminal.RunAsync("connect", $"{household.Address}");
        File.SetUnixFileMode(terminal.ConnectionFile, UnixFileMode.UserRead | UnixFileMode.UserWrite | open);

        var said = await terminal.RunAsync("balances");

        Assert.Equal((ExitCode.Key, ""), (said.Code, said.Out));
        Assert.Contains("chmod 600", said.Error, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Variables_come_before_the_file()
    {
        var (kept, said) = (await server.HarbourRowAsync(), await server.HarbourRowAsync());
        using var terminal = new Terminal { Typed = kept.Key };
        await terminal.RunAsync("connect", $"{kept.Address}");
        await said.FillAsync("market-days", 7);

        terminal.Variables["CASHEVENTS_KEY"] = said.Key;

        Assert.Contains("7.00", (await terminal.RunAsync("balances")).Out, StringComparison.Ordinal);
    }

    [Fact]
    public async Task What_does_not_work_is_not_kept()
    {
        var household = await server.HarbourRowAsync();
        using var terminal = new Terminal { Typed = "a-key-of-nobody" };

        Assert.Equal(ExitCode.Key, (await terminal.RunAsync("connect", $"{household.Address}")).Code);
        Assert.Equal(ExitCode.Unreachable, (await terminal.RunAwayAsync("connect", $"{household.Address}")).Code);
        Assert.Equal(ExitCode.Usage, (await terminal.RunAsync("connect", "harbour")).Code);
        terminal.Typed = "";
        Assert.Equal(ExitCode.Usage, (await terminal.RunAsync("connect", $"{household.Address}")).Code);

        Assert.False(File.Exists(terminal.ConnectionFile));
        Assert.Equal(ExitCode.Key, (await terminal.RunAsync("balances")).Code);
    }

    [Fact]
    public async Task No_option_takes_the_key_itself()
    {
        using var terminal = new Terminal();

        var help = await terminal.RunAsync("connect", "--help");

        Assert.Equal(ExitCode.Done, help.Code);
        Assert.DoesNotContain("--key ", help.Out, StringComparison.Ordinal);
        Assert.Equal(ExitCode.Usage, (await terminal.RunAsync("connect", "http://127.0.0.1:1", "--key", "x")).Code);
    }
}
