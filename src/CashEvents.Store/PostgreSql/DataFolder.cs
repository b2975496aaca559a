namespace CashEvents.Store.PostgreSql;

/// <summary>The folder that keeps everything the program owns on disk.</summary>
public static class DataFolder
{
    /// <summary>The folder used when none is configured: the user's data folder, or <c>/var/lib/cashevents</c> for root.</summary>
    /// <returns>An absolute path; the folder need not exist yet.</returns>
    /// <exception cref="EmbeddedPostgresException">The user has no data folder.</exception>
    public static string Default()
    {
        // Root's own data folder lies under /root, which the unprivileged user that runs PostgreSQL can't enter.
        if (!OperatingSystem.IsWindows() && Environment.IsPrivilegedProcess)
            return "/var/lib/cashevents";

        var userData = Environment.GetFolderPath(Environment.SpecialFolder.LocalApplicationData, Environment.SpecialFolderOption.DoNotVerify);
        return userData.Length > 0
            ? Path.Combine(userData, "cashevents")
            : throw new EmbeddedPostgresException("This user has no data folder. Set CASHEVENTS_DATA to the folder that shall keep the books.");
    }

    /// <summary>The folder to use: the configured one as an absolute path, or <see cref="Default"/> when none is.</summary>
    /// <param name="configured">The value of <c>CASHEVENTS_DATA</c>; null or blank when it isn't set.</param>
    /// <returns>An absolute path; the folder need not exist yet.</returns>
    /// <exception cref="EmbeddedPostgresException">None is configured and the user has no data folder.</exception>
    public static string Resolve(string? configured) =>
        string.IsNullOrWhiteSpace(configured) ? Default() : Path.GetFullPath(configured.Trim());

    /// <summary>Makes the folder, if it is not there yet, so that nobody else sees into it.</summary>
    internal static void Create(string dataFolder)
    {
        if (Directory.Exists(dataFolder))
            return;

        try
        {
            // Root's server runs as another user, who must get through; nobody else needs to.
            if (OperatingSystem.IsWindows())
                Directory.CreateDirectory(dataFolder);
            else if (Environment.IsPrivilegedProcess)
                File.SetUnixFileMode(Directory.CreateDirectory(dataFolder).FullName, UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute | UnixFileMode.GroupExecute | UnixFileMode.OtherExecute);
            else
                Directory.CreateDirectory(dataFolder, UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new EmbeddedPostgresException($"The data folder {dataFolder} can't be made: {e.Message} Set CASHEVENTS_DATA to a folder of the user who runs this program.", e);
        }
    }

    /// <summary>Makes a folder for this user alone.</summary>
    internal static void CreateOwn(string folder)
    {
        if (OperatingSystem.IsWindows())
            Directory.CreateDirectory(folder);
        else
            Directory.CreateDirectory(folder, UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute);
    }
}
