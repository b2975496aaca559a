namespace CashEvents.Api.Hosting;

/// <summary>Files that only the program's own user reads.</summary>
internal static class PrivateFile
{
    /// <summary>Opens one for reading and writing.</summary>
    public static FileStream Open(string path, FileMode mode)
    {
        var options = new FileStreamOptions { Mode = mode, Access = FileAccess.ReadWrite };
        if (!OperatingSystem.IsWindows())
        {
            options.UnixCreateMode = UnixFileMode.UserRead | UnixFileMode.UserWrite;
        }

        return new FileStream(path, options);
    }
}
