using Microsoft.Extensions.Logging;

namespace CashEvents.EmbeddedPostgres;

/// <summary>The folder that keeps everything the program owns on disk.</summary>
public static class DataFolder
{
    private const UnixFileMode OwnerOnly = UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute;

    private const UnixFileMode ForOthers =
        UnixFileMode.GroupRead | UnixFileMode.GroupWrite | UnixFileMode.OtherRead | UnixFileMode.OtherWrite;

    /// <summary>
    /// The folder for a program to use when none is chosen: in the user's data folder, or in <c>/var/lib</c> for root.
    /// </summary>
    /// <param name="program">The program's name, which the folder gets.</param>
    /// <returns>An absolute path; the folder need not exist yet. Null when the user has no data folder.</returns>
    public static string? Default(string program)
    {
        // Root's own data folder lies under /root, which the unprivileged user that runs PostgreSQL can't enter.
        if (!OperatingSystem.IsWindows() && Environment.IsPrivilegedProcess)
            return Path.Combine("/var/lib", program);

        var userData = Environment.GetFolderPath(Environment.SpecialFolder.LocalApplicationData,
            Environment.SpecialFolderOption.DoNotVerify);
        return userData.Length > 0 ? Path.Combine(userData, program) : null;
    }

    /// <summary>Makes the folder, if it is not there yet, so that nobody else sees into it.</summary>
    /// <param name="dataFolder">Its path.</param>
    /// <param name="chooseFolder">See <see cref="PrivatePostgresOptions.ChooseFolder"/>.</param>
    /// <exception cref="PrivatePostgresException">It can't be made.</exception>
    public static void Create(string dataFolder, string chooseFolder)
    {
        try
        {
            if (!Directory.Exists(dataFolder))
                CreateOwn(dataFolder);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new PrivatePostgresException($"The data folder {dataFolder} can't be made: {e.Message} Make it for "
                + $"the user who runs this program, or {chooseFolder} a folder of that user.", e);
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
    /// things too is somebody's own: it is left as it is, and its modes are said.
    /// </summary>
    internal static async Task CloseAsync(PrivatePostgresOptions options, ServerUser server, ILogger logger,
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
                + "{Folder}\", or {Choose} a folder of its own", folder,
                server.Name is null ? "700" : "711", folder, options.ChooseFolder);
    }

    private static bool IsOwn(string name, PrivatePostgresOptions options) =>
        name is "postgresql" or "postgresql-binaries" || name == options.LockFile || name == options.ProcessIdFile
            || options.OwnFiles.Contains(name);
}
