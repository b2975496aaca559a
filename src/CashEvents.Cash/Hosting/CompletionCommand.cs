using System.CommandLine;

namespace CashEvents.Cash.Hosting;

/// <summary>Prints what a shell needs to complete commands, options and names.</summary>
internal static class CompletionCommand
{
    private static readonly string[] _shells = ["bash", "zsh", "fish", "powershell"];

    public static Command Make(Commands commands)
    {
        var shell = new Argument<string>("shell") { Description = "Which shell." };
        shell.AcceptOnlyFromAmong(_shells);
        return commands.Of("completion", "Print what a shell needs to complete commands and names.",
            async (session, asked) =>
            {
                using var script = typeof(CompletionCommand).Assembly.GetManifestResourceStream(
                    $"completion/{asked.GetValue(shell)}.txt")!;
                using var text = new StreamReader(script);
                await session.Around.Out.WriteAsync(await text.ReadToEndAsync(session.Stop).ConfigureAwait(false))
                    .ConfigureAwait(false);
            }, shell);
    }
}
