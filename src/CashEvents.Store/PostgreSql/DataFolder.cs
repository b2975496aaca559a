using Microsoft.Extensions.Logging;

namespace CashEvents.Store.PostgreSql;

/// <summary>The folder that keeps everything the program owns on disk.</summary>
public static class DataFolder
{
    private const UnixFileMode OwnerOnly = UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute;

    private const UnixFileMode ForOthers =
        UnixFileMode.GroupRead | UnixFileMode.GroupWrite | UnixFileMode.OtherRead | UnixFileMode.OtherWrite;

    /// <summary>
    /// The folder used when none is configured: the user's data folder, or <c>/var/lib/cashevents</c> for root.
    /// </summary>
    /// <returns>An absolute path; the folder need not exist yet.</returns>
    /// <exception cref="EmbeddedPostgresException">The user has no data folder.</exception>
    public static string Default()
    {
        // Root's own data folder lies under /root, which the unprivileged user that runs PostgreSQL can't enter.
        if (!OperatingSystem.IsWindows() && Environment.IsPrivilegedProcess)
            return "/var/lib/cashevents";

        var userData = Environment.GetFolderPath(Environment.SpecialFolder.LocalApplicationData,
            Environment.SpecialFolderOption.DoNotVerify);
        return userData.Length > 0
            ? Path.Combine(userData, "cashevents")
            : throw new EmbeddedPostgresException("This user has no data folder. Set CASHEVENTS_DATA to the folder "
                + "that shall keep the books.");
    }

    /// <summary>
    /// The folder to use: the configured one as an absolute path, or <see cref="Default"/> when none is.
    /// </summary>
    /// <param name="configured">The value of <c>CASHEVENTS_DATA</c>; null or blank when it isn't set.</param>
    /// <returns>An absolute path; the folder need not exist yet.</returns>
    /// <exception cref="EmbeddedPostgresException">None is configured and the user has no data folder.</exception>
    public static string Resolve(string? configured) =>
        string.IsNullOrWhiteSpace(configured) ? Default() : Path.GetFullPath(configured.Trim());

    /// <summary>Makes the folder, if it is not there yet, so that nobody else sees into it.</summary>
    /// <param name="dataFolder">Its path.</param>
    /// <exception cref="EmbeddedPostgresException">It can't be made.</exception>
    public static void Create(string dataFolder)
    {
        try
        {
            if (!Directory.Exists(dataFolder))
                CreateOwn(dataFolder);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new EmbeddedPostgresException($"The data folder {dataFolder} can't be made: {e.Message} Set "
                + $"CASHEVENTS_DATA to a folder of the user who runs this program.", e);
        }
    }

    /// <summary>Makes a folder for this user alone.</summary>
    internal static void CreateOwn(string folder)
    {
        if (OperatingSystem.IsWindows())
            Directory.CreateDirectory(folder);
        else
            Directory.CreateDirectory(folder, OwnerOnly);
    }

    /// <summary>
    /// Closes the data folder to everybody but this user and the one who runs the server. A folder that holds other
    /// things too
    /// is somebody's own: it is left as it is, and its modes are said.
    /// </summary>
    internal static async Task CloseAsync(EmbeddedPostgresOptions options, ServerUser server, ILogger logger,
        CancellationToken cancellationToken)
    {
        if (OperatingSystem.IsWindows())
            return;

        var folder = options.DataFolder;
        var mode = File.GetUnixFileMode(folder);
        // Root's server runs as another user, who must get through to its own folder.
        var wanted = server.Name is null ? OwnerOnly : OwnerOnly | UnixFileMode.GroupExecute;
        if (Directory.EnumerateFileSystemEntries(folder).Select(Path.GetFileName).All(name => IsOwn(name!, options)))
        {
            try
            {
                await server.LetGroupInAsync(folder, cancellationToken).ConfigureAwait(false);
                if (mode != wanted)
                    File.SetUnixFileMode(folder, wanted);
                return;
            }
            catch (Exception e) when (e is IOException or UnauthorizedAccessException)
            {
                // It belongs to another user, who alone may close it.
            }
        }

        if ((mode & ForOthers) != 0)
            logger.LogWarning("Other users of this machine get into the data folder {Folder}, and it is not closed "
                + "because it holds other things too or belongs to another user: close it with \"chmod {Mode} "
                + "{Folder}\", or set CASHEVENTS_DATA to a folder of its own", folder,
                server.Name is null ? "700" : "711", folder);
    }

    private static bool IsOwn(string name, EmbeddedPostgresOptions options) =>
        name is "postgresql" or "postgresql-binaries" or DataFolderLock.FileName or DataFolderLock.ProcessIdFileName
            || options.OwnFiles.Contains(name);
}
