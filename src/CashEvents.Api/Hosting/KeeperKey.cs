using CashEvents.Store.Keys;

namespace CashEvents.Api.Hosting;

/// <summary>The first keeper's key: given by CASHEVENTS_KEEPER_KEY, or made and kept in the data folder.</summary>
/// <param name="Plain">The key.</param>
/// <param name="File">Where it is kept; null when it was given.</param>
internal sealed record KeeperKey(string Plain, string? File)
{
    public const string Variable = "CASHEVENTS_KEEPER_KEY";

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
        if (System.IO.File.Exists(file))
        {
            return new KeeperKey(System.IO.File.ReadAllText(file).Trim(), file);
        }

        var key = KeyRing.NewKey();
        Directory.CreateDirectory(dataFolder);
        var options = new FileStreamOptions { Mode = FileMode.CreateNew, Access = FileAccess.Write };
        if (!OperatingSystem.IsWindows())
        {
            options.UnixCreateMode = UnixFileMode.UserRead | UnixFileMode.UserWrite;
        }

        using var writer = new StreamWriter(file, options);
        writer.WriteLine(key);
        return new KeeperKey(key, file);
    }

    public static string FileIn(string dataFolder) => Path.Combine(dataFolder, "keeper.key");

    public bool IsShort => Plain.Length < ShortestGood;
}
