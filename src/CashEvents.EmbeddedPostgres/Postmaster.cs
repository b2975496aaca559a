using System.ComponentModel;
using System.Diagnostics;
using System.Globalization;

namespace CashEvents.EmbeddedPostgres;

/// <summary>The first process of a running server, as told by the cluster's postmaster.pid.</summary>
internal sealed record Postmaster(int ProcessId, DateTimeOffset StartedAt, int Port, string SocketFolder)
{
    // In the file: the process id, the data folder, the start as Unix time, the port, the socket folder, and more.
    private const string FileName = "postmaster.pid";

    /// <returns>What the file says, whether or not that process still lives; null without a file.</returns>
    public static Postmaster? Read(string clusterFolder)
    {
        try
        {
            var lines = File.ReadAllLines(Path.Combine(clusterFolder, FileName));
            return lines.Length > 3
                && int.TryParse(lines[0], CultureInfo.InvariantCulture, out var processId)
                && long.TryParse(lines[2], CultureInfo.InvariantCulture, out var started)
                && int.TryParse(lines[3], CultureInfo.InvariantCulture, out var port)
                    ? new Postmaster(processId, DateTimeOffset.FromUnixTimeSeconds(started), port,
                        lines.ElementAtOrDefault(4) ?? "")
                    : null;
        }
        catch (IOException)
        {
            return null;
        }
    }

    /// <summary>Whether the file is there but was not written to its end.</summary>
    public static bool IsCutOff(string clusterFolder) =>
        File.Exists(Path.Combine(clusterFolder, FileName)) && Read(clusterFolder) is null;

    /// <summary>
    /// Removes the file of a server that has ended, because PostgreSQL takes any process with the id in it for a
    /// running server.
    /// </summary>
    public static void Forget(string clusterFolder) => File.Delete(Path.Combine(clusterFolder, FileName));

    /// <summary>Whether a process has this id.</summary>
    public bool IsTaken => Find(ProcessId) is { } process && Release(process);

    /// <summary>
    /// Whether a process has ended and only waits for its parent to notice; that is seen on Linux alone.
    /// </summary>
    public static bool IsZombie(int processId)
    {
        if (!OperatingSystem.IsLinux())
            return false;

        try
        {
            // "pid (name) S ..."
            var stat = File.ReadAllText(string.Create(CultureInfo.InvariantCulture, $"/proc/{processId}/stat"));
            return stat[(stat.LastIndexOf(')') + 2)..].StartsWith('Z');
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            // It is gone altogether.
            return false;
        }
    }

    /// <summary>
    /// Whether the process with this id is a server on the cluster, and not one that got the id after a restart of the
    /// machine.
    /// </summary>
    public bool IsRunningOn(string clusterFolder)
    {
        using var process = Find(ProcessId);
        try
        {
            if (process is null || process.HasExited || process.ProcessName is not ("postgres" or "postmaster"))
                return false;

            if (OperatingSystem.IsLinux())
            {
                if (IsZombie(ProcessId))
                    return false;

                // A server works inside its cluster.
                var inside = File.ResolveLinkTarget(
                    string.Create(CultureInfo.InvariantCulture, $"/proc/{ProcessId}/cwd"), returnFinalTarget: false);
                if (inside is not null)
                    return SameFolder(inside.FullName, clusterFolder);
            }

            return (process.StartTime.ToUniversalTime() - StartedAt.UtcDateTime).Duration() < TimeSpan.FromMinutes(2);
        }
        catch (InvalidOperationException)
        {
            return false;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or Win32Exception)
        {
            // It is a server that can't be looked into; PostgreSQL itself will say if it is on this cluster.
            return false;
        }
    }

    /// <summary>Kills the server and waits until it has ended; the next start recovers.</summary>
    public async Task KillAsync(string clusterFolder, CancellationToken cancellationToken)
    {
        using var process = Find(ProcessId);
        process?.Kill();

        // Not the process's own wait, which would wait on while the dead process's parent hasn't noticed.
        while (IsRunningOn(clusterFolder))
            await Task.Delay(TimeSpan.FromMilliseconds(50), cancellationToken).ConfigureAwait(false);
    }

    private static bool SameFolder(string one, string other) => RealPath(one) == RealPath(other);

    /// <summary>The path without links.</summary>
    public static string RealPath(string path)
    {
        // Links may be anywhere on the way, as in macOS's /tmp.
        var parent = Path.GetDirectoryName(path);
        if (parent is null)
            return path;

        var real = Path.Combine(RealPath(parent), Path.GetFileName(path));
        return Directory.ResolveLinkTarget(real, returnFinalTarget: true) is { } target
            ? RealPath(target.FullName)
            : real;
    }

    /// <summary>The process of this id; null when there is none.</summary>
    public static Process? Find(int processId)
    {
        try
        {
            return Process.GetProcessById(processId);
        }
        catch (ArgumentException)
        {
            return null;
        }
    }

    private static bool Release(Process process)
    {
        process.Dispose();
        return true;
    }
}
