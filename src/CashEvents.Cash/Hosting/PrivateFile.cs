namespace CashEvents.Cash.Hosting;

/// <summary>Files that nobody but their owner reads.</summary>
internal static class PrivateFile
{
    private const UnixFileMode Owner = UnixFileMode.UserRead | UnixFileMode.UserWrite;

    /// <summary>Writes a file whole: after a power cut there is the old one or the new one.</summary>
    public static void Write(string path, string text)
    {
        MakeFolder(path);
        var beside = path + "." + Guid.NewGuid().ToString("N")[..8];
        using (var file = Open(beside, FileMode.CreateNew))
        {
            file.Write(System.Text.Encoding.UTF8.GetBytes(text));
            file.Flush(flushToDisk: true);
        }

        File.Move(beside, path, overwrite: true);
    }

    /// <summary>
    /// Opens a file for oneself alone; another that opens it meanwhile gets an <see cref="IOException"/>.
    /// </summary>
    public static FileStream Open(string path, FileMode mode)
    {
        var options = new FileStreamOptions { Mode = mode, Access = FileAccess.ReadWrite, Share = FileShare.None };
        if (!OperatingSystem.IsWindows())
            options.UnixCreateMode = Owner;
        return new FileStream(path, options);
    }

    /// <summary>Makes the folder of a file.</summary>
    public static void MakeFolder(string path)
    {
        var folder = Path.GetDirectoryName(path)!;
        if (OperatingSystem.IsWindows())
            Directory.CreateDirectory(folder);
        else
            Directory.CreateDirectory(folder, Owner | UnixFileMode.UserExecute);
    }

    /// <summary>Whether others than its owner may read or write it.</summary>
    public static bool IsOpenToOthers(string path) =>
        !OperatingSystem.IsWindows() && (File.GetUnixFileMode(path) & ~(Owner | UnixFileMode.UserExecute)) != 0;
}
