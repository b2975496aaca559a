using System.ComponentModel;
using System.Diagnostics;

namespace CashEvents.EmbeddedPostgres;

/// <summary>One run of a command-line tool.</summary>
internal sealed record Command(string Tool, params IReadOnlyList<string> Arguments)
{
    /// <summary>The user to run as; null for the program's own.</summary>
    public string? User { get; init; }

    public string? WorkingFolder { get; init; }

    /// <summary>Whether it is npm, which gets its own settings from the environment.</summary>
    public bool IsNpm { get; init; }

    public TimeSpan Timeout { get; init; } = TimeSpan.FromSeconds(30);

    /// <summary>Runs the tool to its end. A tool that can't be started or takes too long counts as failed.</summary>
    /// <exception cref="OperationCanceledException">Cancelled; the tool was killed.</exception>
    public async Task<CommandResult> RunAsync(CancellationToken cancellationToken)
    {
        using var process = new Process { StartInfo = StartInfo() };
        process.StartInfo.RedirectStandardOutput = true;
        process.StartInfo.RedirectStandardError = true;
        try
        {
            process.Start();
        }
        catch (Win32Exception e)
        {
            return new CommandResult(127, e.Message);
        }

        process.StandardInput.Close();
        var output = process.StandardOutput.ReadToEndAsync(CancellationToken.None);
        var errors = process.StandardError.ReadToEndAsync(CancellationToken.None);
        using var patience = CancellationTokenSource.CreateLinkedTokenSource(cancellationToken);
        patience.CancelAfter(Timeout);
        try
        {
            await process.WaitForExitAsync(patience.Token).ConfigureAwait(false);
        }
        catch (OperationCanceledException)
        {
            process.Kill(entireProcessTree: true);
            cancellationToken.ThrowIfCancellationRequested();
            return new CommandResult(124, $"{Tool} took longer than {Timeout.TotalSeconds:0} s.");
        }

        // A server started by the tool inherits the pipes on Windows, so their end may never come.
        var both = Task.WhenAll(output, errors);
        await Task.WhenAny(both, Task.Delay(TimeSpan.FromSeconds(2), CancellationToken.None)).ConfigureAwait(false);
        return new CommandResult(process.ExitCode,
            both.IsCompletedSuccessfully ? string.Concat(both.Result).Trim() : "");
    }

    /// <summary>How to start the tool, its input redirected.</summary>
    public ProcessStartInfo StartInfo()
    {
        var info = new ProcessStartInfo(Tool, Arguments)
        {
            RedirectStandardInput = true,
            UseShellExecute = false,
            CreateNoWindow = true,
            WorkingDirectory = WorkingFolder ?? "",
        };
        if (User is not null)
            info.UserName = User;

        CleanEnvironment.Apply(info, IsNpm);
        return info;
    }
}

/// <summary>How a tool ended, and what it said.</summary>
internal sealed record CommandResult(int ExitCode, string Output)
{
    public bool Succeeded => ExitCode == 0;
}
