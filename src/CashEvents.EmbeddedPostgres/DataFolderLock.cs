using System.Globalization;

namespace CashEvents.EmbeddedPostgres;

/// <summary>
/// The right to work on a data folder, held by one program at a time and given back by the system when it dies.
/// </summary>
internal sealed class DataFolderLock : IDisposable
{
    private readonly FileStream _lock;
    private readonly string _processIdFile;

    private DataFolderLock(FileStream @lock, string processIdFile) => (_lock, _processIdFile) = (@lock, processIdFile);

    /// <exception cref="DataFolderInUseException">Another program holds the folder.</exception>
    /// <exception cref="PrivatePostgresException">The folder can't be written to.</exception>
    public static DataFolderLock Acquire(PrivatePostgresOptions options)
    {
        // The process id has a file of its own: a locked file can't be read by the program that is turned away.
        var processIdFile = Path.Combine(options.DataFolder, options.ProcessIdFile);
        FileStream? held = null;
        try
        {
            held = Open(Path.Combine(options.DataFolder, options.LockFile), FileMode.OpenOrCreate);
            File.Delete(processIdFile);
            using (var processId = new StreamWriter(Open(processIdFile, FileMode.CreateNew)))
                processId.Write(Environment.ProcessId.ToString(CultureInfo.InvariantCulture));
            return new DataFolderLock(held, processIdFile);
        }
        catch (IOException e) when (held is null && IsHeldByAnother(e))
        {
            throw new DataFolderInUseException(options, ReadProcessId(processIdFile));
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            held?.Dispose();
            throw new PrivatePostgresException($"The data folder {options.DataFolder} can't be written to: {e.Message} "
                + $"Give it to the user who runs this program, or {options.ChooseFolder} a folder of that user.", e);
        }
    }

    public void Dispose()
    {
        try
        {
            File.Delete(_processIdFile);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            // It only serves a message; the lock is what counts.
        }

        _lock.Dispose();
    }

    /// <summary>
    /// Opens a file that only this user can open: whoever can open it, if only to read, can also hold its lock.
    /// </summary>
    private static FileStream Open(string file, FileMode mode)
    {
        // FileShare.None is a share mode on Windows and an flock elsewhere. The file stays when the lock is released:
        // deleting it would let two programs hold locks on two files of one name.
        var options = new FileStreamOptions { Mode = mode, Access = FileAccess.ReadWrite, Share = FileShare.None };
        if (!OperatingSystem.IsWindows())
        {
            options.UnixCreateMode = UnixFileMode.UserRead | UnixFileMode.UserWrite;
            if (mode == FileMode.OpenOrCreate && File.Exists(file))
                File.SetUnixFileMode(file, UnixFileMode.UserRead | UnixFileMode.UserWrite);
        }

        return new FileStream(file, options);
    }

    // EAGAIN on Linux and macOS; a sharing or a lock violation on Windows.
    private static bool IsHeldByAnother(IOException e) => OperatingSystem.IsWindows()
        ? (e.HResult & 0xFFFF) is 32 or 33
        : e.HResult is 11 or 35;

    private static int? ReadProcessId(string file)
    {
        try
        {
            return int.TryParse(File.ReadAllText(file), CultureInfo.InvariantCulture, out var id) ? id : null;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            return null;
        }
    }
}
