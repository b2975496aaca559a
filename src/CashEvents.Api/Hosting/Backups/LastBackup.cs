using System.Text.Json;

namespace CashEvents.Api.Hosting;

/// <summary>What came of the last nightly backup; kept beside the files.</summary>
/// <param name="At">When it was tried, in UTC.</param>
/// <param name="File">The file; null where none was written.</param>
/// <param name="Bytes">Its size.</param>
/// <param name="Lines">How many lines of all books are in it.</param>
/// <param name="Restored">Whether it was taken in by an empty database and verified there; false where only its reading
/// back was possible.</param>
/// <param name="Failure">Why there is none, or why it is of no use; null when all went well.</param>
internal sealed record LastBackup(DateTimeOffset At, string? File, long Bytes, long Lines, bool Restored,
    string? Failure)
{
    private const string Kept = "last-backup.json";

    /// <summary>What is kept in a folder of backups; null where nothing readable is.</summary>
    public static LastBackup? In(string folder)
    {
        try
        {
            return JsonSerializer.Deserialize<LastBackup>(System.IO.File.ReadAllText(Path.Combine(folder, Kept)),
                JsonSerializerOptions.Web);
        }
        catch (Exception failure) when (failure is IOException or UnauthorizedAccessException or JsonException)
        {
            return null;
        }
    }

    /// <summary>Keeps it, whole or not at all.</summary>
    public void Keep(string folder)
    {
        var unfinished = Path.Combine(folder, Kept + ".part");
        using (var file = PrivateFile.Open(unfinished, FileMode.Create))
        {
            JsonSerializer.Serialize(file, this, JsonSerializerOptions.Web);
            file.Flush(flushToDisk: true);
        }

        System.IO.File.Move(unfinished, Path.Combine(folder, Kept), overwrite: true);
    }
}
