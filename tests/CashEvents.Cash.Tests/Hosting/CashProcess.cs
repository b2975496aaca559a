using System.Diagnostics;

namespace CashEvents.Cash.Tests.Hosting;

/// <summary>The program as a process of its own.</summary>
internal static class CashProcess
{
    /// <summary>The program, as it was built.</summary>
    public static string File { get; } = BookServer.Built("CashEvents.Cash", "cash");

    /// <summary>Starts it at somebody's terminal.</summary>
    public static Process Start(Terminal terminal, params string[] arguments) =>
        Start(File, terminal, arguments);

    /// <summary>Runs it to its end.</summary>
    public static Task<Said> RunAsync(Terminal terminal, params string[] arguments) =>
        EndAsync(Start(terminal, arguments));

    /// <summary>Runs a script in a real bash, in which the program is found.</summary>
    public static Task<Said> BashAsync(Terminal terminal, string script) =>
        EndAsync(Start("bash", terminal, "--norc", "-c", $"PATH={Path.GetDirectoryName(File)}:$PATH\n{script}"));

    private static Process Start(string program, Terminal terminal, params string[] arguments)
    {
        var start = new ProcessStartInfo(program, arguments)
        {
            RedirectStandardInput = true,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
        };
        foreach (var (name, value) in terminal.Variables)
            start.Environment[name] = value;
        return Process.Start(start)!;
    }

    private static async Task<Said> EndAsync(Process process)
    {
        using (process)
        {
            var (output, error) = (process.StandardOutput.ReadToEndAsync(), process.StandardError.ReadToEndAsync());
            await process.WaitForExitAsync();
            return new Said(process.ExitCode, await output, await error);
        }
    }
}
