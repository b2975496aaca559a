using System.ComponentModel;
using System.Diagnostics;
using System.Globalization;

namespace CashEvents.EmbeddedPostgres;

/// <summary>
/// What is left of a server whose first process was killed: helpers and sessions, which hold its memory, so that no
/// other server starts on the cluster. Most end by themselves in a moment; one that is busy may go on for as long as
/// its query takes.
/// </summary>
internal static class OrphanedServer
{
    // How a process of a server names itself; the first one keeps its command line.
    private const string Title = "postgres: ";

    private static readonly TimeSpan _patience = TimeSpan.FromSeconds(1);

    /// <summary>
    /// Waits a moment for what is left, then kills it, as safe as a power cut: the next start recovers. Linux tells
    /// where a process works; on other systems what is left can only be waited out.
    /// </summary>
    public static async Task EndAsync(string clusterFolder, CancellationToken cancellationToken)
    {
        if (!OperatingSystem.IsLinux())
            return;

        var since = Stopwatch.StartNew();
        for (var left = Find(clusterFolder); left.Count > 0; left = Find(clusterFolder))
        {
            if (since.Elapsed > _patience)
                left.ForEach(Kill);
            await Task.Delay(TimeSpan.FromMilliseconds(25), cancellationToken).ConfigureAwait(false);
        }
    }

    /// <summary>The processes of servers on a cluster, but for first ones.</summary>
    public static List<int> Find(string clusterFolder)
    {
        var folder = Postmaster.RealPath(clusterFolder);
        return [.. Directory.EnumerateDirectories("/proc").Select(Path.GetFileName)
            .Where(name => int.TryParse(name, NumberStyles.None, CultureInfo.InvariantCulture, out _))
            .Where(name => IsOf($"/proc/{name}", folder))
            .Select(name => int.Parse(name!, CultureInfo.InvariantCulture))];
    }

    private static bool IsOf(string process, string clusterFolder)
    {
        try
        {
            // A process that has ended has no command line any more.
            return File.ReadAllText($"{process}/cmdline").StartsWith(Title, StringComparison.Ordinal)
                && File.ResolveLinkTarget($"{process}/cwd", returnFinalTarget: false)?.FullName == clusterFolder;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            // It is gone, or another user's.
            return false;
        }
    }

    private static void Kill(int processId)
    {
        try
        {
            using var process = Process.GetProcessById(processId);
            process.Kill();
        }
        catch (Exception e) when (e is ArgumentException or InvalidOperationException or Win32Exception)
        {
            // It is gone already.
        }
    }
}
