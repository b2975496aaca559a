using System.Text;

namespace CashEvents.Api.Hosting;

/// <summary>The first keeper's key: given by CASHEVENTS_KEEPER_KEY, or made and kept in the data folder.</summary>
/// <param name="Plain">The key.</param>
/// <param name="File">Where it is kept; null when it was given.</param>
internal sealed record KeeperKey(string Plain, string? File)
{
    public const string Variable = "CASHEVENTS_KEEPER_KEY";

    private const string Kept = "keeper.key";
    private const string Unfinished = "keeper.key.new";

    // A short key can be guessed by trying; the program's own have 256 random bits.
    private const int ShortestGood = 20;

    /// <summary>Takes the given key, or the one kept by a first start that broke off, or makes one. It is on disk before the book knows it, so it can't be lost.</summary>
    public static KeeperKey TakeOrMake(string? given, string dataFolder)
    {
        if (!string.IsNullOrWhiteSpace(given))
        {
            return new KeeperKey(given.Trim(), null);
        }

        var file = FileIn(dataFolder);
        if (System.IO.File.Exists(file) && System.IO.File.ReadAllText(file).Trim() is { Length: > 0 } kept)
        {
            return new KeeperKey(kept, file);
        }

        // Written beside and then renamed, so that a kill leaves a whole key or none.
        var key = KeyRing.NewKey();
        DataFolder.Create(dataFolder);
        var unfinished = Path.Combine(dataFolder, Unfinished);
        System.IO.File.Delete(unfinished);
        var options = new FileStreamOptions { Mode = FileMode.CreateNew, Access = FileAccess.Write };
        if (!OperatingSystem.IsWindows())
        {
            options.UnixCreateMode = UnixFileMode.UserRead | UnixFileMode.UserWrite;
        }

        using (var stream = new FileStream(unfinished, options))
        {
            stream.Write(Encoding.ASCII.GetBytes(key + Environment.NewLine));
            stream.Flush(flushToDisk: true);
        }

        System.IO.File.Move(unfinished, file, overwrite: true);
        return new KeeperKey(key, file);
    }

    /// <summary>The names of the files that it is kept in.</summary>
    public static IReadOnlyList<string> FileNames => [Kept, Unfinished];

    public static string FileIn(string dataFolder) => Path.Combine(dataFolder, Kept);

    public bool IsShort => Plain.Length < ShortestGood;
}
