using System.Diagnostics;
using Xunit;

namespace CashEvents.Api.Tests.Hosting;

/// <summary>A command-line tool of the system, run to its end.</summary>
internal static class Tool
{
    /// <returns>Whether it ended with 0, and what it printed.</returns>
    public static async Task<(bool Succeeded, string Output)> RunAsync(string tool, params string[] arguments)
    {
        using var process = Process.Start(new ProcessStartInfo(tool, arguments)
        {
            RedirectStandardOutput = true,
            RedirectStandardError = true,
        })!;
        var (output, errors) = (process.StandardOutput.ReadToEndAsync(), process.StandardError.ReadToEndAsync());
        await process.WaitForExitAsync(TestContext.Current.CancellationToken);
        return (process.ExitCode == 0, (await output + await errors).Trim());
    }
}
