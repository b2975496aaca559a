using Xunit;

namespace CashEvents.Cash.Tests.Naming;

/// <summary>Names are offered while they are typed.</summary>
public sealed class CompletionTests(BookServer server)
{
    [Theory]
    [InlineData("cash spend mar", "market-days")]
    [InlineData("cash sp", "spend")]
    [InlineData("cash lines --moved bak", "bakery-van")]
    [InlineData("cash sweep rainy-day fer", "ferry-fares")]
    [InlineData("cash print strips oil", "oilskin-wallet")]
    [InlineData("cash spend market-days 4.20 Eggs --rest-from boa", "boat-insurance")]
    public async Task A_real_bash_completes_commands_and_names(string typed, string offered)
    {
        using var terminal = new Terminal(await server.HarbourRowAsync());
        // Names that were heard once: a server that takes longer than a second is not waited for.
        await terminal.RunAsync("fill", "rainy-day", "1");

        var said = await CashProcess.BashAsync(terminal, $$"""
            eval "$(cash completion bash)"
            complete -p cash >/dev/null || exit 9
            COMP_LINE='{{typed}}' COMP_POINT={{typed.Length}}
            _cash_completion
            printf '%s\n' "${COMPREPLY[@]}"
            """);

        Assert.Equal((0, offered + "\n", ""), (said.Code, said.Out, said.Error));
    }

    [Fact]
    public async Task Without_the_server_the_names_last_heard_are_offered_and_without_a_connection_none()
    {
        using var terminal = new Terminal(await server.HarbourRowAsync());
        using var stranger = new Terminal();

        await terminal.RunAsync("[suggest:14]", "cash spend mar");
        var away = await terminal.RunAwayAsync("[suggest:14]", "cash spend mar");
        var nothing = await stranger.RunAsync("[suggest:14]", "cash spend mar");

        Assert.Equal((ExitCode.Done, "market-days\n"), (away.Code, away.Out));
        Assert.Equal((ExitCode.Done, "", ""), (nothing.Code, nothing.Out.Trim(), nothing.Error));
    }

    [Theory]
    [InlineData("bash", "complete ")]
    [InlineData("zsh", "compdef ")]
    [InlineData("fish", "complete -f -c cash")]
    [InlineData("powershell", "Register-ArgumentCompleter")]
    public async Task Each_shell_has_its_script(string shell, string registers)
    {
        using var terminal = new Terminal();

        var said = await terminal.RunAsync("completion", shell);

        Assert.Equal(ExitCode.Done, said.Code);
        Assert.Contains(registers, said.Out, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Help_asks_no_server()
    {
        using var terminal = new Terminal(await server.HarbourRowAsync());

        var help = await terminal.RunAsync("spend", "--help");

        Assert.Contains("<compartment>", help.Out, StringComparison.Ordinal);
        Assert.DoesNotContain("market-days", help.Out, StringComparison.Ordinal);
    }
}
