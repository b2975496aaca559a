using System.Diagnostics;
using System.Globalization;

namespace CashEvents.EmbeddedPostgres;

/// <summary>
/// A sleeping shell that stops the server when the program dies without having done so itself.
/// It waits on a pipe that only the program holds open, so any death wakes it, a kill or a crash too.
/// Linux can send a signal at a parent's death instead, but to a parent thread: a pool thread that ends would take the
/// server along.
/// Windows has no such shell; there the next start stops the server that was left.
/// </summary>
internal sealed class Watchdog : IDisposable
{
    // The signals that a terminal or a service runner sends to all are for the program. The server is stopped only
    // if it is still the same one, since the next program may have started its own by now.
    private const string Script = """
        trap '' HUP INT QUIT TERM
        exec >/dev/null 2>&1
        read -r word && exit
        read -r running <"$1/postmaster.pid"
        [ "$running" = "$2" ] && kill -INT "$2"
        """;

    private readonly Process _shell;

    private Watchdog(Process shell) => _shell = shell;

    /// <returns>Null on Windows.</returns>
    public static Watchdog? Start(string name, string workingFolder, string clusterName, int serverProcessId,
        ServerUser user)
    {
        if (OperatingSystem.IsWindows())
            return null;

        var command = new Command("/bin/sh", "-c", Script, name + "-watchdog", clusterName,
            serverProcessId.ToString(CultureInfo.InvariantCulture))
        {
            User = user.Name,
            WorkingFolder = workingFolder,
        };
        return new Watchdog(Process.Start(command.StartInfo())!);
    }

    /// <summary>Sends the shell away; the server was stopped.</summary>
    public void Dispose()
    {
        try
        {
            _shell.StandardInput.WriteLine("done");
            _shell.StandardInput.Close();
        }
        catch (IOException)
        {
            // It is gone already.
        }

        _shell.Dispose();
    }
}
