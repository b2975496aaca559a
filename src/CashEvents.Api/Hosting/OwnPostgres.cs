namespace CashEvents.Api.Hosting;

/// <summary>This program's private PostgreSQL: where it lies, what it is called, what its notes tell people.</summary>
internal static class OwnPostgres
{
    /// <summary>The folder that keeps it, and the keeper's key.</summary>
    public const string FolderVariable = "CASHEVENTS_DATA";

    private const string Name = "cashevents";
    private const string ChooseFolder = $"set {FolderVariable} to";

    private const string WaysToAServer = """
        There are three ways on:
          - name a server: set ConnectionStrings__CashEvents, for example to "Host=localhost;Database=cashevents;Username=me;Password=secret"
          - start one in a container: docker compose up
          - install a package: "apt install postgresql", "brew install postgresql", or Node.js with npm, out of which this program unpacks a server by itself
        """;

    /// <summary>The folder to use: the chosen one as an absolute path, or the usual one when none is.</summary>
    /// <param name="chosen">The value of <see cref="FolderVariable"/>; null or blank when it isn't set.</param>
    /// <exception cref="StartException">None is chosen and the user has no data folder.</exception>
    public static string Folder(string? chosen) => string.IsNullOrWhiteSpace(chosen)
        ? DataFolder.Default(Name) ?? throw new StartException($"This user has no data folder. Set {FolderVariable} to "
            + "the folder that shall keep the books.")
        : Path.GetFullPath(chosen.Trim());

    /// <summary>Makes the folder, if it is not there yet.</summary>
    /// <exception cref="PrivatePostgresException">It can't be made.</exception>
    public static void MakeFolder(string dataFolder) => DataFolder.Create(dataFolder, ChooseFolder);

    /// <summary>How it is run on a folder.</summary>
    public static PrivatePostgresOptions In(string dataFolder) => new()
    {
        DataFolder = dataFolder,
        Name = Name,
        OwnFiles = [.. KeeperKey.FileNames, .. ServerKey.FileNames, BackupSettings.Usual, DatabaseUpgrade.Folder,
            SettingsFile.Usual],
        ChooseFolder = ChooseFolder,
        WaysToAServer = WaysToAServer,
    };
}
