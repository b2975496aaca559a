using System.CommandLine;
using System.CommandLine.Parsing;
using System.Globalization;

namespace CashEvents.Cash;

/// <summary>The command line <c>cash</c>.</summary>
internal static class CashProgram
{
    /// <summary>Carries out one command.</summary>
    /// <returns>An <see cref="ExitCode"/>.</returns>
    public static async Task<int> RunAsync(string[] arguments, Surroundings around,
        CancellationToken stop = default)
    {
        // People's own words and amounts are written by rules of our own, and all else the same everywhere.
        CultureInfo.CurrentCulture = CultureInfo.InvariantCulture;
        var asked = new Commands(around).Root.Parse(arguments);
        if (asked.Errors.Count > 0 && asked.Tokens is not [{ Type: TokenType.Directive }, ..])
        {
            foreach (var error in asked.Errors)
                await around.Error.WriteLineAsync(error.Message).ConfigureAwait(false);
            await around.Error.WriteLineAsync($"See: {Help(asked.CommandResult)}").ConfigureAwait(false);
            return ExitCode.Usage;
        }

        var settings = new InvocationConfiguration
        {
            Output = around.Out,
            Error = around.Error,
            EnableDefaultExceptionHandler = false,
        };
        return await asked.InvokeAsync(settings, stop).ConfigureAwait(false);
    }

    private static string Help(SymbolResult command)
    {
        var steps = new List<string>();
        for (var step = command; step is CommandResult { Command: not RootCommand } named; step = step.Parent)
            steps.Insert(0, named.Command.Name);
        return string.Join(' ', [Commands.Name, .. steps, "--help"]);
    }
}
