using Xunit;

namespace CashEvents.Cash.Tests.Books;

/// <summary>Lines are shown as they are written.</summary>
public sealed class WatchTests(BookServer server)
{
    [Fact]
    public async Task Each_line_is_shown_once_as_it_is_written_until_it_is_stopped()
    {
        var household = await server.HarbourRowAsync();
        using var terminal = new Terminal(household);
        using var stop = new CancellationTokenSource();
        var output = new StringWriter();
        var line = await household.LineAsync();

        var watching = terminal.RunAsync(output, stop.Token, "watch", "--every", "1", "--after", $"{line}");
        await household.FillAsync("market-days", 20);
        await UntilAsync(() => output.ToString().Contains("20.00", StringComparison.Ordinal));
        await household.FillAsync("ferry-fares", 7);
        await UntilAsync(() => output.ToString().Contains("7.00", StringComparison.Ordinal));
        await stop.CancelAsync();

        Assert.Equal(ExitCode.Done, (await watching).Code);
        Assert.Equal([$"{line + 1}", $"{line + 2}"],
            output.ToString().Split('\n', StringSplitOptions.RemoveEmptyEntries).Select(shown => shown.Split(' ')[0]));
    }

    private static async Task UntilAsync(Func<bool> seen)
    {
        while (!seen())
            await Task.Delay(20, TestContext.Current.CancellationToken);
    }
}
