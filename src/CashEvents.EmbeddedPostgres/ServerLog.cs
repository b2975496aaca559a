namespace CashEvents.EmbeddedPostgres;

/// <summary>What the PostgreSQL server writes down of itself.</summary>
internal sealed class ServerLog(string path)
{
    private const long Largest = 10 * 1024 * 1024;

    /// <summary>Its length in bytes; 0 when there is none.</summary>
    public long Length => File.Exists(path) ? new FileInfo(path).Length : 0;

    /// <summary>Puts a long log aside, in place of the one put aside before.</summary>
    public void Rotate()
    {
        if (Length > Largest)
            File.Move(path, path + ".old", overwrite: true);
    }

    /// <summary>Its last lines since a length, in a sentence; empty when there is no log.</summary>
    public string Tail(long from, int lines = 15)
    {
        try
        {
            return File.Exists(path) ? Read(from, lines) : "";
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            return $"{path} can't be read: {e.Message}";
        }
    }

    private string Read(long from, int lines)
    {
        using var file = new FileStream(path, FileMode.Open, FileAccess.Read, FileShare.ReadWrite | FileShare.Delete);
        file.Position = Math.Min(from, file.Length);
        using var reader = new StreamReader(file);
        var last = reader.ReadToEnd().Split('\n', StringSplitOptions.RemoveEmptyEntries).TakeLast(lines);
        return $"The last lines of {path}:{Environment.NewLine}{string.Join(Environment.NewLine, last)}";
    }
}
